"""A battery with tests, reached through the pages."""

import pytest

from app.server.application import create_app
from app.server.network_application import create_network_application
from app.services.entities import batteries
from app.settings import Settings
from tests.builders import NOW, add_five_tests, battery_details
from tests.fast_demo import copied
from tests.web.auth_client import CLUB, QUICK, away, refusals_of, set_up, sign_in, soup  # noqa: F401
from tests.web.joining import FakeNetwork
from tests.web.running import START


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


def enter_tested(store):
    made = batteries.add_battery(store, battery_details())
    add_five_tests(store, made)
    return made


@pytest.fixture
def tested(request, store):
    """The battery with five tests in five years."""
    if "battery" in request.fixturenames:
        battery = request.getfixturevalue("battery")
        add_five_tests(store, battery)
        return battery
    return copied(store, enter_tested)


@pytest.fixture
def guarded(app, quick):
    """The program with a passphrase."""
    set_up(app)
    return app


@pytest.fixture
def phone(guarded):
    """A signed-in device of the owner."""
    with away(guarded) as client:
        assert sign_in(client).status_code == 303
        yield client


@pytest.fixture
def club(tmp_path, quick):
    """The program behind a reverse proxy."""
    made = create_app(Settings(data_dir=tmp_path / "club", public_address=CLUB))
    made.state.clock = lambda: NOW
    set_up(made)
    yield made
    made.state.example.close()
    made.state.store.engine.dispose()


@pytest.fixture
def clock(app):
    """A clock that tests move by hand."""

    class Clock:
        now = START

        def __call__(self):
            return self.now

    made = Clock()
    app.state.clock = made
    return made


@pytest.fixture
def run(client, battery, clock):
    values = {"charge_condition": "full_rested", "meter": "shunt", "load": "lamps"}
    response = client.post(f"/batteries/{battery.id}/runs", data=values, follow_redirects=False)
    assert response.status_code == 303
    return response.headers["location"]


@pytest.fixture
def network(app):
    """The application on the network, at an address that nobody listens on."""
    app.state.network = FakeNetwork()
    return create_network_application(app)


@pytest.fixture
def on_phone(run):
    """The address of the run's page on the network."""
    return run.replace("/runs/", "/joined/")
