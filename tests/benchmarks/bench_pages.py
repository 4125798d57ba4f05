"""How long pages take: a battery with 40 tests, a cold start to the first page, and the list of
200 batteries with 8 tests each (the aim is 100 ms when nothing changed).

Run by hand: python -m tests.benchmarks.bench_pages
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import httpx2

from app.domain.meter import MeterKind
from app.main import create_app
from app.services import batteries, discharges
from app.settings import Settings
from tests.builders import NOW, battery_details, discharge_details, steady
from tests.serving import free_port

TESTS = 40
BATTERIES, TESTS_EACH = 200, 8


def fill(folder: Path, step_h: float) -> None:
    store = create_app(Settings(data_dir=folder)).state.store
    battery = batteries.add_battery(store, battery_details())
    for number in range(TESTS):
        readings = steady(hours=11 - number * 0.05 // step_h * step_h, step_h=step_h)
        details = discharge_details(readings, days_ago=10 + 91 * number)
        discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def fill_list(folder: Path) -> None:
    """Batteries that differ, each with its own tests."""
    store = create_app(Settings(data_dir=folder)).state.store
    for number in range(BATTERIES):
        battery = batteries.add_battery(store, battery_details(name=f"Battery {number}"))
        for test in range(TESTS_EACH):
            readings = steady(hours=11 - 0.2 * test - 0.001 * number)
            details = discharge_details(readings, days_ago=10 + 91 * test)
            discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)


def serve(folder: Path) -> tuple[subprocess.Popen[bytes], str, float]:
    port = free_port()
    command = [sys.executable, "-m", "app", "serve", "--no-browser", "--port", str(port)]
    began = time.perf_counter()
    server = subprocess.Popen([*command, "--data", str(folder)], stdout=subprocess.DEVNULL)
    address = f"http://127.0.0.1:{port}"
    while True:
        try:
            httpx2.get(address, timeout=600)
            return server, address, time.perf_counter() - began
        except httpx2.TransportError:
            time.sleep(0.01)


def timed(client: httpx2.Client, address: str, runs: int = 100) -> list[float]:
    taken = []
    for _ in range(runs):
        began = time.perf_counter()
        client.get(address).raise_for_status()
        taken.append(1000 * (time.perf_counter() - began))
    return taken


def time_list() -> None:
    """The first time everything is computed, after an edit the list is put together again, and
    while nothing changes it is only written."""
    with tempfile.TemporaryDirectory() as name:
        fill_list(Path(name))
        server, address, start_s = serve(Path(name))
        with httpx2.Client(timeout=60) as client:
            edited = []
            for number in range(5):
                meter = {"name": f"Meter {number}", "kind": "shunt", "gain_limit_percent": "1"}
                meter |= {"offset_limit_a": "0.1", "resolution_a": "0.1"}
                client.post(address + "/meters", data=meter)
                edited += timed(client, address + "/", 1)
            warm = timed(client, address + "/", 50)
        server.terminate()
        server.wait()
    print(f"{BATTERIES} batteries, {TESTS_EACH} tests each")
    print(f"  cold start to the list              {start_s:6.2f} s")
    print(f"  list page after an edit, median     {statistics.median(edited):6.1f} ms")
    print(f"  list page, median                   {statistics.median(warm):6.1f} ms")


def main() -> None:
    time_list()
    for step_h, what in ((1.0, "hourly hand readings"), (1 / 60, "one reading a minute")):
        with tempfile.TemporaryDirectory() as name:
            fill(Path(name), step_h)
            server, address, start_s = serve(Path(name))
            with httpx2.Client() as client:
                first = timed(client, address + "/batteries/1", 1)[0]
                warm = timed(client, address + "/batteries/1")
                listing = timed(client, address + "/")
            server.terminate()
            server.wait()
        print(f"{TESTS} tests, {what}")
        print(f"  cold start to the first page        {start_s:6.2f} s")
        print(f"  battery page, first time            {first:6.1f} ms")
        for label, values in (("battery page", warm), ("list page", listing)):
            worst = sorted(values)[-2]
            print(f"  {label:12} median {statistics.median(values):6.1f} ms, 99 % {worst:6.1f} ms")


if __name__ == "__main__":
    main()
