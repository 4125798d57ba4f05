"""What the guides name is there: files, modules, functions and tests. They stay short, too."""

import ast
import importlib
import importlib.util
import re
from functools import cache
from pathlib import Path

import pytest

import app

pytestmark = pytest.mark.any_database

ROOT = Path(app.__file__).parents[1]
GUIDES = ("DEVELOPERS.md", "app/server/README.md", "tests/README.md", "tests/web/SECURITY.md")
PACKAGES = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "app").rglob("__init__.py"))
TEXTS = {name: (ROOT / name).read_text() for name in (*GUIDES, *PACKAGES)}
FOLDERS = r"(?:app|tests|templates|static|migrations|\.ci)"
OURS = re.compile(rf"(?<![\w/.])({FOLDERS}/[\w./-]*[\w/]|[A-Z]+\.md|pyproject\.toml)(?:::(\w+))?")
DOTTED = re.compile(r"(?<![\w/.])((?:app|tests)(?:\.\w+)+)(?![\w/(]|\.\w)")


def in_backticks(text):
    """What stands in backticks within lines, and what is a block of commands."""
    blocks = re.findall(r"^```sh\n(.*?)^```", text, re.DOTALL | re.MULTILINE)
    return [*re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", text, flags=re.DOTALL)), *blocks]


def said_in(name):
    """What a guide says of code: what it marks as code, or a whole docstring."""
    return in_backticks(TEXTS[name]) if name.endswith(".md") else [TEXTS[name]]


def has_dotted(name):
    """Whether a dotted name is a module or something in one."""
    *before, last = name.split(".")
    above = importlib.import_module(before[0])
    for part in before[1:]:
        # Either a package or module, or something in one.
        inside = f"{above.__name__}.{part}" if hasattr(above, "__path__") else ""
        is_module = inside and importlib.util.find_spec(inside)
        above = importlib.import_module(inside) if is_module else getattr(above, part, None)
    if hasattr(above, last):
        return True
    # A tool that needs a package of its own is there without being imported.
    return hasattr(above, "__path__") and importlib.util.find_spec(name) is not None


@cache
def words_of_the_code():
    files = [path for path in (ROOT / "app").rglob("*.py") if path.name != "__init__.py"]
    files += [*(ROOT / "templates").rglob("*.html"), *(ROOT / "static").glob("*.js")]
    files += [*(ROOT / "tests" / "tools").glob("*.py"), ROOT / "pyproject.toml"]
    files += (ROOT / "tests" / "benchmarks").glob("*.py")
    names = {path.stem for path in files} | {path.parent.name for path in files}
    return names.union(*(re.findall(r"\w+", path.read_text()) for path in files))


@pytest.mark.parametrize("name", TEXTS)
def test_files_that_are_named_are_there(name):
    missing = []
    for said in said_in(name):
        for path, test in OURS.findall(said):
            # The reader puts a number there.
            path = path.removesuffix("NNNN")
            there = (ROOT / path).exists()
            if not there or (test and f"def {test}(" not in (ROOT / path).read_text()):
                missing.append(f"{path}::{test}" if test else path)
    assert missing == []


@pytest.mark.parametrize("name", TEXTS)
def test_names_with_dots_can_be_imported(name):
    dotted = {one for said in said_in(name) for one in DOTTED.findall(said)}
    assert {one for one in dotted if not has_dotted(one)} == set()


@pytest.mark.parametrize("name", [*PACKAGES, "DEVELOPERS.md"])
def test_names_in_backticks_are_names_of_the_code(name):
    """A bare name, such as `SecurityMiddleware` or `battery.trend`: each of its parts is there."""
    known = words_of_the_code()
    bare = [one for one in in_backticks(TEXTS[name]) if re.fullmatch(r"[A-Za-z_][\w.]*", one)]
    bare = [one for one in bare if not one.endswith((".md", ".toml", ".py"))]
    assert [one for one in bare if not set(one.split(".")) <= known | {"app", "tests"}] == []


@pytest.mark.parametrize("name", PACKAGES)
def test_every_package_says_what_it_is_for(name):
    assert ast.get_docstring(ast.parse(TEXTS[name]))


def test_the_guide_stays_short():
    """It is read at one sitting. What goes on about one package belongs into its docstring."""
    assert len(TEXTS["DEVELOPERS.md"].encode()) <= 14_000
