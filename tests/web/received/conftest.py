"""A file that somebody sent, and other Fadelines that receive it."""

import pytest

from tests.conftest import here
from tests.web.received.files import opened, with_five_tests


@pytest.fixture
def away(tmp_path):
    made = opened(tmp_path / "away")
    with here(made) as browser:
        yield browser
    made.state.store.engine.dispose()


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """One in which nothing is ever kept."""
    made = opened(tmp_path_factory.mktemp("empty"))
    with here(made) as browser:
        yield browser
    made.state.store.engine.dispose()


@pytest.fixture(scope="module")
def sent(tmp_path_factory):
    """The file of a battery with five tests and an event, whose home the tests do not need."""
    made = opened(tmp_path_factory.mktemp("home"))
    with here(made) as browser:
        with_five_tests(made.state.store)
        yield browser.get("/batteries/1/file.html").text
    made.state.store.engine.dispose()


@pytest.fixture
def tested(store):
    return with_five_tests(store)


@pytest.fixture
def sent_by_client(client, tested):
    """The same battery's file where its home is needed, too."""
    return client.get(f"/batteries/{tested.id}/file.html").text
