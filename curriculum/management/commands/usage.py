"""`usage`: what one attempt of a setup takes, each figure with its steps."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.core.management.base import CommandParser
from django.utils.translation import gettext as _

from curriculum.core.usage import UsageError, usage
from curriculum.management.which import add_which, chosen
from shared.management.base import Fault, JsonCommand, Refused


class Command(JsonCommand):
    help = "Compute what one attempt of a setup takes: filler, plate, gas, tungsten, wear, time."
    contract = "usage/1"
    requires_system_checks = []

    def add_arguments(self, parser: CommandParser) -> None:
        super().add_arguments(parser)
        add_which(parser)
        parser.add_argument(
            "--week", type=int, help="week of the term, 1 to 60; the mean over a term if not given"
        )

    def answer(self, **options: Any) -> Mapping[str, Any]:
        exercise, place, setup = chosen(options)
        try:
            used = usage(exercise, setup, week=options["week"])
        except UsageError as error:
            week = error.where == "week"
            where = "week" if week else f"{place}.{error.where}"
            got = str(options["week"]) if week else ""
            message = error.message.in_words(_)
            raise Refused([Fault(where, got, message, error.accepts)]) from error
        return {"exercise": exercise.number, "setup": setup.key} | used.as_json()

    def table(self, answer: Mapping[str, Any]) -> str:
        weld, time = answer["weld"], answer["time"]
        lines = [
            f"{answer['exercise']}/{answer['setup']}",
            _("weld: %(area).2f mm2, %(volume).2f cm3, %(deposit).1f g")
            % {
                "area": weld["area"]["value"] * 1e6,
                "volume": weld["volume"]["value"] * 1e6,
                "deposit": weld["deposit"]["value"] * 1e3,
            },
            _("time: arc %(arc).1f min, gas %(gas).1f min, booth %(booth).0f min")
            % {name: time[name]["value"] / 60 for name in ("arc", "gas", "booth")},
        ]
        if least := weld["least_passes"]:
            lines.append(_("passes: at least %(count)s") % {"count": least["value"]})
        for item in [*answer["items"], *answer["supplies"]]:
            figure = item["quantity"]
            amount = f"{figure['value']:>12.6g} {figure['unit']:<3}"
            pieces = f" {item['pieces']:>8.3g}" if item.get("pieces") is not None else ""
            lines.append(f"{item['kind']:<10} {item['name']:<40} {amount}{pieces}".rstrip())
            lines += [
                f"    {step['label']}: {step['expression']} = {step['value']:.6g} {step['unit']}"
                for step in item["steps"]
            ]
        return "\n".join(lines)
