"""What each check of an audit asks, why, and by which text: for `explain`."""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.analysis.audit.identities import identities
from slackwater.analysis.audit.sources import (
    DIGITS,
    GRIM,
    GUARDED,
    NOISE,
    PRACTICE,
    ROUNDING,
    SESSIONS_NEEDED,
    SWITCHED,
    UNCERTAINTY_DIGITS,
)

_SWITCHED = f"{SWITCHED}; {PRACTICE}"


@dataclass(frozen=True, slots=True)
class Check:
    """A check of an audit.

    Attributes
    ----------
    id : str
        As the reasons of a claim name it.
    asks : str
        What it looks at, as a question.
    why : str
    source : str
        The text behind it, or "common practice".
    """

    id: str
    asks: str
    why: str
    source: str

    def as_text(self) -> str:
        """The check in full, as plain text."""
        import textwrap

        rows = [("asks", self.asks), ("why", self.why), ("source", self.source)]
        blocks = [f"{self.id} (a check on claims)"]
        for name, text in rows:
            lead = f"  {name:<10}"
            blocks.append(
                textwrap.fill(text, 88, initial_indent=lead, subsequent_indent=" " * len(lead))
            )
        return "\n\n".join(blocks) + "\n"

    def as_dict(self) -> dict[str, str]:
        """The check as JSON has it."""
        return {"check": self.id, "asks": self.asks, "why": self.why, "source": self.source}


_CHECKS = (
    # Against the runs.
    Check(
        "against-data",
        "Does what is stated, with its rounding, bound or ±, fit the trial's interval at its place?",
        "A size is upheld when its direction is established, it is about the size measured and little "
        "else is left open; a bound or a margin when the whole interval keeps it; what lies outside "
        "the interval is overstated, understated, refuted or contradicted.",
        GUARDED,
    ),
    Check(
        "stated-value",
        "Does a stated value lie in the trial's interval for that configuration and place?",
        "A percentage that holds does not save values that the runs do not give.",
        PRACTICE,
    ),
    Check(
        "on-the-day",
        "What was the difference where one session each leaves no verdict?",
        "One session cannot tell a change from a good day.",
        PRACTICE,
    ),
    Check(
        "ratings",
        "Were the raters blind to what was fitted, and did their guesses say so?",
        "People score what they hope for. A difference that the raters could see coming is not undone by "
        "any number of sessions.",
        PRACTICE,
    ),
    Check(
        "manoeuvres",
        "How was it tried: from what to what, how often, both ways, and what of the current?",
        "A time or a length of a manoeuvre is that of its conditions. One way alone, or with the current in "
        "it, it is that of the water as well.",
        PRACTICE,
    ),
    Check(
        "next-boat",
        "What would the verdict be on the next boat, where the claim is held against a pool?",
        "What holds on the mean over boats need not hold on the one that the reader has.",
        PRACTICE,
    ),
    Check(
        "conditions",
        "Did the trial behind the claim keep to its protocol?",
        "What departs from the protocol may be what made the difference.",
        "the source of the rule that was broken",
    ),
    # Noise.
    Check(
        "noise",
        "Which interval has the claim, with the noise that is known of and the sessions behind it?",
        "A difference that noise alone makes as easily shows nothing.",
        NOISE,
    ),
    Check(
        "vanishing-noise",
        "In which scatter between sessions would the difference vanish?",
        "Where the noise is not known, the reader can judge whether his boat scatters so much.",
        NOISE,
    ),
    Check(
        "sessions",
        "How many sessions stand behind each figure?",
        "Runs of one session share its sea, load and fouling, and count once.",
        PRACTICE,
    ),
    Check(
        "sessions-needed",
        "How many sessions would it take to establish a difference of this size?",
        "A claim that could be tested in four sessions is another matter than one that takes forty.",
        SESSIONS_NEEDED,
    ),
    Check(
        "one-way",
        "Could a current account for the difference, where the runs went one way?",
        "The current is then in the figures, once with and once against the boat.",
        PRACTICE,
    ),
    # Figures against each other.
    Check(
        "difference",
        "Does the difference follow from the two values?",
        "Each printed figure stands for all values that are printed so; none fits if the slip is real.",
        ROUNDING,
    ),
    Check(
        "percentage",
        "Does the percentage follow from the values, or from a value and the difference?",
        "The commonest slips are a percentage of the wrong base, and rounding too early.",
        ROUNDING,
    ),
    Check(
        "all-at-once",
        "Is there one pair of true values that would be printed as all of the figures?",
        "Figures may agree in pairs and yet not all together.",
        ROUNDING,
    ),
    Check(
        "round-figures",
        "Do the figures agree only when some were rounded to fives, tens, or a half?",
        "Such figures are no fault, and carry less than their digits.",
        f"{ROUNDING}; that whole numbers may be round: common practice",
    ),
    Check(
        "cut-off",
        "Do the figures agree only when digits were cut off instead of rounded?",
        "Displays cut digits off; declared with `rounding: down` it is taken so throughout.",
        ROUNDING,
    ),
    Check(
        "base",
        "Do the printed values give the percentage exactly, but of the other base?",
        "Rounding leaves both open, so it is a question and no fault.",
        "SAE J1321 names both bases",
    ),
    Check(
        "total",
        "Do the parts add up to the total?",
        "A part left out, or a total worked out anew, shows here.",
        ROUNDING,
    ),
    Check(
        "granularity",
        "Can a mean or a share of so many whole numbers be printed as this figure?",
        "A third of ten runs is none.",
        GRIM,
    ),
    Check(
        "stated-twice",
        "Is one quantity stated twice in a claim with figures that cannot both be true?",
        "Swapped digits and another unit show here.",
        ROUNDING,
    ),
    Check(
        "together",
        "Can this claim be true together with the others of its place?",
        "Speed, fuel and economy are tied by the quantities' own definitions. The smallest set that "
        "cannot all be true is named; the figures alone do not tell which of them is wrong.",
        ROUNDING,
    ),
    # Digits and units.
    Check(
        "reading",
        "Could the claim be read at all?",
        "What cannot be read cannot be tested; the other claims go on without it.",
        PRACTICE,
    ),
    Check(
        "unit-read",
        "What was a unit taken for that stands for several?",
        "Miles are nautical or statute, gallons American or imperial: a fifth apart.",
        "NIST SP 811, appendix B.8",
    ),
    Check(
        "more-digits-than-carried",
        "Are there more digits than the instrument, or the values behind a percentage, carry?",
        "Digits that noise writes are read as knowledge.",
        DIGITS,
    ),
    Check(
        "small-difference",
        "Does the rounding of the values leave the percentage wide open?",
        "A small difference of large values loses its digits.",
        DIGITS,
    ),
    Check(
        "uncertainty-digits",
        "Does an uncertainty carry two digits at most, and its value as many decimals?",
        "More digits of an uncertainty than that are not known.",
        UNCERTAINTY_DIGITS,
    ),
    Check(
        "percentage-of-a-percentage",
        "Is a quantity that is itself a percentage compared in per cent?",
        "From 35 to 32 % slip is 3 points or 9 per cent; the reader cannot tell which is meant.",
        PRACTICE,
    ),
    # What boats do.
    Check(
        "speed-for-length",
        "Is the speed one for a boat of this length?",
        "The length Froude number tells a slip of units or digits.",
        "Radojcic, Zgradic, Kalajdzic, Simic, Polish Maritime Research 2(82) 2014, pp. 9-26",
    ),
    Check(
        "specific-consumption",
        "Do fuel flow and power make a specific consumption that engines have?",
        "A slip of units moves it out of what engines do.",
        "EN 590 density of diesel; specific consumption of engines: common practice",
    ),
    Check(
        "power-needed",
        "Could the power be found that the stated speed takes?",
        "By the cube law a tenth more speed takes a third more power, or so much less resistance.",
        "Admiralty coefficient and cube law: common practice",
    ),
    # Choosing.
    Check(
        "best-of-several",
        "How large does the best of so many come out from noise alone?",
        "Who quotes the best of eight quotes its luck as well.",
        "order statistics of normal noise",
    ),
    Check(
        "up-to",
        "Does the published table reach what 'up to' says?",
        "The largest of a table is no larger than its lines.",
        ROUNDING,
    ),
    Check(
        "whole-sweep",
        "Is what is quoted the largest change of those published?",
        "One set point does not stand for the sweep.",
        PRACTICE,
    ),
    Check(
        "left-out",
        "Are set points that were measured not published?",
        "What is left out is seldom what looked best.",
        _SWITCHED,
    ),
    Check(
        "chosen-afterwards",
        "Was the claim chosen after the data were seen?",
        "Intervals and confidence hold for claims fixed beforehand.",
        _SWITCHED,
    ),
    Check(
        "unlike-set-points",
        "Are the two configurations compared at different set points?",
        "A difference between set points is none between configurations.",
        PRACTICE,
    ),
    Check(
        "not-declared",
        "Did the protocol declare the quantity among those that matter?",
        "What was not declared may have been found by looking around.",
        _SWITCHED,
    ),
    Check(
        "seal",
        "Were the claims sealed before the first run?",
        "A seal shows that they were not fitted to the data.",
        _SWITCHED,
    ),
)


def all_checks() -> dict[str, Check]:
    """Every check by its id; those of the catalogue's equations among them."""
    found = {check.id: check for check in _CHECKS}
    formulas: dict[str, list[str]] = {}
    for identity in identities():
        formulas.setdefault(identity.check, []).append(identity.formula)
    for name, listed in formulas.items():
        title = name.removesuffix("-at-most").replace("-", " ")
        own = found.get(name)
        found[name] = Check(
            name,
            f"Does the {title} follow from the figures beside it? {listed[0]}"
            + (f", and {len(listed) - 1} more ways" if len(listed) > 1 else ""),
            (own.why if own else "Quantities are tied by their definitions; a slip in any shows.")
            + (" A value outside of what boats do is noted as well." if name in _WATCHED else ""),
            ROUNDING,
        )
    return found


#: Quantities whose values are held against what boats do, beside their equations.
_WATCHED = ("economy", "slip")
