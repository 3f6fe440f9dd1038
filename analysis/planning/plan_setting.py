"""What of a protocol decides how well a difference is seen: set points, error rate, looks, instruments."""

from __future__ import annotations

from math import hypot

from slackwater.analysis.planning.power import Noise, Setting
from slackwater.analysis.planning.wanted import size_of
from slackwater.analysis.statistics.sequential import look_confidences
from slackwater.protocol.catalogue.measures import Measure
from slackwater.protocol.catalogue.recipes import OF_SPEED, SPEEDS, can_be_made, given, powers
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.units.quantity import Quantity

#: Quantities that have one value a session.
_SINGLE = ("range", "top_speed", "planing_threshold", "best_economy_speed")


def setting_of(
    protocol: Protocol, name: str, measure: Measure, level: float | None, notes: list[str]
) -> Setting:
    """How a difference in the quantity is seen; what is supposed along the way goes to `notes`."""
    analysis = protocol.analysis
    points = 1 if name in _SINGLE or name in protocol.beside else len(protocol.set_point_values)
    simultaneous = analysis.family != "single"
    confidence = analysis.confidence.to("%").value / 100
    if analysis.family == "all":
        families = _quantities(protocol)
        confidence = 1 - (1 - confidence) / families
        notes.append(
            f"The family is all quantities: {families} are counted on, which share the error."
        )
    looks = analysis.looks
    if looks is not None:
        family = points if simultaneous else 1
        confidence = float(
            look_confidences(looks.fractions, looks.boundary, confidence, family)[-1]
        )
        notes.append(
            f"The protocol declares {len(looks.at_sessions)} looks. The power is that of the last "
            "one alone, held to its limit; stopping early adds to it and may save sessions."
        )
    prior, prior_by_set_point = None, True
    declared = protocol.noise.get(name)
    if declared is not None:

        def sd(quantity: Quantity | None) -> float:
            return 0.0 if quantity is None else size_of(f"noise: {name}", quantity, measure, level)

        prior_by_set_point = declared.session_by_set_point is not None
        prior = Noise(
            sd(declared.between_sessions),
            sd(declared.session_by_set_point),
            sd(declared.within_session),
            float(declared.sessions - 1),
        )
    current: str = analysis.current if name in OF_SPEED else "double_run"
    if current == "mean_of_means" and protocol.runs.first_direction == "alternate":
        current = "double_run"  # as the analysis does where passes do not alternate
        notes.append(
            "With first_direction: alternate the passes of a set point do not alternate, so the "
            "plain mean of the double runs stands for the mean of means."
        )
    return Setting(
        set_points=points,
        configurations=max(len(set(protocol.sessions.order)), 2),
        blocked=protocol.sessions.block == "day",
        confidence=confidence,
        simultaneous=simultaneous,
        current="double_run" if current == "none" else current,
        prior=prior,
        prior_by_set_point=prior_by_set_point,
        agreement=analysis.confidence.to("%").value / 100 if name in protocol.rated else None,
        **_instruments(protocol, name, measure, level, notes),
    )


def _quantities(protocol: Protocol) -> int:
    """Quantities that the trial will compare, as far as the protocol can tell."""
    held = protocol.set_point_measure
    count = sum(name != held for name in protocol.measures)
    have = given({*protocol.measures, held})
    count += can_be_made("economy", have) + can_be_made("distance_per_energy", have)
    pairs = max(len(set(protocol.sessions.order)) - 1, 1)
    return max(count, 1) * pairs


def _instruments(
    protocol: Protocol, name: str, measure: Measure, level: float | None, notes: list[str]
) -> dict[str, float]:
    """Variance of a difference from instruments that did not serve both configurations.

    As `common` where all of them declare their errors common to all set points, else as `known`.
    """
    behind = powers(name, given(protocol.measures))
    total, common = 0.0, True
    for each in behind:
        declared = protocol.measures.get(each)
        if declared is None or declared.shared or declared.standard_uncertainty is None:
            continue
        common &= declared.errors == "common"
        spread = declared.standard_uncertainty
        unit = protocol.measure(each).unit
        own = each == name or (name == "speed" and each in SPEEDS)
        if spread.unit == "%" and measure.scale == "ratio":
            part = spread.value / 100
        elif own and measure.scale == "difference" and spread.unit != "%":
            part = spread.size_in(unit)
        elif own and level is not None and spread.unit != "%":
            part = spread.size_in(unit) / level
        else:
            notes.append(
                f"The calibration of {each} ({spread}) does not cancel and could not be counted "
                "here; the smallest differences to be seen are larger than shown."
            )
            continue
        total = hypot(total, part)
    if total:
        notes.append(
            "Instruments that do not serve both configurations are counted: their calibration "
            "sets a limit that no number of runs or sessions lowers."
        )
    return {"common" if common else "known": 2 * total**2}
