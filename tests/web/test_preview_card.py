"""What a messenger shows beside a shared link."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from app.charts.small.card import Card, card_png
from app.domain.i18n.message import ENGLISH
from app.services.access import shares
from app.services.entities import batteries
from tests.builders import NOW, battery_details
from tests.conftest import here
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database
SIZE = (1200, 630)


@pytest.fixture
def share(store, tested):
    return shares.share_battery(store, tested.id, "", None, NOW)


def told(page):
    return {one["property"]: one["content"] for one in page.select("meta[property^='og:']")}


def picture(answer):
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/png")
    return Image.open(io.BytesIO(answer.content))


def test_a_link_names_its_picture_by_the_host_it_was_asked_for(client, share):
    page = soup(client.get(f"/shared/{share.token}"))
    said = told(page)
    assert said["og:title"] == "Bench battery"
    assert re.match(r"90\.0 Ah ± 1\.4 Ah measured on 15 Nov 2026", said["og:description"])
    assert said["og:url"] == f"http://127.0.0.1/shared/{share.token}"
    assert said["og:image"] == f"{said['og:url']}?chart=card.png"
    size = (said["og:image:width"], said["og:image:height"])
    assert picture(client.get(said["og:image"])).size == SIZE == tuple(map(int, size))


def test_behind_a_public_address_it_is_named_by_that(app, client, share):
    app.state.settings = replace(app.state.settings, public_address="https://camp.example")
    said = told(soup(client.get(f"/shared/{share.token}")))
    assert said["og:image"] == f"https://camp.example/shared/{share.token}?chart=card.png"


def test_it_opens_for_whoever_has_the_link_and_is_no_look_at_it(app, store, client, share):
    address = f"/shared/{share.token}?chart=card.png"
    with here(app) as stranger:
        assert picture(stranger.get(address)).size == SIZE
        assert shares.get_share(store, share.id).views == 0
        shares.revoke_share(store, share.id, NOW)
        assert stranger.get(address).status_code == 404


def test_a_link_to_one_test_has_one_too(client, store, tested):
    wish = shares.ShareWish(discharge_id=1)
    token = shares.share_battery(store, tested.id, "", None, NOW, wish).token
    assert picture(client.get(f"/shared/{token}?chart=card.png")).size == SIZE


def test_batteries_beside_each_other_have_no_figure_that_could_be_of_either(client, store, tested):
    other = batteries.add_battery(store, battery_details(name="Other"))
    tokens = [
        shares.share_battery(store, tested.id, "", None, NOW, shares.ShareWish(beside=beside)).token
        for beside in ((), (other.id,))
    ]
    alone, both = [
        np.asarray(picture(client.get(f"/shared/{token}?chart=card.png")).convert("L"))
        for token in tokens
    ]
    # The dots and the level of the rated capacity.
    assert np.ptp(alone[350:540]) > 100
    assert np.ptp(both[350:540]) == 0


def test_a_long_name_stays_on_the_card():
    made = card_png(Card("Longest name " * 6, "", (), ""), ENGLISH, demo=False)
    edge = np.asarray(Image.open(io.BytesIO(made)).convert("L"))[:, 1160:]
    assert np.ptp(edge) == 0


def test_a_name_in_letters_that_cannot_be_drawn_is_left_to_the_words():
    drawn = [
        card_png(Card(name, "90.0 Ah", (), ""), ENGLISH, demo=False)
        for name in ("電池", "バッテリー", "Küche", "Kueche", "Café")
    ]
    assert drawn[0] == drawn[1]
    assert drawn[2] == drawn[3]
    assert len(set(drawn)) == 3
