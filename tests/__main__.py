"""Run the habits, then every test on each database: `python -m tests [pytest arguments]`."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BIN = Path(sys.executable).parent
HABITS = (
    ["ruff", "check", "."],
    ["ruff", "format", "--check", "."],
    ["djlint", "--check", "--lint", "--quiet", "templates"],
    ["lint-imports"],
    ["mypy"],
    [sys.executable, "manage.py", "makemigrations", "--check", "--dry-run"],
)


def run(words: list[str], **extra: str) -> int:
    """Run one command in the project, say what it is, and return its exit code."""
    program = BIN / words[0]
    command = [str(program) if program.exists() else words[0], *words[1:]]
    sys.stdout.write(f"$ {' '.join(words)}\n")
    sys.stdout.flush()
    return subprocess.run(command, cwd=ROOT, env=os.environ | extra, check=False).returncode


def main(arguments: list[str]) -> int:
    failed = [words[0] for words in HABITS if run(words) != 0]
    databases = {
        "SQLite": {},
        "PostgreSQL": {"DATABASE_URL": os.environ.get("TEST_POSTGRES_URL", "")},
    }
    for name, extra in databases.items():
        if name == "PostgreSQL" and not extra["DATABASE_URL"]:
            if "postgres" in os.environ.get("REQUIRE", ""):
                failed.append("PostgreSQL is required and TEST_POSTGRES_URL names none")
            continue
        sys.stdout.write(f"== tests on {name}\n")
        if run([sys.executable, "-m", "pytest", "-n", "2", *arguments], **extra) != 0:
            failed.append(f"pytest on {name}")
    if failed:
        sys.stdout.write(f"failed: {', '.join(failed)}\n")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
