import json
import re
from itertools import combinations, pairwise

import numpy as np
import pytest

from app.charts import theme
from app.settings import STATIC
from app.web.rendering.assets import STYLE_SHEETS
from app.web.rendering.theme import BAR_COLORS
from tests.charts.test_comparison_chart import DEFICIENCIES, lab, linear
from tests.web.contrast import LOOKS, blocks, channels, contrast, tokens

pytestmark = pytest.mark.any_database

GROUNDS = ("--paper", "--card", "--well", "--shade")
# What is written in a colour, on any surface.
WRITTEN = ("--ink", "--soft", "--deep", "--ochre", "--wine")
FILLED = (("--on-deep", "--deep"), ("--on-wine", "--wine"), ("--on-sand", "--sand"))
# Names and levels are written in these beside their marks; charts stand on the page.
SERIES = tuple(f"--chart-series-{number}" for number in range(1, 7))
CHART_TEXT = ("--chart-muted", "--chart-threshold", *SERIES)
MARKS = ("--chart-measured", "--chart-bound", "--chart-expected", "--chart-span", "--chart-oldest")
WARMTH = ("--chart-cool", "--chart-mild", "--chart-warm")
# Needed to find or to understand something, without being text (WCAG 2.2, 1.4.11).
BOUNDS = ("--edge", "--caution", "--focus")


def test_the_formula_gives_the_ratios_that_the_standard_states():
    # WCAG 2.2: ratios go from 1 to 21. #767676 is the lightest grey at 4.5 on white (from memory).
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") < 4.5 < contrast("#767676", "#ffffff")


@pytest.mark.parametrize("look", LOOKS)
def test_every_text_can_be_read_on_every_surface(look):
    # WCAG 2.2: 4.5 by 1.4.3 (AA); 7 by 1.4.6 (AAA), which the look for bright sun keeps.
    have, needed = tokens(look), 7 if look == "sunlight" else 4.5
    pairs = [(a, b) for a in WRITTEN for b in GROUNDS] + list(FILLED)
    pairs += [(a, "--paper") for a in CHART_TEXT]
    low = {(a, b): round(contrast(have[a], have[b]), 2) for a, b in pairs}
    assert {pair: ratio for pair, ratio in low.items() if ratio < needed} == {}


@pytest.mark.parametrize("look", LOOKS)
def test_every_mark_and_bound_stands_out(look):
    have = tokens(look)
    pairs = [(a, b) for a in BOUNDS for b in GROUNDS] + [(a, "--paper") for a in MARKS]
    low = {(a, b): round(contrast(have[a], have[b]), 2) for a, b in pairs}
    assert {pair: ratio for pair, ratio in low.items() if ratio < 3} == {}


def test_dark_is_the_same_whether_chosen_or_asked_of_the_device():
    found = blocks()
    assert found[":root[data-look=dark]"] == found[":root:not([data-look])"]


@pytest.mark.parametrize("look", ["dark", "sunlight"])
def test_each_look_names_every_colour(look):
    named = {"dark": ":root[data-look=dark]"}.get(
        look, ":root[data-look=sunlight], :root[data-look=sunlight] .sheet"
    )
    light = blocks()[":root, .sheet"]
    colours = {name for name, value in light.items() if value.startswith(("#", "rgba"))}
    assert colours <= blocks()[named].keys()


def test_only_the_tokens_name_a_colour():
    for name in (*STYLE_SHEETS[1:], "file.css"):
        text = re.sub(r"/\*.*?\*/", "", (STATIC / name).read_text(), flags=re.DOTALL)
        # A rule for drawings asks for the colour of a drawing, and gives it a role.
        text = re.sub(r'\[(fill|stroke)\^?="[^"]*"\]', "", text)
        # White under a code to scan and under what is printed is no matter of taste.
        named = set(re.findall(r"#[0-9a-fA-F]{3,8}\b(?!\w*\s*\{)|rgba?\([^)]*\)", text))
        assert named <= {"#fff"}, name


def test_charts_and_pages_have_the_same_light_colours():
    light = tokens("light")
    for colour, role in theme.ROLES.items():
        assert channels(light[role]) == channels(colour), role
    assert channels(light["--chart-oldest"]) == channels(theme.by_age(0))
    assert channels(light["--chart-newest"]) == channels(theme.by_age(1))


def test_every_colour_of_a_drawing_has_its_rule(client, tested):
    page = client.get(f"/batteries/{tested.id}/file.html").text
    sheet, drawn = page.split("</style>", 1)
    used = set(re.findall(r'((?:fill|stroke)="[^"]+")', drawn)) - {'fill="none"'}
    assert len(used) > 8
    assert {one for one in used if f"[{one}]" not in sheet} == set()


def test_every_colour_that_charts_use_has_its_rule_for_drawings():
    text = " ".join((STATIC / "drawings.css").read_text().split())
    for colour, role in theme.ROLES.items():
        if colour.startswith("#"):
            for part in ("fill", "stroke"):
                assert f'[{part}="{colour}"] {{ {part}: var({role}); }}' in text, colour


@pytest.mark.parametrize("look", LOOKS)
def test_what_is_judged_stays_apart_for_colour_blind_eyes(look):
    # They differ in form as well; 2.3 is just noticed (CIE 1976, common practice).
    judged = [tokens(look)[f"--chart-{one}"] for one in ("measured", "bound", "threshold")]
    for matrix in DEFICIENCIES:
        seen = [lab(matrix @ linear(colour)) for colour in judged]
        assert min(np.linalg.norm(a - b) for a, b in combinations(seen, 2)) > 10


@pytest.mark.parametrize("look", LOOKS)
def test_things_laid_over_one_another_stay_apart_for_colour_blind_eyes(look):
    # CIE 1976 distances; in bright sun all must be dark, so symbols and dashes carry more there.
    colours = [tokens(look)[name] for name in SERIES]
    least = 15 if look == "sunlight" else 20
    for matrix in DEFICIENCIES:
        seen = [lab(matrix @ linear(colour)) for colour in colours]
        assert min(np.linalg.norm(a - b) for a, b in combinations(seen, 2)) > least


def between(first, second):
    """Colours from one to the other in fifty steps, as a scale of colours mixes them."""
    ends = [channels(one)[:3] for one in (first, second)]
    for step in range(51):
        mixed = (round(a + step / 50 * (b - a)) for a, b in zip(*ends, strict=True))
        yield "#" + "".join(f"{part:02x}" for part in mixed)


@pytest.mark.parametrize("look", LOOKS)
def test_the_number_of_a_month_can_be_read_however_warm_it_was(look):
    have, needed = tokens(look), 7 if look == "sunlight" else 4.5
    for first, second in pairwise(have[name] for name in WARMTH):
        assert min(contrast(have["--ink"], one) for one in between(first, second)) >= needed


@pytest.mark.parametrize("look", LOOKS)
def test_warmer_months_stand_out_more_for_every_eye(look):
    # Paler or darker by 10 of 100 (CIE 1976 lightness): seen at a glance (common practice).
    page, *scale = (tokens(look)[name] for name in ("--paper", *WARMTH))
    for matrix in DEFICIENCIES:
        ground, *lightness = (lab(matrix @ linear(one))[0] for one in (page, *scale))
        away = [abs(one - ground) for one in lightness]
        assert all(b > a + 10 for a, b in pairwise(away))


def test_the_browsers_bar_and_the_home_screen_have_the_colour_of_the_page():
    for look, colour in BAR_COLORS.items():
        assert colour == tokens(look.value)["--paper"]
    manifest = json.loads((STATIC / "manifest.webmanifest").read_text())
    assert manifest["theme_color"] == manifest["background_color"] == tokens("light")["--paper"]
