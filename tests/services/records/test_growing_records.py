"""Two copies of records grow by chance, apart and together; nothing is lost on the way out and in.

Bounded for everyday; EXAMPLES and STEPS in the environment let it search for longer.
"""

import os

import pytest
from hypothesis import HealthCheck, Phase, settings

from tests.archives import empty_store
from tests.services.records.growing_records import GrowingRecords
from tests.services.records.two_copies import OUTCOMES

EXAMPLES = int(os.environ.get("EXAMPLES", "8"))
STEPS = int(os.environ.get("STEPS", "20"))
SEARCHING = "EXAMPLES" in os.environ


@pytest.fixture(scope="module", autouse=True)
def empty(tmp_path_factory):
    folder = tmp_path_factory.mktemp("machine")
    store = empty_store(folder)
    # Nothing is left in a log beside the file once the last connection is closed.
    store.engine.dispose()
    GrowingRecords.empty = folder / "fadeline.db"
    yield
    if SEARCHING:
        print(OUTCOMES)


TestGrowingRecords = GrowingRecords.TestCase
TestGrowingRecords.settings = settings(
    max_examples=EXAMPLES,
    stateful_step_count=STEPS,
    derandomize=not SEARCHING,
    database=None,
    report_multiple_bugs=False,
    # Making a failing example smaller takes minutes here.
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
)
