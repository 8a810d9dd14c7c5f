"""What is wrong with a figure of a cylinder, said at its place."""

from __future__ import annotations

from typing import Literal

from curriculum.core.sentence import Sentence

Where = Literal["gas", "water", "pressure", "temperature", "weight"]


class GasError(ValueError):
    """A figure no content can be computed from; `where` names it, `message` is a `Sentence`."""

    def __init__(self, where: Where, message: Sentence) -> None:
        super().__init__(message)
        self.where = where
        self.message = message
