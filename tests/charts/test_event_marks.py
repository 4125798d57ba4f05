from datetime import date, timedelta
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.charts.event_marks import LETTER_PX, MAX_LANES, NARROWEST_PX, event_marks
from app.domain.entities.event import EventKind
from app.domain.i18n.message import say
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from tests.charts.judge import judged

FIRST, LAST = date(2020, 1, 1), date(2026, 1, 1)
kinds = st.sampled_from([kind.label for kind in EventKind])
some_events = st.lists(st.tuples(st.dates(FIRST, LAST), kinds), max_size=40)


def named(marks):
    return [one for one in marks.annotations if not one["text"].startswith("and ")]


def boxes(marks, plot_px):
    """Lane, start and end of every label, in a font whose letters are 6 px wide on average."""
    for one in named(marks):
        at = (date.fromisoformat(one["x"]) - FIRST).days / (LAST - FIRST).days * plot_px
        width = 6 * len(one["text"])
        start = at - width if one["xanchor"] == "right" else at
        yield one["yshift"], start, start + width


@given(some_events, st.integers(240, 1200))
def test_labels_never_cover_one_another_in_any_width_from_a_phone_s(events, plot_px):
    found = list(boxes(event_marks(events, FIRST, LAST), plot_px))
    for i, (lane, start, end) in enumerate(found):
        for other_lane, other_start, other_end in found[i + 1 :]:
            assert lane != other_lane or end < other_start or other_end < start


@given(some_events, st.integers(240, 1200))
def test_labels_stay_within_the_plot(events, plot_px):
    for _, start, end in boxes(event_marks(events, FIRST, LAST), plot_px):
        assert start >= -1e-9
        assert end <= plot_px + 1e-9


@pytest.mark.parametrize("language", [Language.ENGLISH, Language.GERMAN])
def test_labels_have_room_for_their_words_in_the_reader_s_language(language):
    """In German they are longer: what is a move in four letters is one in thirteen."""
    reader = reader_with(Preferences(language=language))
    days = (date(2022, 1, 1) + timedelta(days=120 * i) for i in range(6))
    events = [(day, say("moved")) for day in days]
    found = []
    for one in named(event_marks(events, FIRST, LAST, None, reader)):
        at = (date.fromisoformat(one["x"]) - FIRST).days / (LAST - FIRST).days * NARROWEST_PX
        width = LETTER_PX * len(reader.read(one["text"]))
        start = at - width if one["xanchor"] == "right" else at
        found.append((one["yshift"], start, start + width))
    assert len(found) == 6
    for (lane, start, end), (other, begin, last) in combinations(found, 2):
        assert lane != other or end < begin or last < start


@given(some_events)
def test_every_event_has_its_line_and_the_chart_library_takes_it(events):
    marks = event_marks(events, FIRST, LAST)
    lines = {shape["x0"] for shape in marks.shapes if shape.get("ysizemode") is None}
    assert lines == {str(day) for day, _ in events}
    judged({"data": [], "layout": {"shapes": marks.shapes, "annotations": marks.annotations}})


def test_one_event_stands_right_above_the_plot():
    marks = event_marks([(date(2022, 1, 1), "moved")], FIRST, LAST)
    (label,) = marks.annotations
    assert (label["text"], label["yshift"], label["xanchor"]) == ("moved", 0, "left")
    assert len(marks.shapes) == 1


def test_of_two_close_events_the_earlier_stands_higher():
    close = [(date(2022, 1, 1), "moved"), (date(2022, 1, 20), "repair")]
    heights = {one["text"]: one["yshift"] for one in event_marks(close, FIRST, LAST).annotations}
    assert heights["moved"] > heights["repair"] == 0


def test_events_without_room_are_counted_instead_of_drawn_over_one_another():
    many = [(date(2022, 1, 1) + timedelta(days=i), "moved") for i in range(MAX_LANES + 3)]
    marks = event_marks(many, FIRST, LAST)
    assert len(named(marks)) == MAX_LANES
    assert marks.annotations[-1]["text"] == "and 3 more events"


def test_without_events_nothing_is_drawn_and_no_room_is_taken():
    marks = event_marks([], FIRST, LAST)
    assert (marks.shapes, marks.annotations, marks.room_px) == ([], [], 0)
