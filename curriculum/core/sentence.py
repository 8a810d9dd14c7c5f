"""Sentences of the cores: English that remembers how it was made, for whoever translates it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Self


class Sentence(str):
    """Text with the template and the parts it was made of; these may be sentences themselves.

    In a core it is plain text. A page calls `in_words(gettext)`; templates are collected by the
    usual name `_`, under which cores import this class.
    """

    template: str
    params: Mapping[str, object]

    def __new__(cls, template: str, **params: object) -> Self:
        self = super().__new__(cls, template % params if params else template)
        self.template, self.params = template, params
        return self

    @classmethod
    def join(cls, parts: Iterable[str], between: str = " ") -> Self:
        """Return the parts behind each other, those that are empty left out."""
        named = {f"part{place}": part for place, part in enumerate(part for part in parts if part)}
        return cls(between.join(f"%({name})s" for name in named), **named)

    def in_words(self, translate: Callable[[str], str]) -> str:
        """Return the sentence in another language: `translate` turns templates."""
        words = {
            name: part.in_words(translate) if isinstance(part, Sentence) else part
            for name, part in self.params.items()
        }
        text = translate(self.template) if self.template else ""  # gettext("") is a header
        return text % words if words else text
