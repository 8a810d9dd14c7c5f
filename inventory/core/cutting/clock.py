"""The time that a search has."""

from __future__ import annotations

import time


class Clock:
    """How long a search may still take, s; a part of it is over with the whole at the latest."""

    def __init__(self, seconds: float, whole: Clock | None = None) -> None:
        self.end = time.monotonic() + seconds
        self.whole = whole

    def part(self, share: float) -> Clock:
        """Return a clock of a share of what is left."""
        return Clock(share * self.left(), self)

    def stop(self) -> None:
        """Let the time be over."""
        self.end = 0.0

    def left(self) -> float:
        own = max(self.end - time.monotonic(), 0.0)
        return own if self.whole is None else min(own, self.whole.left())

    def late(self) -> bool:
        return self.left() <= 0.0
