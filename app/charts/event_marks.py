"""What happened, above a chart over time: a line each, and labels that never cover one another."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from app.charts import theme
from app.charts.theme import Figure
from app.domain.i18n.message import ENGLISH, Reader, say, say_plural

# Labels that stand clear in the narrowest plot (a phone's of 320 px) do so in every wider one.
NARROWEST_PX = 224
LETTER_PX = 6.6
GAP_PX = 8
LANE_PX = 17
MAX_LANES = 8
# The name of what marks today.
TODAY = "today"


@dataclass(frozen=True)
class EventMarks:
    """Shapes and annotations of a Plotly layout, and the height (px) that the labels need."""

    shapes: list[Figure]
    annotations: list[Figure]
    room_px: int


@dataclass(frozen=True)
class _Label:
    """A label in a lane, the lowest being 0; leans left where it would run out on the right."""

    day: date
    text: str
    leans_left: bool
    lane: int
    name: str = "event"


def label_width(text: str, reader: Reader) -> float:
    """About how wide a name is (px), as its reader reads it."""
    return LETTER_PX * len(reader.read(text))


def event_marks(
    events: Sequence[tuple[date, str]],
    first: date,
    last: date,
    today: date | None = None,
    reader: Reader = ENGLISH,
) -> EventMarks:
    """Marks of events (day and label), and of today, on a time axis from first to last."""
    labels = _placed(events, (first, last), today, reader)
    lanes = max((label.lane + 1 for label in labels), default=0)
    shapes = [_line(day) for day in sorted({day for day, _ in events})]
    if today is not None:
        line = {"color": theme.MUTED, "width": 1.5, "dash": "solid"}
        shapes.append(_line(today) | {"name": TODAY, "line": line})
    shapes += [_stem(label) for label in labels if label.lane]
    annotations = [_annotation(label) for label in labels]
    unnamed = len(events) - sum(label.name != TODAY for label in labels)
    if unnamed:
        annotations.append(_unnamed(unnamed, lanes))
        lanes += 1
    return EventMarks(shapes, annotations, lanes * LANE_PX)


def _placed(
    events: Sequence[tuple[date, str]],
    ends: tuple[date, date],
    today: date | None,
    reader: Reader,
) -> list[_Label]:
    """The labels in their lanes, without those for which there is no room at all."""
    taken: list[list[tuple[float, float]]] = [[] for _ in range(MAX_LANES)]
    placed = []
    # From the right: an earlier event stands higher, so that its line passes the later labels by.
    wanted = [(day, text, "event") for day, text in sorted(events, reverse=True)]
    if today is not None:
        wanted.insert(0, (today, say("today"), TODAY))
    for day, text, name in wanted:
        at = NARROWEST_PX * (day - ends[0]).days / max(1, (ends[1] - ends[0]).days)
        width = label_width(text, reader)
        leans_left = at + width > NARROWEST_PX
        start = at - width if leans_left else at
        span = (start - GAP_PX / 2, start + width + GAP_PX / 2)
        for lane, others in enumerate(taken):
            if all(span[1] <= start or end <= span[0] for start, end in others):
                others.append(span)
                placed.append(_Label(day, text, leans_left, lane, name))
                break
    return placed


def _line(day: date) -> Figure:
    return {
        "type": "line",
        "yref": "paper",
        "x0": day.isoformat(),
        "x1": day.isoformat(),
        "y0": 0,
        "y1": 1,
        "line": {"color": theme.MUTED, "width": 1, "dash": "dashdot"},
    }


def _stem(label: _Label) -> Figure:
    """From the plot up to a label that stands higher."""
    height = {"ysizemode": "pixel", "yanchor": 1, "y0": 0, "y1": label.lane * LANE_PX}
    line = {"color": theme.MUTED, "width": 1, "dash": "solid"}
    return _line(label.day) | height | {"line": line}


def _annotation(label: _Label) -> Figure:
    return {
        "name": label.name,
        "x": label.day.isoformat(),
        "xanchor": "right" if label.leans_left else "left",
        "yref": "paper",
        "y": 1,
        "yanchor": "bottom",
        "yshift": label.lane * LANE_PX,
        "text": label.text,
        "showarrow": False,
        # A stem that must pass behind a label is hidden there.
        "bgcolor": theme.PAPER,
        "borderpad": 0,
        "font": {"color": theme.INK, "size": 11},
    }


def _unnamed(count: int, lane: int) -> Figure:
    text = say_plural("and 1 more event", "and {count} more events", count)
    place = {"name": "", "xref": "paper", "x": 0, "xanchor": "left"}
    return _annotation(_Label(date.min, text, False, lane)) | place
