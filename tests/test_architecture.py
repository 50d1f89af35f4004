"""What may import what, how long a file may be, and what may lie at the top level."""

from __future__ import annotations

import ast
import re
import subprocess
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
LONGEST_FILE_LINES = 300
LONGER_FILES_LINES = {
    "optimiser/cafe.py": 350,  # a list of small classes, one fact each
}
TOP_LEVEL = {
    "README.md",
    "DEVELOPERS.md",
    "pyproject.toml",
    "app.py",
    "optimiser",
    "sample_data",
    "tests",
}
LEFT_BY_RUNNING = {"__pycache__", "plan_out"}
IMPORTED_ONLY_BY = {
    "pulp": ("optimiser.lp",),
    "highspy": ("optimiser.solver", "optimiser.small_solver"),
    "pandas": ("optimiser.tables", "optimiser.store", "optimiser.reports", "optimiser.ui"),
    "streamlit": ("optimiser.ui", "app"),
}
SOLVER_FREE = ("optimiser.verify", "optimiser.tables", "optimiser.reports", "optimiser.rules")
SOLVER_SIDE = {
    "pulp",
    "highspy",
    "scipy",
    "optimiser.lp",
    "optimiser.solver",
    "optimiser.small_solver",
    "optimiser.model",
}
MACHINE_PATH = re.compile(
    r"(?<![\w.~/-])/(?:home|Users|root|work|mnt|tmp|var|private)/\w|\b[A-Z]:\\(?:Users|work)"
)


@cache
def tracked() -> tuple[str, ...]:
    """Paths of the project's files; without git, of all files but those that runs leave."""
    asked = subprocess.run(
        ["git", "ls-files", "-z", "--cached"], cwd=ROOT, capture_output=True, text=True
    )
    if asked.returncode == 0 and asked.stdout:
        listed = (name for name in asked.stdout.split("\0") if name)
        return tuple(name for name in listed if (ROOT / name).is_file())
    found = (path.relative_to(ROOT) for path in ROOT.rglob("*") if path.is_file())
    return tuple(
        path.as_posix()
        for path in found
        if not LEFT_BY_RUNNING & set(path.parts)
        and not any(part.startswith(".") for part in path.parts[:-1])
    )


def imports(tree: ast.AST, package: str) -> set[str]:
    """Everything imported anywhere in a module of `package`, as full dotted names.

    `from a import b` counts as a and as a.b: b may be a module of its own.
    """
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            parents = package.split(".")
            above = parents[: len(parents) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            found |= {base} | {f"{base}.{alias.name}" for alias in node.names}
    return found


def package_of(module: str) -> str:
    """Where a module's relative imports start."""
    is_package = (ROOT / module.replace(".", "/")).is_dir()
    return module if is_package else module.rpartition(".")[0]


def only_for_types(node: ast.AST) -> bool:
    """Whether this is `if TYPE_CHECKING:`, which never runs."""
    return isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")


@cache
def modules() -> dict[str, ast.Module]:
    """Dotted name -> syntax tree of optimiser/ and app.py."""
    found = {}
    for path in [*sorted((ROOT / "optimiser").rglob("*.py")), ROOT / "app.py"]:
        if path.is_file():
            parts = path.relative_to(ROOT).with_suffix("").parts
            name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
            found[name] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def running_imports(module: str) -> set[str]:
    """What a module imports when it is loaded or one of its functions runs."""
    ahead: list[ast.AST] = [modules()[module]]
    done: set[str] = set()
    while ahead:
        node = ahead.pop()
        if isinstance(node, ast.Import | ast.ImportFrom):
            done |= imports(node, package_of(module))
        else:
            ahead += [child for child in ast.iter_child_nodes(node) if not only_for_types(child)]
    return done


def reached_from(start: str) -> set[str]:
    """`start` and all that it may load, as far as the project's modules go."""
    reached: set[str] = set()
    ahead = [start]
    while ahead:
        name = ahead.pop()
        if name in reached:
            continue
        reached.add(name)
        if name in modules():
            ahead += running_imports(name)
        if "." in name:
            ahead.append(name.rpartition(".")[0])  # importing a.b runs a first
    return reached


def belongs(module: str, places: tuple[str, ...]) -> bool:
    """Whether a module is one of these places or lies inside one."""
    return any(module == place or module.startswith(place + ".") for place in places)


@pytest.mark.parametrize("package", IMPORTED_ONLY_BY)
def test_a_heavy_package_is_imported_only_where_it_belongs(package):
    users = {
        name
        for name, tree in modules().items()
        if any(belongs(one, (package,)) for one in imports(tree, package_of(name)))
    }
    assert {name for name in users if not belongs(name, IMPORTED_ONLY_BY[package])} == set()


def test_pulp_and_highspy_are_in_use_so_that_their_rule_means_something():
    assert "pulp" in imports(modules()["optimiser.lp"], "optimiser")
    assert "highspy" in imports(modules()["optimiser.solver"], "optimiser")


@pytest.mark.parametrize("module", SOLVER_FREE)
def test_what_judges_a_plan_or_reads_a_folder_reaches_no_solver(module):
    reached = {name for name in reached_from(module) if belongs(name, tuple(SOLVER_SIDE))}
    assert module in modules() and reached == set()


def test_the_search_through_imports_finds_a_solver_where_there_is_one():
    assert "highspy" in reached_from("optimiser.planner")


def test_an_import_is_seen_in_whatever_way_it_is_written():
    tree = ast.parse("def f():\n from .. import lp\n import pulp as p\n from highspy import cb")
    seen = imports(tree, "optimiser.rules")
    assert {"optimiser.lp", "pulp", "highspy"} <= seen
    assert "optimiser.model" in imports(ast.parse("from .model import Model"), "optimiser")


def test_no_python_file_is_too_long_to_read():
    lengths = {
        name: len((ROOT / name).read_text(encoding="utf-8").splitlines())
        for name in tracked()
        if name.endswith(".py") and name.startswith(("optimiser/", "app.py"))
    }
    allowed = {name: LONGER_FILES_LINES.get(name, LONGEST_FILE_LINES) for name in lengths}
    assert {name: n for name, n in lengths.items() if n > allowed[name]} == {}
    assert lengths


def test_only_the_agreed_names_lie_at_the_top_level():
    top = {name.split("/")[0] for name in tracked()}
    assert {name for name in top if not name.startswith(".")} <= TOP_LEVEL


def test_no_file_names_a_path_of_somebodys_machine():
    found = []
    for name in tracked():
        try:
            text = (ROOT / name).read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # a picture, a workbook
        lines = enumerate(text.splitlines(), 1)
        found += [f"{name}:{n}: {line}" for n, line in lines if MACHINE_PATH.search(line)]
    assert found == []


def test_the_pattern_of_machine_paths_knows_one():
    path = "\x2fhome\x2fanna"  # spelt so that this file does not name it
    assert MACHINE_PATH.search(f"see {path}.txt") and not MACHINE_PATH.search("at home/anna")
