"""The demo's campus, people, library, classes and plan. Everything in it is invented."""

from . import people, library, classes  # noqa: I001 - their steps run in this order

__all__ = ["classes", "library", "people"]
