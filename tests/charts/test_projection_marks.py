"""Where a battery is going, as the chart of the fade draws it."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import combinations

import numpy as np
import pytest

from app.analysis.projection.projection import ProjectionOutcome
from app.charts import theme
from app.charts.battery_chart import battery_figure, trend_caption, trend_note
from app.charts.event_marks import LETTER_PX, NARROWEST_PX
from app.charts.fade_chart import PLOT_PX
from app.charts.label_placement import LABEL_PX
from app.charts.projection_marks import drawn_until
from app.domain.finding import Finding
from app.domain.i18n.message import ENGLISH
from app.domain.i18n.preferences import Language, Preferences
from app.languages.readers import reader_with
from app.services.entities import batteries, discharges
from tests.builders import NOW, reported
from tests.fast_demo import copy_demo_data


@pytest.fixture
def reports(store):
    copy_demo_data(store)
    return batteries.list_batteries(store, NOW.date()).shown


def trace(figure, words):
    return next(one for one in figure["data"] if one["name"].startswith(words))


def written(figure):
    return [one["text"] for one in figure["layout"]["annotations"]]


def shown(figure):
    return [date.fromisoformat(day) for day in figure["layout"]["xaxis"]["range"]]


def test_the_fan_and_its_middle_begin_at_the_last_test(reports):
    for report in (reports[0], reports[2]):
        figure, last = battery_figure(report), str(report.tests[-1].started_at.date())
        for words in ("90 %", "50 %", "middle"):
            assert trace(figure, words)["x"][0] == last
        middle, band = trace(figure, "middle"), trace(figure, "50 %")
        count = len(middle["x"])
        for low, value, high in zip(
            band["y"][: count - 1 : -1], middle["y"], band["y"], strict=False
        ):
            assert low <= value <= high


def test_the_projection_is_in_the_picture_to_its_middle_which_is_named(reports):
    for report, named in ((reports[0], "middle: early 2027"), (reports[2], "middle: early 2038")):
        figure = battery_figure(report)
        assert report.end_of_life.p50 < shown(figure)[1]
        assert named in written(figure)


def test_an_end_outside_of_the_picture_has_an_arrow_and_its_year(reports):
    assert not [text for text in written(battery_figure(reports[0])) if "→" in text]
    # Of the trailer box it lies beyond thirty years after the first test, in 2025.
    figure = battery_figure(reports[2])
    assert "after 2055 →" in written(figure)
    # The bar goes on to the edge.
    goes_on = [one for one in figure["layout"]["shapes"] if one["line"]["color"] == theme.SPAN]
    assert [date.fromisoformat(one["x1"]) for one in goes_on] == [shown(figure)[1]]


def test_an_end_that_is_known_but_far_has_its_year(reports):
    end = replace(reports[2].end_of_life, p95=date(2049, 3, 1))
    assert "until 2049 →" in written(battery_figure(replace(reports[2], end_of_life=end)))


def test_where_all_of_the_end_lies_outside_its_beginning_is_named(reports):
    end = replace(
        reports[2].end_of_life,
        outcome=ProjectionOutcome.BEYOND_HORIZON,
        p05=date(2050, 3, 1),
        p25=None,
        p50=None,
        p75=None,
        p95=None,
    )
    figure = battery_figure(replace(reports[2], end_of_life=end))
    assert "from 2050 →" in written(figure)
    assert not [text for text in written(figure) if text.startswith("middle: ")]


def test_where_nothing_is_known_nothing_is_projected(reports):
    figure = battery_figure(reports[1])
    assert {one["name"] for one in figure["data"]} == {"at least: the true value lies above"}
    assert "Shaded" not in trend_caption(reports[1])


def test_tests_that_contradict_each_other_are_drawn_without_a_projection(reports):
    end = replace(reports[0].end_of_life, caveats=(Finding("contradict", "They do."),))
    report = replace(reports[0], end_of_life=end)
    figure = battery_figure(report)
    names = {one["name"] for one in figure["data"]}
    assert not [name for name in names if "such batteries" in name or name.startswith("limit:")]
    assert not [text for text in written(figure) if text.startswith("middle")]
    assert "limit 184 Ah" in written(figure)
    assert "Shaded" not in trend_caption(report)


def test_today_is_marked_even_long_after_the_last_test(reports):
    later = replace(reports[1], as_of=reports[1].tests[-1].started_at.date() + timedelta(days=900))
    figure = battery_figure(later)
    (mark,) = [one for one in figure["layout"]["annotations"] if one["text"] == "today"]
    assert date.fromisoformat(mark["x"]) == later.as_of < shown(figure)[1]


def test_the_picture_ends_with_what_is_known_of_the_future(reports):
    for report in (reports[0], reports[2]):
        until = drawn_until(report.end_of_life, report.fade)
        assert until <= report.end_of_life.fan[-1].on_date
        assert until <= shown(battery_figure(report))[1]


def box(note, figure, width, reader=ENGLISH):
    """Left, right, lower and upper end (px) of a name in a plot so wide."""
    first, last = (day.toordinal() for day in shown(figure))
    low, high = figure["layout"]["yaxis"]["range"]
    share = note["x"]
    if note.get("xref") != "paper":
        share = (date.fromisoformat(note["x"][:10]).toordinal() - first) / (last - first)
    letters = LETTER_PX * len(reader.read(note["text"]))
    left = width * share + note.get("xshift", 0)
    left -= {"left": 0, "center": letters / 2, "right": letters}[note["xanchor"]]
    at = (note["y"] - low) / (high - low) * PLOT_PX + note.get("yshift", 0)
    at -= {"bottom": 0, "middle": LABEL_PX / 2, "top": LABEL_PX}[note["yanchor"]]
    return left, left + letters, at, at + LABEL_PX


@pytest.mark.parametrize("reader", [ENGLISH, reader_with(Preferences(language=Language.GERMAN))])
@pytest.mark.parametrize("width", [NARROWEST_PX, 294, 980])
def test_names_within_the_plot_lie_on_no_other_and_in_the_plot(store, reports, width, reader):
    discharges.leave_out(store, 3, "the load dropped out", NOW)
    many = reported([11.9 - 0.03 * i for i in range(40)], early=(7, 21))
    for report in (*batteries.list_batteries(store, NOW.date()).shown, many):
        figure = battery_figure(report, reader)
        notes = [one for one in figure["layout"]["annotations"] if one["text"]]
        boxes = [box(one, figure, width, reader) for one in notes if one.get("yref") != "paper"]
        assert len(boxes) >= 2
        for left, right, low, high in boxes:
            assert left >= -1
            assert right <= width + 1
            assert low >= -1
            assert high <= PLOT_PX + 1
        for one, other in combinations(boxes, 2):
            beside = one[1] <= other[0] + 1 or other[1] <= one[0] + 1
            assert beside or one[3] <= other[2] + 1 or other[3] <= one[2] + 1


def test_a_test_that_is_left_out_or_proves_a_bound_is_named(store, reports):
    discharges.leave_out(store, 3, "the load dropped out", NOW)
    report = batteries.list_batteries(store, NOW.date()).shown[0]
    assert {"at least 162 Ah", "left out"} & set(written(battery_figure(report)))
    assert "Rings: left out." in trend_caption(report)


@pytest.mark.parametrize("reader", [ENGLISH, reader_with(Preferences(language=Language.GERMAN))])
def test_the_names_of_the_end_do_not_lie_on_the_middle_of_the_fan(reports, reader):
    figure = battery_figure(reports[2], reader)
    middle = trace(figure, "middle")
    notes = [one for one in figure["layout"]["annotations"] if "→" in one["text"]]
    notes += [one for one in figure["layout"]["annotations"] if one["text"].startswith("middle")]
    assert len(notes) == 2
    low, high = figure["layout"]["yaxis"]["range"]
    first, last = (day.toordinal() for day in shown(figure))
    days = [date.fromisoformat(day).toordinal() for day in middle["x"]]
    for note in notes:
        left, right, below, above = box(note, figure, NARROWEST_PX, reader)
        for at in np.arange(max(0, left), min(right, NARROWEST_PX)):
            day = first + (last - first) * at / NARROWEST_PX
            if days[0] <= day <= days[-1]:
                value = np.interp(day, days, middle["y"])
                assert not below < (value - low) / (high - low) * PLOT_PX < above


def test_a_bound_is_named_with_no_more_than_it_proves():
    report = reported([11.0, 6.5], early=(1,))
    # 9 A for 6.5 h are 58.5 Ah; what is certain is a little less.
    assert 57.5 < report.tests[1].lower_ah < 58
    assert "at least 57 Ah" in written(battery_figure(report))


def test_the_note_says_what_the_fan_leaves_out():
    assert "its gain error comes on top" in trend_note(reported([11.0, 10.8, 10.6]))
