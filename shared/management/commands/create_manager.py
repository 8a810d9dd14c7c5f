"""Make the first campus and its shop manager on a new installation."""

import json
import sys
from argparse import ArgumentParser
from getpass import getpass
from typing import Any

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.core.management.base import BaseCommand
from django.db import transaction

from shared.people.models import Campus, Role, Units, User
from shared.people.services import save_person


class Command(BaseCommand):
    help = "Make a campus, if it is not there yet, and a shop manager for it."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("username", help="the sign-in name")
        parser.add_argument("--name", required=True, help="the person's name")
        parser.add_argument("--campus", required=True, help="the name of the campus")
        parser.add_argument("--time-zone", default="UTC", help="such as America/Chicago")
        parser.add_argument("--paper", choices=Campus.Paper.values, default="Letter")
        parser.add_argument("--symbol", choices=Campus.SymbolStandard.values, default="AWS")
        parser.add_argument("--units", choices=Units.values, default="us")
        parser.add_argument(
            "--password-stdin", action="store_true", help="read the password from a pipe"
        )
        parser.add_argument("--json", action="store_true")

    def handle(self, *_args: Any, **options: Any) -> None:
        if options["password_stdin"]:
            password = sys.stdin.readline().rstrip("\n")
        else:
            password = getpass("Password: ")
            if password != getpass("Once more: "):
                self._refuse("password", "The two passwords differ.", options)
        username = options["username"].strip().casefold()
        if User.objects.filter(username=username).exists():
            self._refuse("username", f"{username} is taken.", options)
        try:
            validate_password(password, User(username=username, name=options["name"]))
        except ValidationError as bad:
            self._refuse("password", " ".join(bad.messages), options)
        with transaction.atomic():
            campus = self._campus(options)
            person = save_person(
                person=None,
                by=None,
                campus=campus,
                name=options["name"],
                username=username,
                password=password,
                roles=[Role.MANAGER],
            )
        made = {"contract": "create_manager/1", "campus": campus.pk, "person": person.pk}
        text = f"{person} may now sign in as {username}, shop manager of {campus}."
        self.stdout.write(json.dumps(made) if options["json"] else text)

    def _campus(self, options: dict[str, Any]) -> Campus:
        known = Campus.objects.filter(name=options["campus"]).first()
        if known:
            return known
        campus = Campus(
            name=options["campus"],
            time_zone=options["time_zone"],
            paper=options["paper"],
            symbol_standard=options["symbol"],
            default_units=options["units"],
        )
        try:
            campus.full_clean()
        except ValidationError as bad:
            for field, messages in bad.message_dict.items():
                self._refuse(field, " ".join(messages), options)
        campus.save()
        return campus

    def _refuse(self, where: str, message: str, options: dict[str, Any]) -> None:
        if options["json"]:
            got = None if where == "password" else options.get(where)
            fault: dict[str, Any] = {"where": where, "got": got, "message": message, "accepts": []}
            self.stdout.write(
                json.dumps({"contract": "create_manager/1", "errors": [fault]}, ensure_ascii=False)
            )
        else:
            self.stderr.write(f"{where}: {message}")
        raise SystemExit(1)
