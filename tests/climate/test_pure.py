"""The science stands alone: no framework in it, and every public function says its units, range and source."""

import ast
import inspect
import pkgutil
from importlib import import_module
from pathlib import Path

import pytest

from locations.climate import science

MODULES = [f"{science.__name__}.{module.name}" for module in pkgutil.iter_modules(science.__path__)]
#: what only carries others' numbers
PLUMBING = {"values", "tables"}


@pytest.mark.parametrize("name", MODULES)
def test_nothing_but_numpy_and_the_standard_library(name: str) -> None:
    tree = ast.parse(Path(import_module(name).__file__ or "").read_text(encoding="utf-8"))
    named = {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    named |= {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    foreign = {one for one in named if one.split(".")[0] in ("django", "scipy", "pandas") or (one.startswith("locations") and "climate.science" not in one)}
    assert not foreign


@pytest.mark.parametrize("name", MODULES)
def test_public_functions_are_documented(name: str) -> None:
    module = import_module(name)
    public = [one for key, one in vars(module).items() if inspect.isfunction(one) and one.__module__ == name and not key.startswith("_")]
    silent = [one.__name__ for one in public if not inspect.getdoc(one)]
    assert not silent or name.rsplit(".", 1)[1] in PLUMBING


def test_every_topic_is_exported() -> None:
    assert {name.rsplit(".", 1)[1] for name in MODULES} - {"values"} == set(science.__all__) - {"NoValue"}
