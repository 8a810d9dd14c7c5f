"""The class lists that a tablet shows before anyone has signed in.

Classes live in an app to the right of this one, which hands in a function when it is ready.
"""

from collections.abc import Callable

from shared.people.models import Campus

ClassList = tuple[str, list[tuple[int, str]]]  # label, (person's pk, name as shown)
_providers: list[Callable[[Campus], list[ClassList]]] = []


def register_class_lists(provider: Callable[[Campus], list[ClassList]]) -> None:
    """Let `provider(campus)` name the classes of today and who is in them."""
    if provider not in _providers:
        _providers.append(provider)


def class_lists(campus: Campus) -> list[ClassList]:
    return [each for provider in _providers for each in provider(campus)]
