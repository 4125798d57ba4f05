"""A file of a million rows through the server: from upload to stored result, with peak memory.

Run by hand: python -m tests.benchmarks.bench_upload [rows]
Each shape gets a server of its own, so that the peak is that of one file. The last column is the
time of numpy.loadtxt alone on the plain numbers, in the same run.
"""

import io
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import httpx2
import numpy as np

from app.server.application import create_app
from app.services.entities import batteries
from app.settings import Settings
from tests.benchmarks.served import serving
from tests.benchmarks.speed_readings import make_file
from tests.builders import battery_details

FORM = {
    "action": "store",
    "day": "2026-01-05",
    "start_time": "06:00",
    "charge_condition": "full_rested",
    "end_reason": "protection",
    "meter": "shunt",
}
BEGIN = datetime(2026, 1, 5, 6)


def _timed(plain: bytes, heading: str, write: Callable[[int], str], delimiter: str = ",") -> bytes:
    """The same readings with another time column."""
    lines = plain.decode().splitlines()[1:]
    rows = (delimiter.join((write(i), *line.split(",")[1:])) for i, line in enumerate(lines))
    names = delimiter.join((heading, "voltage_v", "current_a", "temperature_c"))
    return "\n".join((names, *rows, "")).encode()


def shapes(plain: bytes) -> dict[str, bytes]:
    iso = _timed(plain, "time", lambda i: f"{BEGIN + timedelta(seconds=i)}")
    zulu = _timed(plain, "time", lambda i: f"{(BEGIN + timedelta(seconds=i)).isoformat()}Z")
    span = _timed(plain, "time", lambda i: f"{i // 3600}:{i // 60 % 60:02}:{i % 60:02}.000")
    local = _timed(
        plain, "Zeit", lambda i: f"{BEGIN + timedelta(seconds=i):%d.%m.%Y %H:%M:%S}", ";"
    )
    quoted = b"\n".join(
        b",".join(b'"%s"' % cell for cell in line.split(b",")) for line in plain.splitlines()
    )
    head, *rest = plain.replace(b",", b";").splitlines()
    marked = (b"AB"[i % 2 : i % 2 + 1] + b";" + line for i, line in enumerate(rest))
    return {
        "seconds": plain,
        "dates": iso,
        "dates, Z": zulu,
        "spans": span,
        "day.month.year": local,
        "quoted": quoted,
        "two channels": b"\n".join((b"channel;" + head, *marked)),
        "cut short": plain[:-9],
    }


def upload(data: bytes) -> tuple[float, float, float, int]:
    """Seconds from upload to the stored test, memory before and at the peak, and the answer."""
    with tempfile.TemporaryDirectory() as name:
        store = create_app(Settings(data_dir=Path(name))).state.store
        details = battery_details(rated_ah=3000.0)
        battery = batteries.add_battery(store, details)
        store.engine.dispose()
        with serving(Path(name)) as served:
            before_mb = served.memory_mb()
            began = time.perf_counter()
            answer = httpx2.post(
                f"{served.address}/batteries/{battery.id}/discharges",
                data={**FORM, "channel": "A"},
                files={"file": ("log.csv", data)},
                timeout=120,
            )
            taken = time.perf_counter() - began
            return taken, before_mb, served.memory_mb("VmHWM"), answer.status_code


def main(rows: int) -> None:
    plain = make_file(rows)
    began = time.perf_counter()
    np.loadtxt(io.BytesIO(plain), delimiter=",", skiprows=1)
    other_s = time.perf_counter() - began
    print(f"{rows} rows; numpy.loadtxt of the plain numbers takes {other_s:.2f} s")
    for name, data in shapes(plain).items():
        taken, before_mb, peak_mb, status = upload(data)
        print(
            f"  {name:16} {len(data) / 1e6:4.0f} MB  {taken:6.2f} s  {taken / other_s:4.1f} x  "
            f"memory {before_mb:3.0f} to {peak_mb:3.0f} MB  answer {status}",
            flush=True,
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
