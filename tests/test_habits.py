"""Lint, format, types, import arrows and migrations, as tests like any other."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
HABITS = {
    "ruff finds nothing": [BIN / "ruff", "check", "."],
    "ruff would format nothing": [BIN / "ruff", "format", "--check", "."],
    "djlint finds nothing": [BIN / "djlint", "--lint", "--quiet", "templates"],
    "imports follow the arrows": [BIN / "lint-imports"],
    "types hold": [BIN / "mypy"],
    "no migration is missing": [
        sys.executable,
        "manage.py",
        "makemigrations",
        "--check",
        "--dry-run",
    ],
}


@pytest.mark.parametrize("habit", HABITS)
def test_the_tree_keeps_its_habits(habit: str) -> None:
    done = subprocess.run(HABITS[habit], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{habit}:\n{done.stdout[-4000:]}\n{done.stderr[-2000:]}"
