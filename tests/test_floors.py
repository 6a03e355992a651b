"""The floors of the house: imports run down only, and what each floor may bring in."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = ("model", "harness_tui", "label_templates")

FLOORS: tuple[tuple[str, ...], ...] = (
    (
        "model.errors",
        "model.values",
        "model.toml_text",
        "model.memo",
        "model.lengths",
        "model.findings",
        "model.cautions",
    ),
    ("model.standards",),
    ("model.tags",),
    ("model.harness",),
    ("model.editing", "model.integrity", "model.starting", "model.lamp_guess", "model.lamp_list"),
    ("model.electrics", "model.routing", "model.labels", "label_templates"),
    ("model.checks", "model.tracing", "model.papers", "model.bench"),
    ("model.store",),
    (
        "harness_tui.session",
        "harness_tui.examples",
        "harness_tui.other_projects",
        "harness_tui.pictures",
        "harness_tui.preferences",
        "harness_tui.printers",
        "harness_tui.printing",
        "harness_tui.projects",
        "harness_tui.stocks",
    ),
    ("harness_tui.widgets",),
    ("harness_tui.screens",),
    ("harness_tui.app", "harness_tui.doors", "harness_tui.keymap", "harness_tui.palette"),
    ("harness_tui.cli", "harness_tui.label_command", "harness_tui.__main__"),
)
"""From the ground up. A module may import from its own floor and from those below."""

NOTHING_IN_THEM = ("model", "harness_tui")
"""Packages whose own `__init__` is empty of imports."""

HEAVY = ("PIL", "qrcode", "fpdf")
SCREEN = ("textual", "rich", "textual_image")
LIGHT_START = ("model.harness", "model.editing", "model.checks")


def modules() -> dict[str, Path]:
    """Every module of the tree by its dotted name."""
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


def floor(module: str) -> int:
    """The floor a module stands on, 0 the ground."""
    for height, names in enumerate(FLOORS):
        if any(module == name or module.startswith(f"{name}.") for name in names):
            return height
    raise AssertionError(f"{module} stands on no floor: give it one in FLOORS")


def at_run_time(tree: ast.AST) -> Iterator[ast.AST]:
    """Every node but those under `if TYPE_CHECKING:`, which only a type checker follows."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING":
            continue
        yield node
        yield from at_run_time(node)


def imports(module: str) -> Iterator[tuple[str, int]]:
    """The modules imported anywhere in a file, also inside functions, with the line."""
    path = MODULES[module]
    package = module if path.name == "__init__.py" else module.rpartition(".")[0]
    for node in at_run_time(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            for name in node.names:
                yield name.name, node.lineno
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                parents = package.split(".")[: len(package.split(".")) - node.level + 1]
                base = ".".join([*parents, *([base] if base else [])])
            for name in node.names:
                inner = f"{base}.{name.name}"
                yield (inner if inner in MODULES else base), node.lineno


def own_imports(module: str) -> Iterator[tuple[str, int]]:
    """As `imports`, only what is of this tree."""
    for name, line in imports(module):
        if name.split(".")[0] in PACKAGES:
            yield name, line


def test_the_tree_is_seen():
    assert {"model.harness", "model.routing.wires", "model.standards.wire"} <= set(MODULES)


@pytest.mark.parametrize("module", sorted(set(MODULES) - set(NOTHING_IN_THEM)))
def test_imports_run_down_only(module: str):
    height = floor(module)
    upward = [
        f"{MODULES[module].relative_to(ROOT)}:{line} imports {name}, which is above it"
        for name, line in own_imports(module)
        if name not in NOTHING_IN_THEM and floor(name) > height
    ]
    assert not upward, "\n".join(upward)


@pytest.mark.parametrize("module", NOTHING_IN_THEM)
def test_a_package_by_itself_imports_nothing(module: str):
    assert list(own_imports(module)) == []


def test_no_modules_import_each_other_in_a_circle():
    graph = {
        module: {name for name, _ in own_imports(module) if name in MODULES} - {module} for module in MODULES
    }
    while leaves := {module for module, below in graph.items() if not below}:
        graph = {module: below - leaves for module, below in graph.items() if module not in leaves}
    assert not graph, f"a circle among {sorted(graph)}"


@pytest.mark.parametrize("module", [name for name in sorted(MODULES) if name.split(".")[0] != "harness_tui"])
def test_the_core_knows_no_terminal(module: str):
    wrong = [f"line {line}: {name}" for name, line in imports(module) if name.split(".")[0] in SCREEN]
    assert not wrong


def calls(module: str) -> Iterator[tuple[str, int]]:
    """Names of what a file calls: `open`, `print`, and the last part of `path.read_text`."""
    for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name):
                yield node.func.id, node.lineno
            elif isinstance(node.func, ast.Attribute):
                yield f".{node.func.attr}", node.lineno


CORE = [name for name in sorted(MODULES) if name.split(".")[0] == "model"]
TOUCHES_FILES = {
    "open",
    ".open",
    ".read_text",
    ".write_text",
    ".read_bytes",
    ".write_bytes",
    ".unlink",
    ".mkdir",
    ".rename",
}
MAY_TOUCH_FILES = ("model.store", "model.labels.stock", "model.labels.sheets")
"""The project file; label stock, packaged and the person's own; label sheets, too big to hold in memory."""


@pytest.mark.parametrize("module", CORE)
def test_nothing_in_the_core_prints_or_asks(module: str):
    wrong = [
        f"line {line}: {name}" for name, line in calls(module) if name in {"print", "input", "breakpoint"}
    ]
    assert not wrong


@pytest.mark.parametrize("module", [name for name in CORE if not name.startswith(MAY_TOUCH_FILES)])
def test_nothing_else_in_the_core_touches_a_file(module: str):
    wrong = [f"line {line}: {name}" for name, line in calls(module) if name in TOUCHES_FILES]
    assert not wrong


def brought_in(*names: str) -> set[str]:
    """The top-level names of all modules that importing `names` in a fresh interpreter brings in."""
    code = f"import {', '.join(names)}, sys; print(*sys.modules)"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert run.returncode == 0, run.stderr
    return {name.split(".")[0] for name in run.stdout.split()}


def test_the_core_starts_light():
    found = brought_in(*LIGHT_START)
    assert "attrs" in found or "attr" in found, "the listing works"
    assert not found & {*SCREEN, *HEAVY}


def test_the_program_starts_without_what_only_labels_and_papers_need():
    assert not brought_in("harness_tui.app") & set(HEAVY)


def test_the_plain_commands_start_without_a_screen():
    assert not brought_in("harness_tui.cli") & {*SCREEN, *HEAVY}
