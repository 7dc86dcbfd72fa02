"""The packages stand in layers, and each imports only from those above it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "src"

# The public functions of `tellback` itself; the faces stand on them.
ROOT = "tellback"

# From the top; what stands on one line does not import from one another.
LAYERS = (
    ("units", "names", "characters", "diagnostics", "lifeline", "caution"),
    ("refusals", "processes"),
    ("files",),
    ("book",),
    ("logic",),
    ("motion",),
    ("physics",),
    ("questions",),
    ("recall",),
    ("records",),
    ("draw",),
    (ROOT,),
    ("web", "cli"),
    ("__main__",),
)
DEPTH = {package: depth for depth, line in enumerate(LAYERS) for package in line}

# Above it, and still not for it: the numbers behind the rules know nothing of the logic.
NOT_FOR = {"physics": frozenset({"logic", "motion"})}

MODULES = sorted(SOURCE.glob("tellback/**/*.py"))


def module_name(path: Path) -> tuple[str, ...]:
    """The dotted name in parts; a package is named with its `__init__`, so `..` counts right."""
    return path.relative_to(SOURCE).with_suffix("").parts


def package_of(parts: tuple[str, ...]) -> str:
    """The package of `tellback` that a module belongs to, or `tellback` for its own `__init__`."""
    return parts[1] if len(parts) > 1 and parts[1] != "__init__" else ROOT


def imported(tree: ast.AST, module: tuple[str, ...]) -> Iterator[tuple[str, int]]:
    """Each package of `tellback` that is imported anywhere in the tree, with its line."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            targets = [tuple(alias.name.split(".")) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = module[: -node.level] if node.level else ()
            base += tuple(node.module.split(".")) if node.module else ()
            targets = [(*base, alias.name) for alias in node.names]
        else:
            continue
        for target in targets:
            if target[0] == ROOT:
                known = len(target) > 2 or (len(target) == 2 and target[1] in DEPTH)
                yield (target[1] if known else ROOT), node.lineno


def may_import(importer: str, target: str) -> bool:
    """Whether the layers allow it."""
    if importer == target:
        return True
    above = target in DEPTH and DEPTH[target] < DEPTH[importer]
    return above and target not in NOT_FOR.get(importer, ())


def breaches(text: str, module: tuple[str, ...]) -> list[str]:
    """What a module imports against the layers, in words."""
    importer = package_of(module)
    return [
        f"{'/'.join(module)}.py:{line}: {importer} imports from {target}, not above it"
        for target, line in imported(ast.parse(text), module)
        if not may_import(importer, target)
    ]


def test_there_are_modules_to_look_at() -> None:
    assert SOURCE / "tellback" / "__init__.py" in MODULES


def test_every_package_has_its_layer() -> None:
    assert {package_of(module_name(path)) for path in MODULES} <= set(DEPTH)


@pytest.mark.parametrize("path", MODULES, ids=lambda path: "/".join(module_name(path)[1:]))
def test_imports_only_from_above(path: Path) -> None:
    assert breaches(path.read_text(encoding="utf-8"), module_name(path)) == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("book/reader", "from tellback.diagnostics import Place"),
        ("book/reader", "from tellback.book.model import Book"),
        ("book/reader", "from .model import Book"),
        ("book/reader", "from . import model"),
        ("book/__init__", "from .model import Book"),
        ("logic/ways", "from ..book import model"),
        ("cli/main", "import tellback as tb"),
        ("cli/main", "from tellback import read"),
        ("__init__", "from tellback.logic import ways"),
        ("physics/climb", "from tellback import units"),
        ("book/reader", "import yaml"),
    ],
)
def test_allowed(module: str, text: str) -> None:
    assert breaches(text, ("tellback", *module.split("/"))) == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("book/reader", "from tellback.logic import ways"),
        ("book/reader", "from tellback import logic"),
        ("book/reader", "import tellback.logic.ways"),
        ("book/reader", "import tellback"),
        ("book/reader", "from tellback import read"),
        ("book/reader", "from ..logic import ways"),
        ("book/__init__", "from ..logic import ways"),
        ("book/reader", "def late():\n    from tellback.motion import run"),
        ("book/reader", "from tellback.unheard_of import thing"),
        ("names", "from .units import metre"),
        ("cli/main", "from tellback.web import app"),
        ("physics/climb", "from tellback.logic import ways"),
        ("__init__", "from tellback.cli import main"),
    ],
)
def test_refused(module: str, text: str) -> None:
    assert len(breaches(text, ("tellback", *module.split("/")))) == 1
