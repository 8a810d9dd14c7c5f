"""Lint, format, types, import arrows and migrations, as tests like any other."""

import os
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
    "production settings pass the deployment check": [
        sys.executable,
        "manage.py",
        "check",
        "--deploy",
        "--fail-level",
        "WARNING",
    ],
}
PRODUCTION = {
    "APP_ENV": "production",
    "SECRET_KEY": "x7!kq2#mv9$ta4%wz6&bn8*cd1(ef3)gh5-jr0=ls_uy+po",
    "ALLOWED_HOSTS": "shop.example",
}


@pytest.mark.parametrize("habit", HABITS)
def test_the_tree_keeps_its_habits(habit: str) -> None:
    extra = PRODUCTION if "production" in habit else {}
    done = subprocess.run(
        HABITS[habit], cwd=ROOT, env=os.environ | extra, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{habit}:\n{done.stdout[-4000:]}\n{done.stderr[-2000:]}"
