"""`demo`: an invented shop with an evening class in mid-term, loaded and served."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from time import monotonic
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.management import call_command
from django.core.management.base import CommandParser
from django.utils import timezone
from django.utils.translation import gettext as _

from shared import demo
from shared.management.base import Fault, JsonCommand, Refused

PORT = 8000


class Command(JsonCommand):
    """Answers {"class", "created": {model: rows}, "forecast"}, then serves the pages."""

    help = "Load an invented shop with an evening class in mid-term, and serve it."
    contract = "demo/1"
    requires_migrations_checks = False

    def add_arguments(self, parser: CommandParser) -> None:
        """Take the day around which the term lies, and whether and where to serve."""
        super().add_arguments(parser)
        parser.add_argument("--no-serve", action="store_true", help="load and stop there")
        parser.add_argument(
            "--today", type=date.fromisoformat, metavar="DATE", help="the day in mid-term"
        )
        parser.add_argument("--port", type=int, default=PORT, help="port to serve on (8000)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Load, answer, and serve until stopped."""
        super().handle(*args, **options)
        if not options["no_serve"]:
            out = self.stderr if options["json"] else self.stdout
            address = f"127.0.0.1:{options['port']}"
            call_command("runserver", address, use_reloader=False, stdout=out)

    def answer(self, **options: Any) -> Mapping[str, Any]:
        """Load what is missing and return what is there."""
        self.options = options
        if settings.APP_ENV == "production":
            message = _(
                "The demo is never loaded in production. Unset APP_ENV, or use a new place."
            )
            raise Refused([Fault("APP_ENV", "production", message, ["development"])])
        self._refuse_foreign_rows()
        began = monotonic()
        self._say(_("Preparing the database"))
        call_command("migrate", verbosity=0, interactive=False)
        today = options["today"] or timezone.localdate(timezone=ZoneInfo(demo.ZONE))
        for title in demo.load(today):
            self._say(title)
        self._say(_("Reckoning the forecast"))
        self.scene = demo.scene_of(today)
        answer = {"today": self.scene.today, **demo.answers(self.scene)}
        answer["created"] = demo.created()
        self._say(
            _("Ready after %(seconds).0f s: %(rows)d rows, all invented")
            % {"seconds": monotonic() - began, "rows": sum(answer["created"].values())}
        )
        if self.scene.today != today:
            self._say(
                _("It was loaded around %(day)s. For a term around today, use an empty database.")
                % {"day": self.scene.today}
            )
        return answer

    def table(self, answer: Mapping[str, Any]) -> str:
        """Return the forecast, the sign-ins and the address."""
        lines = [f"\n{report}" for report in demo.reports(self.scene, answer)]
        if not self.options["no_serve"]:
            address = f"http://127.0.0.1:{self.options['port']}"
            lines += ["", _("Open %(address)s, stop with Ctrl+C.") % {"address": address}]
        return "\n".join(lines)

    def _refuse_foreign_rows(self) -> None:
        names = demo.foreign_campuses()
        if names:
            message = _(
                "This database holds a campus that is not invented. The demo goes into an empty "
                "database: name one with DATABASE_URL."
            )
            accepts = ["DATABASE_URL=sqlite:////tmp/demo.sqlite3"]
            raise Refused([Fault("DATABASE_URL", ", ".join(names), message, accepts)])

    def _say(self, line: str) -> None:
        self.stderr.write(line, style_func=str)
