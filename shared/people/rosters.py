"""Who is in which class. Classes live in an app to the right of this one, which hands in
functions when it is ready (`AppConfig.ready`)."""

from collections.abc import Callable, Iterable

from shared.people.models import Campus, User

ClassList = tuple[str, list[tuple[int, str]]]  # label, (person's pk, name as shown)
_teaching: list[Callable[[User], Iterable[int]]] = []
_providers: list[Callable[[Campus], list[ClassList]]] = []


def register_class_lists(provider: Callable[[Campus], list[ClassList]]) -> None:
    """Let `provider(campus)` name the classes of today and who is in them."""
    if provider not in _providers:
        _providers.append(provider)


def class_lists(campus: Campus) -> list[ClassList]:
    return [each for provider in _providers for each in provider(campus)]


def register_students_of(provider: Callable[[User], Iterable[int]]) -> None:
    """Let `provider(instructor)` give the pks of the students in the classes they teach."""
    if provider not in _teaching:
        _teaching.append(provider)


def students_of(instructor: User) -> set[int]:
    """The pks of the students this person teaches; nobody's where no app says so."""
    return {pk for provider in _teaching for pk in provider(instructor)}
