"""What to ask the author of a claim: each question with its reason, its source, and where to answer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from slackwater.analysis.audit.sources import PRACTICE, ROUNDING, SWITCHED
from slackwater.protocol.claims.claim import Claim, Claims

_HURLBERT = "S. H. Hurlbert, Ecological Monographs 54 (1984): pseudoreplication"
_BY_STATISTICS, _BY_OTHER_MEANS = "JCGM 100:2008 (GUM), 4.2", "JCGM 100:2008 (GUM), 4.3"
_TUPPER = "E. C. Tupper, Introduction to Naval Architecture, pp. 243-245"
_ARMITAGE = "P. Armitage, C. K. McPherson and B. C. Rowe, J. R. Statist. Soc. A 132 (1969)"
_REPORTED = "40 CFR 1066, 1066.601(b): all results are reported, also those discarded"


@dataclass(frozen=True, slots=True)
class Question:
    """One thing to ask.

    Parameters
    ----------
    text : str
        Ready to send.
    why : str
        Why it is asked.
    source : str
    key : str
        Where the reply form takes the answer, as a dotted path; empty for an answer in words.
    """

    text: str
    why: str
    source: str
    key: str = ""

    def to_dict(self) -> dict[str, str | None]:
        """As the JSON carries it."""
        return {
            "question": self.text,
            "why": self.why,
            "source": self.source,
            "key": self.key or None,
        }


def questions(
    claims: Claims, claim: Claim, *, has_data: bool, beforehand: bool = False
) -> Iterator[Question]:
    """What is not known of how a claim's figures were got.

    Parameters
    ----------
    claims : Claims
    claim : Claim
    has_data : bool
        The trial is at hand, so that only what it cannot tell is asked.
    beforehand : bool
        A seal shows that the claims were fixed before the data.
    """
    if not has_data:
        yield from _of_the_runs(claims, claim)
    if claims.selection.set_points is None and not has_data:
        yield Question(
            "How many set points were measured, and are all of them published?",
            "The best of several figures is better than any one fixed beforehand, by chance alone.",
            _ARMITAGE,
            "selection.set_points",
        )
    if not beforehand and (claim.chosen or claims.selection.chosen) is None:
        yield Question(
            "Was what is claimed fixed before the data were seen?",
            "What is chosen after the data were seen is held against all that could have been chosen.",
            SWITCHED,
            "selection.chosen",
        )
    yield from _of_its_place(claims, claim, has_data)


def _of_the_runs(claims: Claims, claim: Claim) -> Iterator[Question]:
    behind = claims.behind(claim)
    if behind.sessions is None:
        yield Question(
            "How many separate sessions stand behind each figure, for each configuration, and "
            "in which order were they run?",
            "Sessions differ by the day, the load and the water; runs of one session share all that.",
            _HURLBERT,
            "behind_each_figure.sessions",
        )
    if behind.double_runs is None:
        yield Question(
            "How many runs stand behind each figure within a session?",
            "A mean of more runs scatters less.",
            _BY_STATISTICS,
            "behind_each_figure.double_runs",
        )
    yield from _of_the_current(behind.directions, behind.current is not None)
    yield Question(
        "How were displacement, fuel, crew, wind, waves and water depth in the sessions with "
        "and without the change?",
        "What differs between the two sides on average adds to the difference that is claimed.",
        PRACTICE,
    )
    if claim.quantity not in claims.instruments:
        title = claim.quantity.replace("_", " ")
        yield Question(
            f"Which instrument gave the {title}, and what is its uncertainty?",
            "A difference below what the instrument errs by cannot be told from that.",
            _BY_OTHER_MEANS,
            f"instruments.{claim.quantity}",
        )
    yield Question(
        "Can the table of single runs be had, with those that were left out and why?",
        "With the runs the claim can be tested; without them it can only be held against itself.",
        _REPORTED,
        "runs",
    )


def _of_the_current(directions: str | None, known: bool) -> Iterator[Question]:
    why = "A current adds to a speed over the ground one way and takes from it the other."
    if directions is None:
        yield Question(
            "Were the runs made in both directions, and how was the current taken out?",
            why,
            _TUPPER,
            "behind_each_figure.directions",
        )
    elif directions == "one_way" and not known:
        yield Question(
            "The runs went one way: how strong was the current, and which way did it set?",
            why,
            _TUPPER,
            "behind_each_figure.current",
        )


def _of_its_place(claims: Claims, claim: Claim, has_data: bool) -> Iterator[Question]:
    if claim.place is None and claim.quantity in (
        "speed",
        "economy",
        "fuel_flow",
        "slip",
        "advance",
    ):
        yield Question(
            f"At which set point does claim {claim.id} hold?",
            "A change differs along the sweep, so that a figure needs its place.",
            PRACTICE,
            f"claims.{claim.id}.at",
        )
    if claim.quantity == "range" and claims.boat.fuel_reserve is None and not has_data:
        yield Question(
            "Which reserve of fuel was kept back in the range, and of which capacity?",
            "A range is a capacity less a reserve, times an economy.",
            PRACTICE,
            "boat.fuel_reserve",
        )


def about_the_figures(claim: Claim) -> Question:
    """What to ask of a claim whose figures, as printed, cannot all be true."""
    return Question(
        f"What were the figures of claim {claim.id} as they were measured, before any reckoning or "
        "rounding?",
        "As they are printed they cannot all be true at once, by more than their rounding.",
        ROUNDING,
        f"claims.{claim.id}.stated",
    )
