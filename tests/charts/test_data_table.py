"""The tables behind the charts."""

from app.charts.data_table import MAX_LISTED, numbers_of
from app.charts.theme import axis


def figure(*traces, annotations=()):
    layout = {
        "xaxis": axis("time (h)"),
        "yaxis": axis("charge (Ah)"),
        "annotations": list(annotations),
    }
    return {"data": list(traces), "layout": layout}


def line(x, y, **more):
    return {"type": "scatter", "mode": "lines", "name": "counted", "x": x, "y": y} | more


def test_units_stand_in_the_header_and_unused_columns_do_not():
    numbers = numbers_of(figure(line([0, 1], [5, 4])))
    assert numbers.header == ("what", "time (h)", "charge (Ah)")
    assert numbers.rows == (("counted", 0, 5), ("counted", 1, 4))


def test_a_band_is_listed_by_its_lower_and_upper_end():
    band = line([0, 1, 1, 0], [9, 8, 2, 3], fill="toself")
    numbers = numbers_of(figure(band))
    assert numbers.header == ("what", "time (h)", "from", "to")
    assert numbers.rows == (("counted", 0, 3, 9), ("counted", 1, 2, 8))


def test_gaps_are_no_points():
    assert len(numbers_of(figure(line([0, 1, 2], [5, None, 4]))).rows) == 2


def test_a_long_line_is_listed_at_some_points_with_both_ends_and_kept_whole_in_the_data():
    numbers = numbers_of(figure(line(list(range(500)), list(range(500)))))
    assert len(numbers.rows) == 500
    assert len(numbers.listed) == MAX_LISTED
    assert numbers.thinned
    assert (numbers.listed[0][1], numbers.listed[-1][1]) == ("0", "499")


def test_points_are_never_thinned():
    points = line(list(range(100)), list(range(100)), mode="markers")
    numbers = numbers_of(figure(points))
    assert len(numbers.listed) == 100
    assert not numbers.thinned


def test_on_a_page_intervals_are_rounded_outwards_and_lower_bounds_down():
    points = line([0, 9], [90.06, 10.06], mode="markers", error_y={"array": [1.01, 1.01]})
    bounds = line([0, 9], [90.08, 10.08], mode="markers", meta="lower bounds")
    listed = numbers_of(figure(points, bounds)).listed
    assert listed[0][2:] == ("90.1", "89.0", "91.1")
    assert listed[2][2] == "90.0"


def test_a_value_and_its_bounds_take_as_many_digits():
    """Values that lie close together, with a doubt that is wide, in a band that is wider."""
    points = line([0, 9], [90.06, 89.9], mode="markers", error_y={"array": [1.01, 40.0]})
    band = line([0, 9, 9, 0], [95.0, 94.0, 20.0, 30.0], fill="toself")
    for row in numbers_of(figure(points, band)).listed:
        assert len({len(cell.partition(".")[2]) for cell in row[2:] if cell}) == 1, row


def test_one_test_and_its_bounds_take_as_many_digits():
    (row,) = numbers_of(figure(line([0], [98.3], mode="markers", error_y={"array": [2.14]}))).listed
    assert len({len(cell.partition(".")[2]) for cell in row[2:]}) == 1, row


def test_levels_and_events_are_listed_by_their_labels():
    notes = [
        {"name": "level", "text": "rated 100 Ah", "y": 100},
        {"name": "event", "text": "moved", "x": 3},
        {"text": "no more than a label", "x": 1, "y": 1},
    ]
    rows = numbers_of(figure(line([0], [5]), annotations=notes)).rows
    assert rows[1:] == (("rated 100 Ah", None, 100), ("moved", 3, None))


def test_names_are_listed_as_they_were_typed():
    numbers = numbers_of(figure(line([0], [5], name="A &lt;b&gt; &amp; C")))
    assert numbers.rows[0][0] == "A <b> & C"
