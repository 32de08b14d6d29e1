"""What import contracts can't say: a module whose name begins with `_` is its own package's."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
MODULES = {
    path.relative_to(ROOT / top).with_suffix("").parts: path
    for top in ("logger", "tui")
    for path in (ROOT / top).rglob("*.py")
}


def private_imports(module, source):
    """The private modules of other packages that a module's source imports."""
    for node in ast.walk(ast.parse(source)):
        names = []
        if isinstance(node, ast.Import):
            names = [one.name for one in node.names]
        elif isinstance(node, ast.ImportFrom):
            names = [f"{node.module}.{one.name}" for one in node.names]
        for name in names:
            parts = name.split(".")
            private = next((i for i, part in enumerate(parts) if part.startswith("_")), None)
            own = private is None or tuple(parts[:private]) == module[:private]
            if not own and tuple(parts[: private + 1]) in MODULES | PACKAGES:
                yield name


PACKAGES = {parts[:-1]: path for parts, path in MODULES.items()}


@pytest.mark.parametrize("module", MODULES, ids=".".join)
def test_no_module_imports_a_private_module_of_another_package(module):
    assert list(private_imports(module, MODULES[module].read_text())) == []


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("from ramphold.store._store import Store", ["ramphold.store._store.Store"]),
        ("from ramphold.store import _store", ["ramphold.store._store"]),
        ("import ramphold.store._store", ["ramphold.store._store"]),
        ("from ramphold.cli._common import show", []),
        ("from ramphold.store import Store", []),
        ("from ramphold import __version__", []),
    ],
)
def test_a_private_import_is_found_wherever_it_stands(source, found):
    assert list(private_imports(("ramphold", "cli", "check"), source)) == found
