"""What to ask the author of a claim, ready to send."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.protocol.claims.claim import Claim, Claims


def questions(
    claims: Claims, claim: Claim, *, has_data: bool, beforehand: bool = False
) -> Iterator[str]:
    """What is not known of how a claim's figures were got, one question each.

    Parameters
    ----------
    claims : Claims
    claim : Claim
    has_data : bool
        The trial is at hand, so that only what it cannot tell is asked.
    beforehand : bool
        A seal shows that the claims were fixed before the data.
    """
    behind = claims.behind(claim)
    if not has_data:
        if behind.sessions is None:
            yield (
                "How many separate sessions stand behind each figure, for each configuration, and "
                "in which order were they run?"
            )
        if behind.double_runs is None:
            yield "How many runs stand behind each figure within a session?"
        if behind.directions is None:
            yield "Were the runs made in both directions, and how was the current taken out?"
        elif behind.directions == "one_way" and behind.current is None:
            yield "The runs went one way: how strong was the current, and which way did it set?"
        yield (
            "How were displacement, fuel, crew, wind, waves and water depth in the sessions with "
            "and without the change?"
        )
        if claim.quantity not in claims.instruments:
            title = claim.quantity.replace("_", " ")
            yield f"Which instrument gave the {title}, and what is its uncertainty?"
        yield "Can the table of single runs be had, with those that were left out and why?"
    if claims.selection.set_points is None and not has_data:
        yield "How many set points were measured, and are all of them published?"
    if not beforehand and (claim.chosen or claims.selection.chosen) is None:
        yield "Was what is claimed fixed before the data were seen?"
    if claim.at is None and claim.quantity in ("speed", "economy", "fuel_flow", "slip", "advance"):
        yield f"At which set point does claim {claim.id} hold?"
    if claim.quantity == "range" and claims.boat.fuel_reserve is None and not has_data:
        yield "Which reserve of fuel was kept back in the range, and of which capacity?"
