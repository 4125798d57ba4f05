"""Which tests run which line: measured once, then for the test files alone that have changed.

Also the plugin of pytest that writes down how long each test took.
"""

import hashlib
import json
import os
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from coverage import CoverageData

SECONDS_FILE = "seconds.json"


@dataclass(eq=False)
class Passed:
    """How long each test took that passed, its fixtures included."""

    seconds: defaultdict[str, float] = field(default_factory=lambda: defaultdict(float))
    others: set[str] = field(default_factory=set)

    def pytest_runtest_setup(self) -> None:
        """Each test runs all the lines that it hangs on."""
        forget_what_is_kept()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.seconds[report.nodeid] += report.duration
        if not report.passed:
            self.others.add(report.nodeid)

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if hasattr(session.config, "workerinput"):
            return
        kept = {name: took for name, took in self.seconds.items() if name not in self.others}
        (session.config.rootpath / SECONDS_FILE).write_text(json.dumps(kept))


def forget_what_is_kept() -> None:
    """What functions of ours keep from an earlier call."""
    for name, module in list(sys.modules.items()):
        if name.startswith("app."):
            for thing in list(vars(module).values()):
                if hasattr(thing, "cache_clear"):
                    thing.cache_clear()


def pytest_configure(config: pytest.Config) -> None:
    config.pluginmanager.register(Passed())


def is_test(file: str) -> bool:
    return Path(file).match("test_*.py")


def digest(tree: Path, files: Iterable[str]) -> str:
    """One word for the content of all these files."""
    whole = hashlib.sha256()
    for file in sorted(files):
        whole.update(f"{file}\0".encode() + hashlib.sha256((tree / file).read_bytes()).digest())
    return whole.hexdigest()[:20]


class TestsByLine:
    """What is known of a tree, in a folder that is kept for its next time."""

    __test__ = False

    def __init__(self, tree: Path, kept: Path, files: Sequence[str], test_files: Sequence[str]):
        others = [
            file
            for file in files
            if not is_test(file) and not file.startswith("tests/tools/") and file[-3:] != ".md"
        ]
        self._tree, self._folder = tree, kept / digest(tree, others)
        self._folder.mkdir(parents=True, exist_ok=True)
        self._wanted = {file: digest(tree, [file]) for file in test_files}
        self.seconds: dict[str, float] = {}
        self._parts: list[tuple[CoverageData, set[str]]] = []
        for part in sorted(self._folder.glob("*.json")):
            self._read(part)

    def _read(self, part: Path) -> None:
        written = json.loads(part.read_text())
        known = set(written["files"].items()) & set(self._wanted.items())
        files = {file for file, _ in known} - {file for _, had in self._parts for file in had}
        data = CoverageData(str(part.with_suffix(".coverage")))
        data.read()
        self._parts.append((data, files))
        self.seconds |= {
            name: took for name, took in written["seconds"].items() if _file(name) in files
        }

    @property
    def unknown(self) -> list[str]:
        had = {file for _, files in self._parts for file in files}
        return sorted(set(self._wanted) - had)

    def measure(self, jobs: int) -> None:
        """Run the tests that are not known yet, in the tree."""
        files = self.unknown
        if not files:
            return
        (self._tree / ".coveragerc").write_text("[run]\nrelative_files = true\n")
        command = f"pytest -q -n {jobs} --dist worksteal -p {__name__} --cov=app"
        command += " --cov-config=.coveragerc --cov-context=test --cov-report="
        there = os.environ | {"PYTHONPATH": str(self._tree)}
        asked = [sys.executable, "-m", *command.split(), *files]
        subprocess.run(asked, cwd=self._tree, env=there, check=False)
        part = self._folder / f"{digest(self._tree, files)}.json"
        (self._tree / ".coverage").rename(part.with_suffix(".coverage"))
        seconds = json.loads((self._tree / SECONDS_FILE).read_text())
        known = {file: self._wanted[file] for file in files}
        part.write_text(json.dumps({"files": known, "seconds": seconds}))
        self._read(part)

    def of(self, file: str, line: int) -> list[str]:
        """The tests that run a line. Of one that is run once for several (on import, in a fixture),
        all those of its module and of the modules that import it."""
        ran, shared = self._running(file, line)
        if shared:
            for other in [file, *self._importing(file, "app")]:
                ran |= self._running(other, None)[0]
        return sorted(ran)

    def _running(self, file: str, line: int | None) -> tuple[set[str], bool]:
        """Tests that run a line, or any; and whether it is run outside of a test."""
        found = [
            context.rpartition("|")
            for data, _ in self._parts
            for at, contexts in data.contexts_by_lineno(file).items()
            if line in (None, at)
            for context in contexts
        ]
        tests = {test for test, _, phase in found if test in self.seconds and phase == "run"}
        return tests, any(phase != "run" for _, _, phase in found)

    def tests_importing(self, file: str) -> set[str]:
        """The test files that import a module by its name."""
        return set(self._importing(file, "tests"))

    def _importing(self, file: str, where: str) -> Iterator[str]:
        name = file.removesuffix(".py").replace("/", ".")
        for other in sorted((self._tree / where).rglob("*.py")):
            if f"from {name} import" in other.read_text(encoding="utf-8"):
                yield str(other.relative_to(self._tree))


def _file(test: str) -> str:
    return test.partition("::")[0]
