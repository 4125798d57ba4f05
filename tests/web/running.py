"""A test that is running."""

from datetime import timedelta

from tests.builders import NOW

START = NOW - timedelta(hours=10)


def note(client, run, **values):
    return client.post(f"{run}/readings", data={"current_a": "9,0", **values})
