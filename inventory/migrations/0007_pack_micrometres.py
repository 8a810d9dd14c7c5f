from typing import Any

from django.db import migrations, models

INCH_UM = 25_400


def _exact(width_mm: int, length_mm: int, size: int) -> tuple[int, int]:
    """Return sides in micrometres: those in inches that the content tells, else whole mm."""
    for parts in (1, 2, 4, 8, 16):
        sides = [round(side / 25.4 * parts) * INCH_UM // parts for side in (width_mm, length_mm)]
        kept = [round(side / 1000) for side in sides]
        if kept == [width_mm, length_mm] and round(sides[0] * sides[1] / 10**6) == size:
            return sides[0], sides[1]
    return width_mm * 1000, length_mm * 1000


def to_um(apps: Any, schema_editor: Any) -> None:
    for name in ("Pack", "HistoricalPack"):
        rows = apps.get_model("inventory", name).objects
        for pk, width, length, size in rows.exclude(length_um=None).values_list(
            "pk", "width_um", "length_um", "size"
        ):
            if width is None:
                rows.filter(pk=pk).update(length_um=length * 1000)
            else:
                width, length = _exact(width, length, size)
                rows.filter(pk=pk).update(width_um=width, length_um=length)


def to_mm(apps: Any, schema_editor: Any) -> None:
    for name in ("Pack", "HistoricalPack"):
        rows = apps.get_model("inventory", name).objects
        for pk, width, length in rows.exclude(length_um=None).values_list(
            "pk", "width_um", "length_um"
        ):
            rows.filter(pk=pk).update(
                width_um=None if width is None else max(1, round(width / 1000)),
                length_um=max(1, round(length / 1000)),
            )


def _renamed(model: str, side: str) -> list[Any]:
    return [
        migrations.RenameField(model, f"{side}_mm", f"{side}_um"),
        migrations.AlterField(
            model,
            f"{side}_um",
            models.PositiveIntegerField(blank=True, null=True, verbose_name=f"{side}, µm"),
        ),
    ]


class Migration(migrations.Migration):
    dependencies = [("inventory", "0006_every_weeks")]

    operations = [
        *_renamed("pack", "length"),
        *_renamed("pack", "width"),
        *_renamed("historicalpack", "length"),
        *_renamed("historicalpack", "width"),
        migrations.RunPython(to_um, to_mm),
    ]
