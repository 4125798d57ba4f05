"""The arrows between the layers are the only imports allowed."""

import ast
import sys
from collections import Counter
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

import app

pytestmark = pytest.mark.any_database

ROOT = Path(app.__file__).parent
ALLOWED = {
    "domain": set(),
    "analysis": {"domain"},
    "ingest": {"domain"},
    "archive": {"domain"},
    "storage": {"domain"},
    "services": {"storage", "archive", "ingest", "analysis", "domain"},
    "charts": {"analysis", "domain"},
    "languages": {"domain"},
    # Where the templates and static files lie is a setting.
    "web": {"services", "charts", "analysis", "languages", "domain", "settings"},
}
OUTSIDE = {
    "domain": set(),
    "analysis": {"numpy", "scipy"},
    "ingest": {"numpy", "PIL", "python_calamine"},
    "archive": set(),
    "storage": {"sqlmodel", "sqlalchemy", "alembic", "psycopg"},
    "services": {"sqlmodel", "sqlalchemy", "argon2"},
    # The one of photos draws the picture of a link.
    "charts": {"numpy", "PIL"},
    "languages": {"babel"},
    "web": {"fastapi", "starlette", "jinja2", "markupsafe", "pydantic", "segno"},
}
STANDARD = sys.stdlib_module_names


def imports(path):
    for node in ast.walk(ast.parse(path.read_text())):
        yield from imported(node)


def imported(node):
    if isinstance(node, ast.Import):
        yield from (alias.name for alias in node.names)
    elif isinstance(node, ast.ImportFrom) and node.module:
        yield node.module
        yield from (f"{node.module}.{alias.name}" for alias in node.names)


@pytest.mark.parametrize("layer", ALLOWED)
def test_a_layer_imports_only_what_lies_below_it(layer):
    wrong = []
    for path in (ROOT / layer).rglob("*.py"):
        for name in imports(path):
            parts = name.split(".")
            if parts[0] == "app":
                target = parts[1]
                fine = target == layer or target in ALLOWED[layer]
            else:
                fine = parts[0] in STANDARD or parts[0] in OUTSIDE[layer] | {"_typeshed"}
            if not fine:
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert wrong == []


def test_what_most_starts_do_not_need_is_imported_when_it_is_needed():
    """Its module says when that is."""
    found = [
        (str(path.relative_to(ROOT)), name)
        for path in ROOT.rglob("*.py")
        for node in ast.parse(path.read_text()).body
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in imported(node)
        if name.partition(".")[0] in ("alembic", "babel", "scipy")
    ]
    assert found == []


def test_packages_hold_no_code_of_their_own():
    """What they hold is what they are for."""
    bodies = {p: ast.parse(p.read_text()).body for p in ROOT.rglob("__init__.py")}
    assert [p for p, body in bodies.items() if len(body) > 1] == []


def test_the_rooms_of_the_computation_import_one_another_in_one_direction():
    order = [
        "statistics",
        "counting",
        "corrections",
        "evidence",
        "plausibility",
        "fade",
        "ageing",
        "projection",
        "battery",
        "test_day",
        "nights",
        "heat",
        "warranty",
        "comparison",
        "reports",
    ]
    rooms = ROOT / "analysis"
    assert {path.parent.name for path in rooms.glob("*/*.py")} == set(order)
    wrong = [
        f"{path.relative_to(rooms)} imports {name}"
        for path in rooms.glob("*/*.py")
        for name in imports(path)
        if name.startswith("app.analysis.")
        and order.index(name.split(".")[2]) > order.index(path.parent.name)
    ]
    assert wrong == []


def room_of(name):
    """The folder of a module by its dotted name; a name of something in a module is none."""
    path = ROOT.parent / name.replace(".", "/")
    return str(path.parent.relative_to(ROOT)) if path.with_suffix(".py").exists() else None


def test_no_two_rooms_import_one_another_in_a_circle():
    """A room is a folder with modules. The settings at the root are everybody's."""
    leads = {}
    for path in ROOT.rglob("*.py"):
        room = str(path.parent.relative_to(ROOT))
        leads.setdefault(room, set()).update(
            other for name in imports(path) if (other := room_of(name)) not in (None, room, ".")
        )
    # A circle is an error of the sorter, which names it.
    order = list(TopologicalSorter(leads).static_order())
    assert order.index("domain/i18n") < order.index("analysis/evidence") < order.index("web/pages")


def test_no_room_holds_more_modules_than_one_overlooks():
    rooms = Counter(path.parent for path in ROOT.rglob("*.py") if path.name != "__init__.py")
    full = {str(room.relative_to(ROOT)): n for room, n in rooms.items() if n > 25}
    advice = (
        "move modules that belong together into a folder below, as app/charts/small: it may import "
        "what is above it only if nothing above imports it"
    )
    assert full == {}, advice


def test_files_stay_short_enough_to_read():
    long = {p.name: n for p in ROOT.rglob("*.py") if (n := len(p.read_text().splitlines())) > 300}
    assert long == {}
