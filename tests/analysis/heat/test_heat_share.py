from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest

from app.analysis.ageing.exposure import Exposure
from app.analysis.ageing.loss_models import cycle_loss_percent, middle_loss
from app.analysis.heat.heat_caveats import heat_caveats
from app.analysis.heat.heat_in_plain_words import warmth_table
from app.analysis.heat.heat_share import Attribution, Stress, expected_loss, heat_share
from app.domain.units.time_units import HOURS_PER_YEAR
from tests.builders import battery_details

NEW = Stress(Exposure.of([]))


def lived(temperature_c, years, throughput_ah=0.0):
    return Stress(Exposure.of([(temperature_c, years * HOURS_PER_YEAR)]), throughput_ah)


def test_the_middle_is_the_model_and_the_band_holds_both_states_of_charge():
    belief = expected_loss(NEW, lived(25, 4), 100.0)
    loss = belief.loss
    half, full = (middle_loss(4, 25, charge) for charge in (0.5, 1.0))
    assert half < loss.calendar < full
    assert loss.low < half < loss.middle < full < loss.high
    assert np.all(np.diff(belief.samples) >= 0)


def test_losses_slow_down_so_that_what_came_before_matters():
    first, later = (
        expected_loss(NEW, lived(25, 2), 100.0),
        expected_loss(lived(25, 4), lived(25, 2), 100.0),
    )
    assert later.loss.middle < first.loss.middle


def test_use_adds_its_part():
    idle, used = (expected_loss(NEW, lived(30, 3, ah), 100.0) for ah in (0.0, 30_000.0))
    assert idle.loss.cycling == 0
    assert used.loss.cycling == pytest.approx(cycle_loss_percent(30_000, 100, 30))
    assert used.loss.middle > idle.loss.middle


def test_a_hotter_place_explains_more():
    losses = [expected_loss(NEW, lived(t, 3), 100.0).loss.middle for t in (15, 25, 35, 45)]
    assert losses == sorted(losses)


@pytest.mark.parametrize(
    ("observed", "blame", "words"),
    [
        (
            60.0,
            Attribution.MORE,
            "more than time, heat and use would explain (more than 99 % likely)",
        ),
        (0.1, Attribution.LESS, "less than time, heat and use would explain"),
        (11.0, Attribution.FITS, "as far as tests and models can tell"),
    ],
)
def test_the_observed_loss_is_judged_against_the_band(observed, blame, words):
    expected = expected_loss(NEW, lived(30, 4), 100.0)
    judged = heat_share(expected, expected, observed, 1.0, 8)
    assert judged.blame is blame
    assert words in judged.words


def test_a_loss_that_is_not_well_known_blames_nobody():
    expected = expected_loss(NEW, lived(25, 1), 100.0)
    assert heat_share(expected, expected, 12.0, 30.0, 4).blame is Attribution.FITS


@pytest.mark.parametrize(
    ("observed", "blame"),
    [(40.0, Attribution.MORE), (9.0, Attribution.FITS), (0.1, Attribution.LESS)],
)
def test_cold_bounds_the_answer(observed, blame):
    """Four years at 5 °C age no faster than four at 15 °C: more than those take is more, and what
    is more than the models guess of the cold, but no more than that, is no riddle."""
    expected = expected_loss(NEW, lived(5, 4), 100.0)
    at_edges = expected_loss(NEW, lived(15, 4), 100.0)
    judged = heat_share(expected, at_edges, observed, 0.2, 8, cold_alone=True)
    assert judged.blame is blame
    assert ("never colder than 15 °C" in judged.words) == (observed == 9.0)


def test_a_past_in_the_cold_leaves_more_to_lose():
    cold, mild = (expected_loss(lived(c, 4), lived(15, 2), 100.0).loss.middle for c in (5, 15))
    assert cold > mild


def test_heat_beyond_the_models_does_not_decide_the_verdict():
    expected = expected_loss(NEW, lived(65, 4), 100.0)
    at_edges = expected_loss(NEW, lived(50, 4), 100.0)
    judged = heat_share(expected, at_edges, 8.0, 0.2, 8)
    assert judged.blame is Attribution.UNSURE
    assert "hotter than the models cover" in judged.words


def test_sound_cells_in_the_heat_are_not_told_to_look_for_another_cause():
    """Simulated types of cell (SD 0.6) that lose 10 % in ten years at 25 °C half charged, as
    time^0.6 and twice as fast with ten degrees more, two years at 45 °C: of 60, 5 % may be."""
    chance = np.random.default_rng(5)
    expected = expected_loss(NEW, lived(45, 2), 100.0)
    more = 0
    for factor in np.exp(0.6 * chance.standard_normal(60)):
        charge = chance.uniform(0.5, 1.0)
        lost = 10 * 1.53 ** ((charge - 0.5) / 0.5) * 0.2**0.6 * 2 ** (2 * 0.6) * factor
        observed = lost + chance.normal(0, 1)
        more += heat_share(expected, expected, observed, 1.0, 8).blame is Attribution.MORE
    assert more <= 6


def test_hours_outside_count_as_hours_at_the_nearer_limit():
    clipped = Exposure.of([(-5.0, 10.0), (20.0, 5.0), (60.0, 1.0)]).within(15, 50)
    assert clipped.temperature_c.tolist() == [15.0, 20.0, 50.0]
    assert clipped.total_h == 16.0


def test_time_outside_the_model_is_said():
    loss = expected_loss(NEW, lived(60, 1), 100.0)
    assert "100 % of its time was outside 15 to 50 °C" in loss.loss.caveats[-1].text


@pytest.mark.parametrize(("cold_h", "said"), [(5.0, []), (6.0, ["6 % of its time was outside"])])
def test_from_a_twentieth_of_the_time_on_it_is_said_to_lie_outside(cold_h, said):
    # Of a hundred hours; 15 and 50 °C themselves lie inside.
    hours = [(14.9, cold_h), (15.0, 50.0), (50.0, 50.0 - cold_h)]
    loss = expected_loss(NEW, Stress(Exposure.of(hours)), 100.0).loss
    assert [one.text[:27] for one in loss.caveats if one.code == "outside_model"] == said


@pytest.mark.parametrize(
    ("celsius", "share"), [(14.9, 0.25), (15.0, 0.0), (50.0, 0.0), (50.1, 0.25)]
)
def test_time_outside_counts_by_its_hours_on_both_sides(celsius, share):
    # 10 of 40 hours.
    hours = Exposure.of([(celsius, 10.0), (20.0, 29.0), (30.0, 1.0)])
    assert hours.share_outside(15.0, 50.0) == share


@pytest.mark.parametrize(
    ("known", "said"), [(1.0, []), (0.95, []), (0.94, ["94 % of its time is known"])]
)
def test_time_that_is_not_known_is_said_below_95_percent(known, said):
    history = SimpleNamespace(exposure=lived(25, 4).exposure, known_share=known)
    about = battery_details(in_service_since=date(2020, 1, 1))
    found = heat_caveats(about, history, from_tests=False, judged=None)
    assert [one.text.partition(";")[0] for one in found] == said


def test_a_battery_that_waits_stands_between_half_charged_and_full():
    """The edges where nothing else is given (common practice)."""
    history = lived(25, 4)
    assert (history.low_charge, history.high_charge) == (0.5, 1.0)
    same = Stress(history.exposure, 0.0, 0.5, 1.0)
    assert expected_loss(NEW, history, 100.0).loss == expected_loss(NEW, same, 100.0).loss


def test_a_loss_known_exactly_is_above_the_share_of_cells_that_lost_less():
    """Of four cells alike that lose 1, 2, 3 and 4 %, two lose less than 2.5 %: no blame."""
    expected = expected_loss(NEW, lived(25, 4), 100.0)
    four = replace(expected, samples=np.array([1.0, 2.0, 3.0, 4.0]))
    assert heat_share(four, four, 2.5, 0.0, 8).probability_more == 0.5
    assert heat_share(four, four, 3.5, 0.0, 8).probability_more == 0.75


@pytest.mark.parametrize(
    ("below", "below_at_edges", "blame", "words"),
    [
        # Of a hundred cells alike so many lose less than this one lost.
        (1, 3, Attribution.LESS, "97 % likely"),
        (3, 1, Attribution.LESS, "97 % likely"),
        (98, 96, Attribution.MORE, "96 % likely"),
        (96, 98, Attribution.MORE, "96 % likely"),
    ],
)
def test_of_two_answers_the_less_sure_one_is_said(below, below_at_edges, blame, words):
    expected = expected_loss(NEW, lived(25, 4), 100.0)
    beliefs = (
        replace(expected, samples=np.array([1.0] * count + [9.0] * (100 - count)))
        for count in (below, below_at_edges)
    )
    judged = heat_share(*beliefs, 5.0, 0.0, 8)
    assert judged.blame is blame
    assert f"({words})" in judged.words


@pytest.mark.parametrize(
    ("below", "below_at_edges", "blame", "words"),
    [
        # A minute of the hottest sun: what the guess about it explains is not called bounded by
        # what a battery that was never cold would lose, for it lost more than that.
        (90, 99, Attribution.FITS, "as far as tests and models can tell"),
        (2, 50, Attribution.UNSURE, "hotter than the models cover"),
        # Cold: the edge expects more, and the observed loss is no more than that.
        (99, 50, Attribution.FITS, "never colder than 15 °C"),
    ],
)
def test_only_an_edge_that_expects_more_bounds_the_answer(below, below_at_edges, blame, words):
    expected = expected_loss(NEW, lived(25, 4), 100.0)
    beliefs = (
        replace(expected, samples=np.array([1.0] * count + [9.0] * (100 - count)))
        for count in (below, below_at_edges)
    )
    judged = heat_share(*beliefs, 5.0, 0.0, 8, cold_alone=True)
    assert judged.blame is blame
    assert words in judged.words


def test_the_table_for_a_doubting_friend_stands_on_25_degrees():
    """25 °C is what every published factor is 1 at; 10 K warmer all of them age faster.

    By hand: the geometric means of the five models after three years at 25 °C are 4.625 % half
    charged and 7.137 % full (test_ageing_models); one year takes (1/3)^0.6 = 0.5173 of that, five
    take (5/3)^0.6 = 1.3587 times as much."""
    rows = {row.temperature_c: row for row in warmth_table()}
    assert list(rows) == [15.0, 25.0, 35.0, 45.0]
    assert rows[25.0].pace == pytest.approx((1.0, 1.0))
    assert rows[15.0].pace[1] < 1 < rows[35.0].pace[0] < rows[45.0].pace[0]
    assert rows[25.0].after_one == pytest.approx((2.392, 3.692), rel=1e-3)
    assert rows[25.0].after_five == pytest.approx((6.284, 9.697), rel=1e-3)
