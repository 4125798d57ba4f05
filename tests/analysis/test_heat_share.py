import numpy as np
import pytest

from app.analysis.exposure import Exposure
from app.analysis.heat_share import Blame, History, expected_loss, heat_share
from app.analysis.loss_models import cycle_loss_percent, middle_loss
from app.domain.time_units import HOURS_PER_YEAR

NEW = History(Exposure.of([]))


def lived(temperature_c, years, throughput_ah=0.0):
    return History(Exposure.of([(temperature_c, years * HOURS_PER_YEAR)]), throughput_ah)


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
        (60.0, Blame.MORE, "more than time, heat and use would explain (more than 99 % likely)"),
        (0.1, Blame.LESS, "less than time, heat and use would explain"),
        (11.0, Blame.FITS, "as far as the band"),
    ],
)
def test_the_observed_loss_is_judged_against_the_band(observed, blame, words):
    expected = expected_loss(NEW, lived(30, 4), 100.0)
    judged = heat_share(expected, expected, observed, 1.0, 8)
    assert judged.blame is blame
    assert words in judged.words


def test_a_loss_that_is_not_well_known_blames_nobody():
    expected = expected_loss(NEW, lived(25, 1), 100.0)
    assert heat_share(expected, expected, 12.0, 30.0, 4).blame is Blame.FITS


@pytest.mark.parametrize(
    ("observed", "blame"), [(40.0, Blame.MORE), (9.0, Blame.FITS), (0.1, Blame.LESS)]
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
    assert judged.blame is Blame.UNSURE
    assert "hotter than the models were made for" in judged.words


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
        more += heat_share(expected, expected, observed, 1.0, 8).blame is Blame.MORE
    assert more <= 6


def test_hours_outside_count_as_hours_at_the_nearer_limit():
    clipped = Exposure.of([(-5.0, 10.0), (20.0, 5.0), (60.0, 1.0)]).within(15, 50)
    assert clipped.temperature_c.tolist() == [15.0, 20.0, 50.0]
    assert clipped.total_h == 16.0


def test_time_outside_the_model_is_said():
    loss = expected_loss(NEW, lived(60, 1), 100.0)
    assert "100 % of the time lie outside 15 to 50 °C" in loss.loss.caveats[-1].text
