"""A battery with tests, reached through the pages."""

import pytest

from app.domain.discharge import EndReason
from app.domain.meter import MeterKind
from app.main import create_app
from app.services import batteries, discharges, door
from app.settings import Settings
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.web.doors import CLUB, QUICK, away, set_up, sign_in, soup  # noqa: F401


@pytest.fixture
def battery(store):
    return batteries.add_battery(store, battery_details())


@pytest.fixture
def tested(store, battery):
    """The battery with five tests in five years."""
    for years, hours in ((4, 12), (3, 11.5), (2, 11), (1, 10.5), (0, 10)):
        details = discharge_details(
            steady(hours=hours, step_h=0.1),
            days_ago=10 + 365 * years,
            end_reason=EndReason.PROTECTION,
        )
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
    return battery


@pytest.fixture
def quick(monkeypatch):
    """Passphrases are hashed in no time."""
    monkeypatch.setattr(door, "_hasher", QUICK)


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
