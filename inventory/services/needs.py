"""What one attempt of a published setup takes, in base units by specification; kept in memory."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from curriculum.core.usage import UsageError, usage
from curriculum.models import ExerciseVersion, Setup
from curriculum.services import to_spec

MICRO = 1_000_000  # mg in a kg, mm² in a m², mL in a m³
KEPT = 20_000


@dataclass(frozen=True, slots=True)
class Need:
    """`quantity` base units of `spec`; `alternates` are the keys that serve as well."""

    spec: str
    quantity: float
    alternates: frozenset[str] = frozenset()


_Key = tuple[int, object]  # the setup and when its version was published
_kept: dict[_Key, tuple[Need, ...]] = {}


def needs_of(setups: Collection[int]) -> Mapping[int, tuple[Need, ...]]:
    """Return the needs of each of the setups (primary keys) of published versions.

    Published setups are frozen, so each is computed once in a process. One that does not say
    enough to compute has no needs. One query, and a few more where something is new.
    """
    rows = Setup.objects.filter(
        pk__in=setups, version__state=ExerciseVersion.State.PUBLISHED
    ).values_list("pk", "key", "version", "version__published_at")
    keys = {pk: (pk, published) for pk, _key, _version, published in rows}
    missing = [row for row in rows if keys[row[0]] not in _kept]
    if missing:
        if len(_kept) > KEPT:
            _kept.clear()
        versions = {
            version.pk: to_spec(version)
            for version in ExerciseVersion.objects.with_content().filter(
                pk__in={row[2] for row in missing}
            )
        }
        for pk, key, version, _published in missing:
            exercise = versions[version]
            setup = next(one for one in exercise.setups if one.key == key)
            try:
                items = usage(exercise, setup).items
            except UsageError:
                items = ()
            sums: dict[str, Need] = {}
            for item in items:
                before = sums.get(item.spec)
                sums[item.spec] = Need(
                    item.spec,
                    item.quantity * (1 if item.unit == "1" else MICRO)
                    + (before.quantity if before else 0.0),
                    frozenset(item.alternates) | (before.alternates if before else frozenset()),
                )
            _kept[keys[pk]] = tuple(sums.values())
    return {pk: _kept[key] for pk, key in keys.items()}
