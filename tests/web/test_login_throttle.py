"""Who tries wrong passphrases has to wait, and nobody else."""

from datetime import timedelta

import pytest

from app.web.security.login_throttle import FREE, MAX_WAIT_S, TOGETHER, TOGETHER_WITHIN_S
from tests.builders import NOW
from tests.conftest import here
from tests.web.auth_client import at, away, sign_in
from tests.web.conftest import soup

pytestmark = pytest.mark.any_database


def test_after_a_few_wrong_attempts_a_device_has_to_wait_and_then_gets_in(guarded):
    with away(guarded) as client:
        for _ in range(FREE):
            assert sign_in(client, "x").status_code == 422
        slowed = sign_in(client)
        assert slowed.status_code == 429
        assert slowed.headers["retry-after"] == "5"
        assert "5 s" in soup(slowed).text
        at(guarded, timedelta(seconds=6))
        assert sign_in(client, "x").status_code == 422
        assert sign_in(client).headers["retry-after"] == "10"
        at(guarded, timedelta(seconds=17))
        assert sign_in(client).status_code == 303


def test_another_device_and_the_machine_itself_do_not_wait_with_it(guarded):
    with away(guarded) as client:
        for _ in range(FREE + 1):
            sign_in(client, "x")
    with away(guarded, sender="192.168.1.21") as other, here(guarded) as machine:
        assert sign_in(other).status_code == 303
        assert machine.get("/").status_code == 200


def test_nobody_has_to_wait_longer_than_the_longest_wait(guarded):
    for hours in range(20):
        at(guarded, timedelta(hours=hours))
        with away(guarded) as client:
            sign_in(client, "x")
    at(guarded, timedelta(hours=19, seconds=MAX_WAIT_S))
    with away(guarded) as client:
        assert sign_in(client).status_code == 303


def test_many_senders_together_are_slowed(guarded):
    for number in range(TOGETHER):
        with away(guarded, sender=f"10.0.{number}.1") as client:
            assert sign_in(client, "x").status_code == 422
    with away(guarded, sender="10.1.0.1") as client:
        slowed = sign_in(client)
        assert slowed.status_code == 429
        assert "then try again" in soup(slowed).text
        at(guarded, timedelta(seconds=TOGETHER_WITHIN_S))
        assert sign_in(client).status_code == 303


def test_who_gets_in_takes_his_own_attempt_out_and_leaves_those_of_all_others(guarded):
    """Of so many together a success counts for none: it neither uses one up nor gives any back."""
    for number in range(TOGETHER - 1):
        with away(guarded, sender=f"10.0.{number}.1") as client:
            sign_in(client, "x")
    with away(guarded, sender="10.1.0.1") as client:
        assert sign_in(client).status_code == 303
    with away(guarded, sender="10.1.0.2") as client:
        assert sign_in(client, "x").status_code == 422, "the last one that is free"
    with away(guarded, sender="10.1.0.3") as client:
        assert sign_in(client).status_code == 429


def test_a_success_forgets_what_this_sender_tried_and_nobody_else(guarded):
    with away(guarded) as client, away(guarded, sender="192.168.1.21") as other:
        for _ in range(FREE):
            sign_in(other, "x")
        for _ in range(FREE - 1):
            sign_in(client, "x")
        assert sign_in(client).status_code == 303
        for _ in range(FREE):
            assert sign_in(client, "x").status_code == 422
        assert sign_in(other).status_code == 429


def test_senders_of_one_ipv6_network_are_one(guarded):
    for number in range(FREE):
        with away(guarded, sender=f"2001:db8:1:2::{number}") as client:
            sign_in(client, "x")
    with away(guarded, sender="2001:db8:1:2:ffff::1") as client:
        slowed = sign_in(client)
        assert slowed.status_code == 429
        assert "Too many attempts. Wait 5 s, then try again." in soup(slowed).text


def test_a_clock_that_is_put_back_by_a_year_makes_nobody_wait_for_it(guarded):
    with away(guarded) as client:
        for _ in range(FREE):
            sign_in(client, "x")
        guarded.state.clock = lambda: NOW - timedelta(days=365)
        assert sign_in(client).headers["retry-after"] == "5"
