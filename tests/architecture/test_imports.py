"""The direction of imports is checked, not promised."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def run_contracts(folder: Path) -> subprocess.CompletedProcess[str]:
    command = [str(Path(sys.executable).parent / "lint-imports"), "--no-cache"]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_imports_keep_their_direction() -> None:
    result = run_contracts(ROOT)
    assert result.returncode == 0, result.stdout


def test_a_planted_import_of_the_web_in_the_planner_is_caught(tmp_path: Path) -> None:
    for name in ("planner", "app"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / "planner" / "dates.py").open("a", encoding="utf-8") as module:
        module.write("\nfrom app import clock\n")
    result = run_contracts(tmp_path)
    assert result.returncode != 0
    assert "planner.dates" in result.stdout
