"""How the code is built, in figures: length, complexity, annotations, circles, repeated runs.

Run by hand: python -m tests.tools.structure_table
Files are counted as they stand in git. Complexity is McCabe's, as ruff counts it (C901).
"""

import ast
import json
import statistics
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
KINDS = {
    "app": "app/*.py",
    "tests": "tests/*.py",
    "templates": "templates/*.html",
    "static": "static/*.[cj]s*",
}
LONG_FILE, MAX_COMPLEX, RUN = 300, 10, 6
Function = ast.FunctionDef | ast.AsyncFunctionDef


def tracked(pattern: str) -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", pattern], cwd=ROOT, check=True, capture_output=True, text=True
    )
    # What is made by a tool is nobody's to read.
    return [ROOT / name for name in listed.stdout.splitlines() if "chart-library" not in name]


def functions(path: Path) -> Iterator[Function]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, Function):
            yield node


def length(function: Function) -> int:
    return (function.end_lineno or function.lineno) - function.lineno + 1


def is_annotated(function: Function) -> bool:
    given = function.args
    named = [*given.posonlyargs, *given.args, *given.kwonlyargs, given.vararg, given.kwarg]
    needed = [one for one in named if one is not None and one.arg not in ("self", "cls")]
    return function.returns is not None and all(one.annotation for one in needed)


def too_complex(folder: str) -> int:
    command = [sys.executable, "-m", "ruff", "check", "--select", "C901", "--output-format", "json"]
    asked = [*command, "--config", f"lint.mccabe.max-complexity={MAX_COMPLEX}", folder]
    found = subprocess.run(asked, cwd=ROOT, check=False, capture_output=True, text=True)
    return len(json.loads(found.stdout))


def imported(path: Path) -> set[str]:
    """The modules of the program that this one names, also those for types alone."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return found


def circles(paths: list[Path]) -> int:
    """Groups of modules that import each other in a circle (Tarjan's components)."""
    names = {".".join(path.relative_to(ROOT).with_suffix("").parts): path for path in paths}
    leads = {name: imported(path) & names.keys() - {name} for name, path in names.items()}
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found = 0

    def visit(name: str) -> None:
        nonlocal found
        order[name] = low[name] = len(order)
        stack.append(name)
        for other in leads[name]:
            if other not in order:
                visit(other)
            if other in stack:
                low[name] = min(low[name], low[other])
        if low[name] == order[name]:
            group = [stack.pop()]
            while group[-1] != name:
                group.append(stack.pop())
            found += len(group) > 1

    for name in names:
        if name not in order:
            visit(name)
    return found


def repeated_runs(paths: list[Path]) -> int:
    """Runs of six lines, the same to the letter but for indentation, in more than one place."""
    places: dict[tuple[str, ...], int] = defaultdict(int)
    for path in paths:
        lines = [line.strip() for line in path.read_text().splitlines()]
        lines = [line for line in lines if line and not line.startswith(("import ", "from "))]
        for first in range(len(lines) - RUN + 1):
            places[tuple(lines[first : first + RUN])] += 1
    return sum(count > 1 for count in places.values())


def rows(kind: str, paths: list[Path]) -> Iterator[tuple[str, str, str]]:
    sizes = [len(path.read_text().splitlines()) for path in paths]
    long = sum(size > LONG_FILE for size in sizes)
    yield kind, "files, lines", f"{len(paths)}, {sum(sizes):,}"
    yield kind, f"files over {LONG_FILE} lines", f"{long} ({100 * long / len(paths):.1f} %)"
    yield kind, f"repeated runs of {RUN} lines", str(repeated_runs(paths))
    if paths[0].suffix != ".py":
        return
    all_functions = [one for path in paths for one in functions(path)]
    lengths = [length(one) for one in all_functions]
    tenth = statistics.quantiles(lengths, n=10)[-1]
    yield (
        kind,
        "functions; 90th percentile of lines, longest",
        (f"{len(lengths):,}; {tenth:.0f}, {max(lengths)}"),
    )
    annotated = sum(map(is_annotated, all_functions))
    yield kind, "annotated functions", f"{100 * annotated / len(lengths):.1f} %"
    yield kind, f"functions of complexity over {MAX_COMPLEX}", str(too_complex(kind))
    yield kind, "import circles", str(circles(paths))


def main() -> None:
    print("| where | what | measured |\n|---|---|---|")
    for kind, pattern in KINDS.items():
        for row in rows(kind, tracked(pattern)):
            print("| " + " | ".join(row) + " |")


if __name__ == "__main__":
    main()
