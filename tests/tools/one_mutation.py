"""The tests of one mutation, in a process of their own that has the packages loaded already."""

import os
import signal
import sys
import time
from collections.abc import Iterable, Sequence
from enum import StrEnum
from importlib import import_module
from multiprocessing import connection, get_context
from pathlib import Path

import pytest

# What tests load that is not ours: loaded once, before a process is forked for each mutation.
LOADED = "numpy scipy.special hypothesis fastapi.testclient sqlmodel alembic.command bs4 typer"
# A test that takes so much longer than it did runs for ever.
TIMES_LONGER, LONGER_S = 10.0, 90.0
FAILED_FILE = ".failed"
_FORK = get_context("fork")


class Outcome(StrEnum):
    """What became of a mutation."""

    NOTICED = "noticed"
    TOO_LONG = "noticed by a test that no longer ends"
    UNNOTICED = "noticed by no test"
    NOT_RUN = "run by no test"

    @property
    def noticed(self) -> bool:
        return self in (Outcome.NOTICED, Outcome.TOO_LONG)


class _Only:
    """These tests alone, in their order; writes down which fail."""

    def __init__(self, names: Sequence[str], failed: Path) -> None:
        self._place = {name: at for at, name in enumerate(names)}
        self._failed = failed

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        wanted = (item for item in items if item.nodeid in self._place)
        items[:] = sorted(wanted, key=lambda item: self._place[item.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            with self._failed.open("a", encoding="utf-8") as file:
                file.write(f"{report.nodeid}\n")


def load_what_tests_load() -> None:
    for name in LOADED.split():
        import_module(name)


class Running:
    """A file of a tree as it is changed, while its tests run; afterwards it is as it was."""

    def __init__(
        self,
        tree: Path,
        file: str,
        changed: str,
        stages: Sequence[Sequence[str]],
        seconds: float,
        *,
        first_alone: bool = True,
    ) -> None:
        self.tree, self._path = tree, tree / file
        self._before = self._path.read_bytes()
        self._path.write_text(changed, encoding="utf-8")
        (tree / FAILED_FILE).write_text("")
        self._ends_at = time.monotonic() + LONGER_S + TIMES_LONGER * seconds
        self._process = _FORK.Process(target=_run, args=(tree, stages, first_alone))
        self._process.start()

    @staticmethod
    def first_of(running: "Iterable[Running]") -> "Running":
        """The one that ends first, or has run for too long."""
        while True:
            by = {one._process.sentinel: one for one in running}
            rest = min(one._ends_at for one in by.values()) - time.monotonic()
            for ended in connection.wait(list(by), max(rest, 0)):
                return by[ended]  # type: ignore[index]
            for one in by.values():
                if time.monotonic() >= one._ends_at:
                    return one

    def result(self) -> tuple[Outcome, str]:
        """What became of it, and the first test that failed."""
        process = self._process
        process.join(max(self._ends_at - time.monotonic(), 1.0))
        late = process.is_alive()
        # It leads a group of its own, with the servers that its tests started.
        if late and process.pid is not None:
            os.killpg(process.pid, signal.SIGKILL)
        process.join()
        self._path.write_bytes(self._before)
        if late:
            return Outcome.TOO_LONG, ""
        by = (self.tree / FAILED_FILE).read_text(encoding="utf-8").partition("\n")[0]
        # Not even an import that fails leaves 0.
        return (Outcome.NOTICED if process.exitcode else Outcome.UNNOTICED), by

    @staticmethod
    def failing(tree: Path, tests: Sequence[str]) -> set[str]:
        """Those of the tests that fail although nothing is changed."""
        if not tests:
            return set()
        some = tests[0].partition("::")[0]
        as_it_is = (tree / some).read_text(encoding="utf-8")
        one = Running(tree, some, as_it_is, [tests], 3600.0, first_alone=False)
        one.result_when_ended()
        return set((tree / FAILED_FILE).read_text(encoding="utf-8").split("\n")) - {""}

    def result_when_ended(self) -> None:
        Running.first_of([self]).result()


def _run(tree: Path, stages: Sequence[Sequence[str]], first_alone: bool) -> None:
    """Ends with 0 where no test fails."""
    os.setsid()
    os.chdir(tree)
    os.environ["PYTHONPATH"] = str(tree)
    # What was compiled of a file may be as old and as long as what it is changed to.
    sys.dont_write_bytecode = True
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    ours = Path(__file__).resolve().parents[2]
    sys.path = [str(tree), *(path for path in sys.path if Path(path).resolve() != ours)]
    for name in [one for one in sys.modules if one.partition(".")[0] in ("app", "tests")]:
        del sys.modules[name]
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    options = ["-q", "-n", "0", "-p", "no:cacheprovider", *(["-x"] if first_alone else [])]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    for tests in stages:
        files = dict.fromkeys(test.partition("::")[0] for test in tests)
        if files:
            code = pytest.main([*options, *files], plugins=[_Only(tests, tree / FAILED_FILE)])
            if code != pytest.ExitCode.OK:
                os._exit(int(code))
    os._exit(0)
