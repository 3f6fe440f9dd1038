"""Units as articles print them: `mpg`, `US gal`, `litres per hour`, a mile in so many minutes."""

from __future__ import annotations

import re
from decimal import Decimal

_IMPERIAL = r"imp(?:erial|\.)?|uk|british"
_AMERICAN = r"us|u\.s\.|american"
_WHICH_MILE = r"nautical|sea|statute|naut|imp_gal|us_gal|uk_gal"
#: What is printed, and the unit it stands for; the first that fits is taken.
_SPELT: tuple[tuple[str, str], ...] = tuple(
    (rf"(?<![\w.])(?:{pattern})(?!\w)", unit)
    for pattern, unit in (
        (r"per\s?cent(?:age)?|pct\.?", "%"),
        (r"%[\s-]*points?|percentage[\s-]+points?|pp", "%"),
        (rf"(?:{_IMPERIAL})\s*mpg|mpg\s*\(?(?:{_IMPERIAL})\)?", "mi/imp_gal"),
        (rf"(?:{_AMERICAN})\s*mpg|mpg\s*\(?(?:{_AMERICAN})\)?", "mi/gal"),
        (r"(?:nautical|n)\s*mpg", "nmi/gal"),
        (rf"(?:{_IMPERIAL})\s*gph|gph\s*\(?(?:{_IMPERIAL})\)?", "imp_gal/h"),
        (rf"(?:{_AMERICAN})\s*gph", "gal/h"),
        (rf"(?:{_IMPERIAL})[\s_]*gal(?:lon)?s?\.?", "imp_gal"),
        (rf"(?:{_AMERICAN})[\s_]*gal(?:lon)?s?\.?", "US_gal"),
        (r"nautical\s+miles?|sea\s+miles?|n\.?m\.?|naut\.?\s*mi(?:les?)?", "nmi"),
        (r"statute\s+miles?", "statute_mile"),
        (r"miles?\s+(?:per|an)\s+hour", "mph"),
    )
)
#: Units that stand for one of several: what they are taken for.
_ASSUMED = (
    (r"mpg", "mi/gal", "statute miles for a US gallon; 'imp mpg' and 'nautical mpg' are others"),
    (r"gph|gal(?:lon)?s?", "", "US gallons; 'imp gal' is the other"),
    (r"miles?|mi", "", "statute miles of 1609 m; 'nmi' is the nautical one"),
)
_WORD_STROKE = re.compile(r"(?<=[A-Za-z])\s+(?:per|an?|each)\s+(?=[A-Za-z])")
_MILE = r"(?:an?|the|one|1)?\s*(?P<mile>nautical|sea|statute|measured|land)?\s*(?:mile|nmi|mi)\b"
_CLOCK = (
    r"(?:(?P<min>[0-9]{1,3})\s*(?::|min(?:utes?)?\.?|m)\s*)?"
    r"(?P<sec>[0-9]{1,4}(?:\.[0-9]+)?)?\s*(?:s(?:ec(?:onds?)?)?\.?)?"
)
_PACE = re.compile(rf"{_CLOCK}\s*(?:per|for|to|/|over)\s*{_MILE}", re.IGNORECASE)
_PACE_TURNED = re.compile(rf"{_MILE}\s+in\s+{_CLOCK}", re.IGNORECASE)
_NAUTICAL, _STATUTE = Decimal(3600), Decimal(3600) * Decimal("1609.344") / 1852


def plain_units(text: str) -> tuple[str, str]:
    """A text with its units in a spelling that is read, and what was taken for granted of them."""
    said = re.search(
        rf"(?<![\w.])(?:{_IMPERIAL}|{_AMERICAN}|{_WHICH_MILE})(?![a-z])", text, re.IGNORECASE
    )
    for pattern, unit in _SPELT:
        text = re.sub(pattern, unit, text, flags=re.IGNORECASE)
    text = _WORD_STROKE.sub("/", text)
    for pattern, unit, words in _ASSUMED:
        found = re.search(rf"(?<![\w])({pattern})(?![\w])", text, re.IGNORECASE)
        if found is not None and (unit or said is None):
            if unit:
                text = text[: found.start()] + unit + text[found.end() :]
            return text, f"'{found[1]}' is read as {words}"
    return text, ""


def per_hundred(text: str) -> tuple[str, Decimal]:
    """A text with its amount over a hundred kilometres or miles over one, and the scale of that."""
    found = re.search(r"(?:/|\bper)\s*100\s*(?=km|n\.?m|kilom|nautical|miles)", text, re.IGNORECASE)
    if found is None:
        return text, Decimal(1)
    return f"{text[: found.start()].rstrip()}/{text[found.end() :]}", Decimal("0.01")


def pace(text: str) -> tuple[Decimal, Decimal, str] | None:
    """A time over a mile as a speed: value, step of one in the last digit, and which mile.

    None where the text is no such time.
    """
    found = _PACE.fullmatch(text) or _PACE_TURNED.fullmatch(text)
    if found is None or not (found["min"] or found["sec"]):
        return None
    seconds = Decimal(found["sec"] or 0) + 60 * Decimal(found["min"] or 0)
    digit = (
        Decimal(1).scaleb(int(Decimal(found["sec"]).as_tuple().exponent))
        if found["sec"]
        else Decimal(60)
    )
    if seconds <= digit:
        return None
    statute = (found["mile"] or "").lower() in ("statute", "land")
    length = _STATUTE if statute else _NAUTICAL
    ends = [length / (seconds + digit / 2), length / (seconds - digit / 2)]
    assumed = (
        ""
        if found["mile"]
        else "'mile' is read as a nautical mile of 1852 m; 'statute mile' is the other"
    )
    return length / seconds, ends[1] - ends[0], assumed
