"""Tests that are collected once, run against one change in a process forked for it."""

import gc
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, SourceFileLoader
from importlib.util import spec_from_file_location
from inspect import CO_OPTIMIZED
from multiprocessing import connection, get_context
from pathlib import Path
from types import CodeType, FunctionType

import pytest

from tests.tools.tests_by_line import forget_what_is_kept

# A test that takes so much longer than it did runs for ever.
TIMES_LONGER, LONGER_S = 10.0, 90.0
# No file is compiled for later, nothing captured, no other process: each fork is one already.
OPTIONS = ["-qq", "-s", "-n", "0", "--dist", "no", "-p", "no:cacheprovider"]
_FORK = get_context("fork")
_TOLD = "\nfailed: "
OURS = Path(__file__).resolve().parents[2]


class Outcome(StrEnum):
    """What became of a mutation."""

    NOTICED = "noticed"
    TOO_LONG = "noticed by a test that no longer ends"
    UNNOTICED = "noticed by no test"
    NOT_RUN = "run by no test"

    @property
    def noticed(self) -> bool:
        return self in (Outcome.NOTICED, Outcome.TOO_LONG)


@dataclass(frozen=True)
class Change:
    """The text of a module as it is to be."""

    file: str
    source: str

    @property
    def module(self) -> str:
        return self.file.removesuffix(".py").replace("/", ".")


class Runner:
    """Runs tests in their order, those that fail are kept by name."""

    def __init__(self, work: "Callable[[Runner], None] | None" = None) -> None:
        self.items: dict[str, pytest.Item] = {}
        self.failed: list[str] = []
        self._work = work

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.failed.append(report.nodeid)

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {item.nodeid: item for item in session.items}
        if self._work is not None:
            self._work(self)
        return True

    def run(self, names: Sequence[str], first_alone: bool) -> None:
        """Until the first fails, or all."""
        # What a change lets vanish has failed.
        self.failed = [name for name in names if name not in self.items]
        items = [self.items[name] for name in names if name in self.items]
        if self.failed and first_alone:
            return
        for item, following in zip(items, [*items[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.failed and first_alone:
                return


def collected(tree: Path, files: Sequence[str], work: Callable[[Runner], None]) -> None:
    """Collect the tests of these files of a tree in this process, and do the work with them."""
    sys.dont_write_bytecode = True
    before, path = Path.cwd(), sys.path[:]
    sys.path[:] = [str(tree), *(one for one in path if Path(one).resolve() != OURS)]
    os.chdir(tree)
    try:
        code = pytest.main([*OPTIONS, *files], plugins=[Runner(work)])
        if code != pytest.ExitCode.OK:
            raise RuntimeError(f"the tests could not be collected ({code})")
    finally:
        os.chdir(before)
        sys.path[:] = path


class Trial:
    """Some tests against a change, or against none, in a process of their own."""

    def __init__(
        self, runner: Runner, names: Sequence[str], seconds: float, change: Change | None
    ) -> None:
        self._ends_at = time.monotonic() + LONGER_S + TIMES_LONGER * seconds
        self._told, told = _FORK.Pipe(duplex=False)
        self._process = _FORK.Process(target=_try, args=(runner, names, change, told))
        self._process.start()
        told.close()

    @staticmethod
    def first_of(running: "Iterable[Trial]") -> "Trial":
        """The one that ends first, or has run for too long."""
        by = {one._told: one for one in running}
        rest = min(one._ends_at for one in by.values()) - time.monotonic()
        for ended in connection.wait(list(by), max(rest, 0.0)):
            return by[ended]  # type: ignore[index]
        return min(by.values(), key=lambda one: one._ends_at)

    def failed(self) -> list[str] | None:
        """The tests that failed; None where they do not end."""
        try:
            ended = self._told.poll(max(self._ends_at - time.monotonic(), 0.0))
            return list(self._told.recv()) if ended else None
        except EOFError:
            # The process died of the change.
            return [""]
        finally:
            # It leads a group of its own, with the servers that its tests started.
            os.killpg(self._process.pid or os.getpid(), signal.SIGKILL)
            self._process.join()


def _try(
    runner: Runner, names: Sequence[str], change: Change | None, told: connection.Connection
) -> None:
    os.setsid()
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    os.dup2(1, 2)
    if change is not None and not _put_into_functions(change):
        told.send(_tried_anew(names, change))
    else:
        runner.run(names, first_alone=change is not None)
        told.send(runner.failed)
    told.close()
    signal.pause()


def _put_into_functions(change: Change) -> bool:
    """Give the functions of a module their changed code; False where that is not all of it."""
    module = sys.modules.get(change.module)
    if module is None or module.__file__ is None:
        return False
    file = module.__file__
    before = list(_codes(compile(Path(file).read_text(encoding="utf-8"), file, "exec")))
    after = list(_codes(compile(change.source, file, "exec")))
    if _on_import(before) != _on_import(after):
        return False
    new = {(code.co_qualname, code.co_firstlineno): code for code in after}
    changed = 0
    for thing in gc.get_objects():
        if isinstance(thing, FunctionType) and thing.__code__.co_filename == file:
            code = new.get((thing.__code__.co_qualname, thing.__code__.co_firstlineno))
            if code is not None and code != thing.__code__:
                thing.__code__ = code
                changed += 1
    forget_what_is_kept()
    return changed > 0


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for inner in code.co_consts:
        if isinstance(inner, CodeType):
            yield from _codes(inner)


def _on_import(codes: Iterable[CodeType]) -> list[tuple[bytes, list[str]]]:
    """What a module and its classes do when it is imported."""
    return [
        (code.co_code, [repr(one) for one in code.co_consts if not isinstance(one, CodeType)])
        for code in codes
        if not code.co_flags & CO_OPTIMIZED
    ]


@dataclass
class _Changed(MetaPathFinder):
    """Finds the module of a change, and no other."""

    change: Change
    path: str

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        if name != self.change.module:
            return None
        loader = SourceFileLoader(name, self.path)
        code = compile(self.change.source, self.path, "exec")
        loader.get_code = lambda _: code  # type: ignore[method-assign]
        return spec_from_file_location(name, self.path, loader=loader)


def _tried_anew(names: Sequence[str], change: Change) -> list[str]:
    """The same in a new interpreter, in which everything is imported with the change."""
    done = subprocess.run(
        [sys.executable, "-c", f"from {__name__} import try_anew; try_anew()"],
        input=json.dumps([list(names), change.file, change.source]),
        env=os.environ | {"PYTHONPATH": f"{Path.cwd()}{os.pathsep}{OURS}"},
        capture_output=True,
        text=True,
        check=False,
    )
    told = done.stdout.rpartition(_TOLD)[2]
    return [str(name) for name in json.loads(told)] if done.returncode == 0 else [""]


def try_anew() -> None:
    """What the new interpreter does; the tests and the change come in, and what failed goes out."""
    sys.dont_write_bytecode = True
    names, file, source = json.load(sys.stdin)
    change = Change(file, source)
    sys.meta_path.insert(0, _Changed(change, str(Path.cwd() / file)))
    again = Runner(lambda runner: runner.run(names, first_alone=True))
    files = dict.fromkeys(name.partition("::")[0] for name in names)
    code = pytest.main([*OPTIONS, *files], plugins=[again])
    # A module that cannot be imported any more fails in no test of its own.
    failed = again.failed or ([] if code == pytest.ExitCode.OK else [""])
    print(f"{_TOLD}{json.dumps(failed)}")
