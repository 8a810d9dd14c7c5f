"""Audit rows, written in the transaction of the change they tell of."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db import models, transaction

from shared.people.models import AuditEntry, Campus, User

_CODE_WORD = re.compile(r"[\w.:+/·≤≥°-]{0,80}")


def _plain(key: str, value: Any) -> Any:
    if value is None or isinstance(value, bool | int | float):
        return value
    if isinstance(value, Decimal | UUID):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(key, each) for each in value]
    if isinstance(value, models.Model):
        return value.pk
    if isinstance(value, str) and _CODE_WORD.fullmatch(value):
        return str(value)
    raise ValueError(
        f"audit detail {key} must be a number, an id, a date or a code word without spaces "
        f"(names do not belong in the audit), got {type(value).__name__}"
    )


def audit(
    actor: User | None,
    action: str,
    target: models.Model | None = None,
    *,
    campus: Campus | None = None,
    detail: Mapping[str, Any] | None = None,
) -> AuditEntry:
    """Store that `actor` (None: a command) did `action` to `target`; return the row.

    Call it inside the transaction of the change, so that neither stands without the other:
    outside of one it raises TransactionManagementError. `action` is a word with its area, such
    as "roles.changed" or "stock.counted". `detail` holds ids, numbers, dates and code words;
    anything that could be a name (text with spaces) raises ValueError.
    """
    if not transaction.get_connection().in_atomic_block:
        raise transaction.TransactionManagementError("audit() needs the change's transaction")
    return AuditEntry.objects.create(
        campus=campus or (actor.home_campus if actor else None),
        actor_id=actor.pk if actor else None,
        action=action,
        target_type=target._meta.label_lower if target else "",
        target_id=str(target.pk) if target else "",
        detail={key: _plain(key, value) for key, value in (detail or {}).items()},
    )
