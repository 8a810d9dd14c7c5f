"""Small pictures of joints for lists."""

from __future__ import annotations

from functools import lru_cache

from django.utils.safestring import SafeString, mark_safe

from curriculum.core import spec
from curriculum.core.drawing import pass_picture


@lru_cache(maxsize=2048)
def joint_picture(setup: spec.Setup) -> SafeString:
    """Return the finished joint of a setup as a small SVG element, nothing where none can be drawn.

    A list shows the same ones time and again: each is drawn once.
    """
    try:
        return mark_safe(pass_picture(setup))  # noqa: S308 - numbers and our own class names alone
    except ValueError:  # a draft's joint may be in the making
        return mark_safe("")
