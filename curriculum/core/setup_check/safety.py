"""Eyes: the filter shade of the setup, and one that the exercise states."""

from __future__ import annotations

import re
from collections.abc import Iterator

from curriculum.core.cautions import shade_for
from curriculum.core.sentence import Sentence as _
from curriculum.core.spec import Exercise, Setup

from .finding import SHARE, Finding, rule_of

STATED = re.compile(
    r"\b(?:shade|filter|din)s?\s*(?:no\.?|number|#|of)?\s*(\d{1,2})\b(?!\s*(?:x|in\b|mm|\"|/))",
    re.I,
)


def filter_shade(exercise: Exercise, setup: Setup) -> Iterator[Finding]:
    """A shade stated among clothing, tools, steps or cautions is not under the minimum.

    Without one the finding gives the shade, where a current or flame is stated.
    """
    if not (setup.current or setup.fuel):
        return
    shade = shade_for(exercise, setup)
    said = (*exercise.clothing, *exercise.tools, *exercise.steps, *exercise.cautions)
    stated = [int(number) for text in said for number in STATED.findall(text)]
    light = max(stated, default=shade.start)  # goggles for cutting may stand beside the helmet
    parts = {"stated": light, "least": shade.minimum, "start": shade.start}
    if light < shade.minimum:
        message = _(
            "Filter shade %(stated)s is stated; at least %(least)s, start with %(start)s.", **parts
        )
    else:
        message = _("Filter shade at least %(least)s, start with %(start)s.", **parts)
    yield Finding(
        rule="filter_shade",
        level="outside" if light < shade.minimum else "ok",
        value=float(light),
        limit=float(shade.minimum),
        unit=SHARE,
        source=rule_of("shade")["source"],
        message=message,
    )
