"""The direction of imports is checked, not promised."""

from __future__ import annotations

import ast
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def run_contracts(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_imports_keep_their_direction() -> None:
    result = run_contracts(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize(
    ("module", "planted", "broken"),
    [
        ("planner/dates.py", "from app import clock", "the planner is pure"),
        ("planner/dates.py", "import sqlmodel", "the planner is pure"),
        ("app/models.py", "from app import services", "the application's layers"),
        ("app/services.py", "from app import main", "the application's layers"),
    ],
)
def test_a_planted_import_against_the_direction_is_caught(
    tmp_path: Path, module: str, planted: str, broken: str
) -> None:
    for name in ("planner", "app"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / module).open("a", encoding="utf-8") as file:
        file.write(f"\n{planted}\n")
    result = run_contracts(tmp_path)
    assert result.returncode != 0
    assert f"{broken} BROKEN" in result.stdout
    assert module.removesuffix(".py").replace("/", ".") in result.stdout


NEVER_IN_THE_PLANNER = {"random", "secrets", "today", "now", "utcnow", "monotonic", "perf_counter"}


def chance_or_clock(source: str) -> set[str]:
    """Names in a module that stand for chance or for the clock."""
    names = {node.attr for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Attribute)}
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names |= {part for alias in node.names for part in alias.name.split(".")}
            names |= set((getattr(node, "module", None) or "").split("."))
    return names & NEVER_IN_THE_PLANNER


def test_the_planner_has_neither_chance_nor_clock() -> None:
    modules = sorted((ROOT / "planner").rglob("*.py"))
    assert modules
    found = {path.name: chance_or_clock(path.read_text(encoding="utf-8")) for path in modules}
    assert not {name: names for name, names in found.items() if names}


@pytest.mark.parametrize(
    "planted",
    ["np.random.default_rng(1)", "from random import gauss", "x = datetime.now()"],
)
def test_planted_chance_or_clock_is_caught(planted: str) -> None:
    assert chance_or_clock(planted)
