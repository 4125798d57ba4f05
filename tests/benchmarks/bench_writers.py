"""How much several processes store and read at once, on a data file or a PostgreSQL database.

python -m tests.benchmarks.bench_writers (with FADELINE_DATABASE_URL on an empty database).
"""

import multiprocessing
import tempfile
import time
from pathlib import Path

from app.domain.entities.meter import MeterKind
from app.domain.errors import StorageError
from app.services.entities import batteries, discharges
from app.services.store import Store, open_store
from app.settings import MIGRATIONS, Settings
from tests.builders import NOW, battery_details, discharge_details, steady

SECONDS = 10.0
PROCESSES = (1, 2, 4)


def opened(folder: Path) -> Store:
    settings = Settings(data_dir=folder)
    return open_store(
        folder, settings.address, settings.staging, MIGRATIONS, settings.busy_timeout_ms
    )


def work(folder: Path, number: int, begin: object, told: object) -> None:
    """Add tests of a battery of its own and look at it after each; counts what was told busy."""
    store, busy, took = opened(folder), 0, []
    battery = batteries.add_battery(store, battery_details(name=f"of process {number}"))
    begin.wait()  # type: ignore[attr-defined]
    end = time.perf_counter() + SECONDS
    while time.perf_counter() < end:
        details = discharge_details(steady(step_h=0.1), days_ago=1 + len(took) / 24)
        since = time.perf_counter()
        try:
            discharges.add_discharge(store, battery.id, details, MeterKind.SHUNT, NOW)
        except StorageError:
            busy += 1
        took.append(time.perf_counter() - since)
    told.put((took, busy))  # type: ignore[attr-defined]


def main() -> None:
    spawn = multiprocessing.get_context("spawn")
    print("processes  tests stored a second  median ms  slowest ms  told to try again")
    for count in PROCESSES:
        with tempfile.TemporaryDirectory() as folder:
            opened(Path(folder)).engine.dispose()
            begin, told = spawn.Barrier(count), spawn.Queue()
            workers = [
                spawn.Process(target=work, args=(Path(folder), number, begin, told))
                for number in range(count)
            ]
            for worker in workers:
                worker.start()
            results = [told.get() for _ in workers]
            for worker in workers:
                worker.join()
        took = sorted(second for some, _ in results for second in some)
        busy = sum(busy for _, busy in results)
        stored = (len(took) - busy) / SECONDS
        median, slowest = took[len(took) // 2] * 1e3, took[-1] * 1e3
        print(f"{count:9d}  {stored:21.0f}  {median:9.1f}  {slowest:10.0f}  {busy:17d}")


if __name__ == "__main__":
    main()
