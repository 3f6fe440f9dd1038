"""How configurations and verdicts look in pictures: a colour, a mark, a name that fits."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.analysis.report.svg import (
    BLACK,
    BLUE,
    GREEN,
    INK,
    ORANGE,
    PURPLE,
    SKY,
    VERMILION,
)
from slackwater.analysis.wording.characters import printable

_LONGEST_NAME = 30

#: Colour and mark of the configurations, in the order declared.
LOOKS = (
    (BLUE, "o"),
    (VERMILION, "s"),
    (GREEN, "^"),
    (PURPLE, "D"),
    (BLACK, "v"),
    (ORANGE, "P"),
    (SKY, "X"),
)

#: Mark of each verdict, and whether it is filled: the established ones are.
VERDICT_MARKS: dict[str, tuple[str, bool]] = {
    "gain": ("^", True),
    "loss": ("v", True),
    "higher": ("^", False),
    "lower": ("v", False),
    "equivalent": ("D", True),
    "within noise": ("o", False),
    "untestable": ("x", True),
}

#: Colour of a stretch of the axis on which something is shown, and of words in it.
STRETCHES = {
    "gain": GREEN,
    "loss": VERMILION,
    "higher": INK,
    "lower": INK,
    "equivalent": BLUE,
}


def short(name: str) -> str:
    """A name that fits a legend."""
    name = printable(name)
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 1] + "…"


def look(configurations: Sequence[str], configuration: str) -> tuple[str, str]:
    """Colour and mark of a configuration."""
    known = list(configurations)
    index = known.index(configuration) if configuration in known else len(known)
    return LOOKS[index % len(LOOKS)]
