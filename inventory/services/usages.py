"""What one attempt of a published setup takes; computed once in a process, because it is frozen."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection
from threading import Lock

from curriculum.core.usage import Usage, UsageError, usage
from curriculum.models import ExerciseVersion, Setup
from curriculum.services import to_spec

KEPT = 2_000

_Key = tuple[int, object]  # the setup, and when its version was published
_kept: OrderedDict[_Key, Usage | None] = OrderedDict()
_lock = Lock()


def usages_of(setups: Collection[int]) -> dict[int, Usage]:
    """Return the usage of each of the setups (primary keys) of published versions.

    One that does not say enough to compute is left out. One query, and five where one is new.
    """
    rows = Setup.objects.filter(
        pk__in=setups, version__state=ExerciseVersion.State.PUBLISHED
    ).values_list("pk", "key", "version", "version__published_at")
    found: dict[int, Usage | None] = {}
    missing = []
    with _lock:
        for row in rows:
            pk, _key, _version, published = row
            if (pk, published) in _kept:
                found[pk] = _kept[pk, published]
            else:
                missing.append(row)
    if missing:
        versions = {
            row.pk: to_spec(row)
            for row in ExerciseVersion.objects.with_content().filter(
                pk__in={version for _pk, _key, version, _published in missing}
            )
        }
        for pk, key, version, _published in missing:
            exercise = versions[version]
            setup = next(one for one in exercise.setups if one.key == key)
            try:
                found[pk] = usage(exercise, setup)
            except UsageError:
                found[pk] = None
        with _lock:
            _kept.update({(pk, published): found[pk] for pk, _key, _version, published in missing})
            while len(_kept) > KEPT:
                _kept.popitem(last=False)
    return {pk: one for pk, one in found.items() if one is not None}
