"""A file that somebody sent, and other Fadelines that receive it."""

import pytest

from tests.web.received.files import elsewhere, store_of, with_five_tests


@pytest.fixture
def away(tmp_path):
    with elsewhere(tmp_path / "away") as browser:
        yield browser


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """One in which nothing is ever kept."""
    with elsewhere(tmp_path_factory.mktemp("empty")) as browser:
        yield browser


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """The file of a battery with five tests and an event, whose home the tests do not need."""
    with elsewhere(tmp_path_factory.mktemp("home")) as browser:
        with_five_tests(store_of(browser))
        return browser.get("/batteries/1/file.html").text


@pytest.fixture
def tested(store):
    return with_five_tests(store)


@pytest.fixture
def sent_by_client(client, tested):
    """The same battery's file where its home is needed, too."""
    return client.get(f"/batteries/{tested.id}/file.html").text
