"""Small pictures of joints for lists."""

from __future__ import annotations

from collections.abc import Iterable

from django.core.cache import caches
from django.utils.safestring import SafeString, mark_safe

from curriculum.core import spec
from curriculum.core.drawing import pass_picture
from curriculum.models import ExerciseVersion, Setup
from curriculum.services.spec_rows import setup_spec


def joint_pictures(versions: Iterable[ExerciseVersion]) -> dict[int, SafeString]:
    """Return the finished joint of each version's first setup by the version's key.

    A published setup stays as it is, a draft's gets a new key whenever it is saved: so a picture
    drawn once is kept, and only setups not seen before are loaded.
    """
    kept = caches["pictures"]
    keys = {
        setup.pk: (version.pk, f"{version.created_at.timestamp()}:{setup.pk}")
        for version in versions
        for setup in version.setups.all()[:1]
    }
    drawn: dict[str, str] = kept.get_many(key for _version, key in keys.values())
    missing = [setup for setup, (_version, key) in keys.items() if key not in drawn]
    if missing:
        rows = Setup.objects.filter(pk__in=missing).prefetch_related("passes", "pieces")
        new = {keys[row.pk][1]: _picture(setup_spec(row)) for row in rows}
        kept.set_many(new)
        drawn |= new
    # Numbers and our own class names alone stand in a drawing.
    return {version: mark_safe(drawn[key]) for version, key in keys.values()}  # noqa: S308


def _picture(setup: spec.Setup) -> str:
    try:
        return pass_picture(setup)
    except ValueError:  # a draft's joint may be in the making
        return ""
