"""The pages in the head, by role; each app registers its own in `AppConfig.ready`."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from django.urls import NoReverseMatch, reverse
from django.utils.functional import Promise

from shared.people.models import Role


@dataclass(frozen=True)
class Entry:
    role: str
    label: str | Promise
    url_name: str
    order: int


_entries: list[Entry] = []


def register(role: Role | str, label: str | Promise, url_name: str, order: int = 100) -> None:
    """Put the page `url_name` (it takes no arguments) in the head of who has `role`."""
    entry = Entry(str(role), label, url_name, order)
    if entry not in _entries:
        _entries.append(entry)


def entries_for(roles: Collection[str], current: str = "") -> list[dict[str, Any]]:
    """Return label, url and current of each page these roles see; a page that is missing is not.

    `current` is the name of the page being shown, such as "people:people".
    """
    found: dict[str, dict[str, Any]] = {}
    for entry in sorted(_entries, key=lambda each: each.order):
        if entry.role not in roles or entry.url_name in found:
            continue
        try:
            url = reverse(entry.url_name)
        except NoReverseMatch:
            continue
        found[entry.url_name] = {
            "label": entry.label,
            "url": url,
            "role": entry.role,
            "current": entry.url_name == current,
        }
    return list(found.values())
