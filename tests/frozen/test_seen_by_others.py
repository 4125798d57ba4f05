"""Nothing that others hold on to goes or changes its name."""

import pytest

from tests.frozen import seen_by_others

pytestmark = pytest.mark.any_database

AGAIN = "what is new is written down by: python -m tests.frozen.seen_by_others"


@pytest.fixture(scope="module")
def app(tmp_path_factory):
    made = seen_by_others.example(tmp_path_factory.mktemp("seen") / "data")
    yield made
    made.state.example.close()
    made.state.store.engine.dispose()


@pytest.mark.parametrize("kind", seen_by_others.COLLECTED)
def test_what_others_see_is_as_it_was(app, kind):
    frozen = set((seen_by_others.LISTS / f"{kind}.txt").read_text(encoding="utf-8").splitlines())
    found = set(seen_by_others.collected(kind, app))
    assert frozen
    assert frozen - found == set(), "somebody holds on to these"
    assert found - frozen == set(), AGAIN
