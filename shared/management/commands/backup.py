"""Copy the live database to a new file."""

import json
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand
from django.utils import timezone

from shared.backup import BackupRefused, back_up


class Command(BaseCommand):
    help = (
        "Copy the live database to a new file. Back again: SQLite, stop the server and put the "
        "file in the database's place; PostgreSQL, pg_restore --exit-on-error "
        "--single-transaction --no-owner --dbname=URL FILE. Then run migrate --check."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "file", nargs="?", type=Path, help="a new file; without it one in .var/backups"
        )
        parser.add_argument("--json", action="store_true")

    def handle(self, *_args: Any, **options: Any) -> None:
        target = options["file"]
        if target is None:
            folder = settings.VAR_DIR / "backups"
            folder.mkdir(exist_ok=True)
            target = folder / f"{timezone.now():%Y%m%d-%H%M%S}.backup"
        try:
            made = back_up(target)
        except BackupRefused as refused:
            self._refuse(target, refused, as_json=options["json"])
            raise SystemExit(1) from refused
        if options["json"]:
            self.stdout.write(
                json.dumps({"contract": "backup/1", "file": str(target.absolute()), **made})
            )
        else:
            self.stdout.write(f"{target}: {made['tables']} tables, {made['bytes']} bytes, checked.")

    def _refuse(self, target: Path, refused: BackupRefused, *, as_json: bool) -> None:
        if as_json:
            fault = {
                "where": "file",
                "got": str(target),
                "message": str(refused),
                "accepts": ["a new file in a folder that exists"],
            }
            self.stdout.write(json.dumps({"contract": "backup/1", "errors": [fault]}))
        else:
            self.stderr.write(str(refused))
