"""A logger's file of a million temperatures through the server, and the heat page after it.

Run by hand: python -m tests.benchmarks.bench_temperatures [rows]
The last column is the time of numpy.loadtxt alone on the plain numbers, in the same run.
"""

import io
import re
import statistics
import sys
import tempfile
import time
from datetime import date
from pathlib import Path

import httpx2
import numpy as np

from app.domain.entities.place import PlaceDetails
from app.server.application import create_app
from app.services.entities import batteries, places
from app.settings import Settings
from tests.benchmarks.served import serving
from tests.builders import battery_details

BEGIN = np.datetime64("2022-01-01T00:00:00")


def log(rows: int) -> tuple[bytes, bytes]:
    """A temperature a minute, as a file and as plain numbers. Invented."""
    chance = np.random.default_rng(5)
    minutes = np.arange(rows)
    celsius = 22 + 9 * np.sin(minutes / 1440 * 2 * np.pi) + chance.normal(0, 1, rows)
    stamps = np.datetime_as_string(BEGIN + minutes * np.timedelta64(60, "s"))
    pairs = [f"{s.replace('T', ' ')},{c:.2f}" for s, c in zip(stamps, celsius, strict=True)]
    plain = "\n".join(f"{i},{c:.2f}" for i, c in zip(minutes, celsius, strict=True))
    return "\n".join(["time,temperature °C", *pairs]).encode(), plain.encode()


def run(data: bytes) -> tuple[float, float, float]:
    """Seconds until the preview and until the hours are stored; the heat page's median."""
    with tempfile.TemporaryDirectory() as name:
        store = create_app(Settings(data_dir=Path(name))).state.store
        battery = batteries.add_battery(store, battery_details())
        place = places.add_place(store, PlaceDetails("locker"))
        places.move_battery(store, battery.id, place.id, date(2022, 1, 1))
        store.engine.dispose()
        with serving(Path(name)) as served:
            where = f"{served.address}/places/{place.id}/temperatures"
            began = time.perf_counter()
            seen = httpx2.post(where, files={"file": ("log.csv", data)}, timeout=120)
            previewed = time.perf_counter() - began
            assert seen.status_code == 200, seen.text
            staged = re.search(r'name="staged" value="([^"]+)"', seen.text)
            assert staged is not None
            form = {"staged": staged[1], "source": "log.csv", "action": "store"}
            done = httpx2.post(where, data=form, timeout=120)
            stored = time.perf_counter() - began
            assert done.status_code == 303, done.text
            return previewed, stored, _page(f"{served.address}/batteries/{battery.id}/heat")


def _page(address: str) -> float:
    times = []
    for _ in range(20):
        began = time.perf_counter()
        assert httpx2.get(address).status_code == 200
        times.append(time.perf_counter() - began)
    return statistics.median(times)


def main() -> None:
    data, plain = log(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
    began = time.perf_counter()
    np.loadtxt(io.StringIO(plain.decode()), delimiter=",")
    alone = time.perf_counter() - began
    previewed, stored, page = run(data)
    print("upload to preview s  preview and store s  heat page ms  numpy.loadtxt s")
    print(f"{previewed:19.2f}  {stored:19.2f}  {page * 1000:12.1f}  {alone:15.2f}")


if __name__ == "__main__":
    main()
