"""The import graph of the house: each part may import what stands before it, never what stands after."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
#: from the ground up; `museum` alone stands for ids, clock, errors, env and prepared
ORDER = [
    "museum",
    "museum.history",
    "museum.people",
    "museum.jobs",
    "museum.papers",
    "museum.web",
    "collection.objects",
    "conservation.rules",
    "locations.places",
    "locations.climate",
    "conservation.checks",
    "conservation.treatments",
    "collection.exchange",
    "reports",
    "museum.desk",
]
#: settings, addresses and the worker's schedule stand above all; the supervisor stands beside the program
ABOVE = {"museum.settings", "museum.urls", "museum.celery", "museum.wsgi", "museum.supervisor"}


def room_of(module: str) -> str | None:
    """The part of the house a module belongs to; None for what is not of the house."""
    if any(module == name or module.startswith(name + ".") for name in ABOVE):
        return None
    named = [room for room in ORDER if module == room or module.startswith(room + ".")]
    return max(named, key=len, default=None)


def modules() -> Iterator[tuple[str, Path]]:
    for top in ("museum", "collection", "conservation", "locations", "reports"):
        for path in sorted((ROOT / top).rglob("*.py")):
            if "migrations" not in path.parts:
                yield ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"), path


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module
            yield from (f"{node.module}.{name.name}" for name in node.names)


@pytest.mark.parametrize(("module", "path"), [pytest.param(m, p, id=m) for m, p in modules()])
def test_imports_point_down(module: str, path: Path) -> None:
    room = room_of(module)
    if room is None or module == "museum":
        return
    upward = {other for name in imported(ast.parse(path.read_text())) if (other := room_of(name)) and ORDER.index(other) > ORDER.index(room)}
    assert not upward, f"{module} imports from above itself: {sorted(upward)}"


@pytest.mark.parametrize(("module", "path"), [pytest.param(m, p, id=m) for m, p in modules()])
def test_no_import_hides_in_a_function(module: str, path: Path) -> None:
    # The framework offers no other place than `ready` for what needs the models; arrows hold there too.
    tree = ast.parse(path.read_text())
    hidden = [
        f"{path.name}:{inner.lineno}"
        for node in ast.walk(tree)
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)) and not (path.name == "apps.py" and node.name == "ready")
        for inner in ast.walk(node)
        if isinstance(inner, (ast.Import, ast.ImportFrom)) and room_of(getattr(inner, "module", None) or "") is not None
    ]
    assert not hidden
