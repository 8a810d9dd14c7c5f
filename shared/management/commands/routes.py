"""List every page with the methods it takes and the roles it opens to."""

import json
from argparse import ArgumentParser
from collections.abc import Callable, Iterator
from typing import Any

from django.core.management.base import BaseCommand
from django.urls import URLPattern, URLResolver, get_resolver

from shared.people.models import Role

ANONYMOUS = "anonymous"


def routes() -> list[dict[str, Any]]:
    """Return name, path, methods and roles of every page, in the order they are matched.

    `methods` is empty for a view that takes any. `roles` holds "anonymous" for the pages before
    sign-in, and all roles for a page that only asks to be signed in.
    """
    return [
        {
            "contract": "routes/1",
            "name": name,
            "path": path,
            "methods": _methods(view),
            "roles": _roles(view),
        }
        for name, path, view in _walk(get_resolver().url_patterns, "", "/")
    ]


def _walk(
    patterns: list[URLPattern | URLResolver], space: str, prefix: str
) -> Iterator[tuple[str, str, Callable[..., Any]]]:
    for each in patterns:
        path = prefix + str(each.pattern)
        if isinstance(each, URLResolver):
            inner = f"{space}{each.namespace}:" if each.namespace else space
            yield from _walk(each.url_patterns, inner, path)
        else:
            yield space + (each.name or ""), path, each.callback


def _methods(view: Callable[..., Any] | None) -> list[str]:
    """Read what `require_http_methods` closed over; Django keeps it nowhere else."""
    while view is not None:
        inside = getattr(view, "__closure__", None) or ()
        for name, cell in zip(view.__code__.co_freevars, inside, strict=True):
            if name == "request_method_list":
                return sorted(cell.cell_contents)
        view = getattr(view, "__wrapped__", None)
    return []


def _roles(view: Any) -> list[str]:
    if not getattr(view, "login_required", True):
        return [ANONYMOUS]
    return sorted(getattr(view, "roles", Role.values))


class Command(BaseCommand):
    help = "List every page with its methods and roles."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--json", action="store_true", help="print one JSON list")

    def handle(self, *_args: Any, **options: Any) -> None:
        found = routes()
        if options["json"]:
            self.stdout.write(json.dumps(found, indent=2))
            return
        width = max(len(each["path"]) for each in found)
        for each in found:
            methods = ", ".join(each["methods"]) or "any"
            self.stdout.write(
                f"{each['path']:{width}}  {methods:9}  {', '.join(each['roles'])}  {each['name']}"
            )
