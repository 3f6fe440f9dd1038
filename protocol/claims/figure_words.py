"""Parts and sizes in words: `a quarter less`, `half as fast again`, `twice`, `no change`.

Words are not meant to a digit. How far each may be off is stated here, and is the project's own choice:
a seventh of the size, so that "a quarter" ends about where "a fifth" and "a third" begin.
"""

from __future__ import annotations

import re
from decimal import Decimal

from slackwater.protocol.claims.figure import Bound, Figure

TOLERANCE = Decimal("0.15")  # of the size told in words
LESS = r"less|lower|fewer|slower|smaller|down|decrease|reduction|saving|saved|worse off"
MORE = r"more|higher|greater|faster|further|farther|up|increase|improvement|gain"
_NUMBERS = {"two": 2, "three": 3, "four": 4, "five": 5, "2": 2, "3": 3, "4": 4, "5": 5}
_PARTS = {
    "half": Decimal(50),
    "third": Decimal(100) / 3,
    "quarter": Decimal(25),
    "fifth": Decimal(20),
    "sixth": Decimal(100) / 6,
    "eighth": Decimal("12.5"),
    "tenth": Decimal(10),
    "twentieth": Decimal(5),
}
_PART = re.compile(
    rf"(?:(?P<times>an?|one|{'|'.join(_NUMBERS)})\s+)?(?P<part>{'|'.join(_PARTS)}|halve)s?"
    rf"(?:\s+(?:(?P<less>{LESS})|(?P<more>{MORE}|(?:as\s+\w+\s+)?again)|(?P<of>of|the\b|as\b).*))?",
    re.IGNORECASE,
)
_TIMES = re.compile(
    r"(?P<twice>twice|double|doubled|doubles)|(?P<treble>treble|trebled|triple|tripled|thrice)"
    r"|(?P<halved>halved|halves)|(?P<number>two|three|four|five|[2-5])[\s-]?(?:times|fold)",
    re.IGNORECASE,
)
_NOTHING = re.compile(
    r"(?:no|without(?: any)?|not any|zero)\s+(?:change|difference|effect)|unchanged|the same|same"
    r"|nothing|none|as before|identical",
    re.IGNORECASE,
)
_NO_LESS = re.compile(
    rf"(?:no|not|without(?: any)?)\s+(?:loss|worse|penalty|{LESS})", re.IGNORECASE
)
_NO_MORE = re.compile(rf"(?:no|not|without(?: any)?)\s+(?:{MORE})", re.IGNORECASE)


def from_words(shown: str, tidy: str) -> Figure | None:
    """A size told in words as a percentage; None where the text is no such words."""
    if _NOTHING.fullmatch(tidy):
        return _nothing(shown)
    if _NO_LESS.fullmatch(tidy):
        return _nothing(shown, "at least")
    if _NO_MORE.fullmatch(tidy):
        return _nothing(shown, "at most")
    times = _TIMES.fullmatch(re.sub(r"\s+(?:as much|as many|as far|as fast|the).*$", "", tidy))
    if times is not None:
        return _size(shown, _change_of(times), signed=True)
    part = _PART.fullmatch(tidy)
    return None if part is None else _part(shown, part)


def _nothing(shown: str, bound: Bound = "") -> Figure:
    zero = Decimal(0)
    return Figure(shown, zero, zero, "%", Decimal(1), bound=bound, signed=True, none=True)


def _change_of(times: re.Match[str]) -> Decimal:
    if times["twice"]:
        return Decimal(100)
    if times["treble"]:
        return Decimal(200)
    if times["halved"]:
        return Decimal(-50)
    return Decimal(100) * (_NUMBERS[times["number"].lower()] - 1)


def _part(shown: str, found: re.Match[str]) -> Figure | None:
    name = found["part"].lower()
    if name == "halve":
        return _size(shown, Decimal(-50), signed=True)
    value = _NUMBERS.get((found["times"] or "").lower(), 1) * _PARTS[name]
    if value >= 100:
        return None
    if found["of"]:  # "half the fuel" leaves a half
        return _size(shown, value - 100, signed=True)
    if found["less"]:
        return _size(shown, -value, signed=True)
    return _size(shown, value, signed=found["more"] is not None)


def _size(shown: str, value: Decimal, *, signed: bool) -> Figure:
    tolerance = abs(value) * TOLERANCE
    return Figure(
        shown, value, value, "%", Decimal(1), signed=signed, worded=signed, tolerance=tolerance
    )
