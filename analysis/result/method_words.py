"""How the figures of a result were got, in words a reader can follow, and on which texts."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed

_CURRENT = {
    "tide_fit": (
        "The current was taken out by one least-squares fit to all runs of an outing: a speed "
        "through the water for each session and set point, plus a current along the course that "
        "is a smooth function of time (a polynomial whose degree the runs themselves call for)."
    ),
    "mean_of_means": (
        "The current was taken out by the mean of means of the alternating runs at each set point."
    ),
    "double_run": (
        "The current was taken out by averaging the two runs of each double run. A current that "
        "changes between the two leaves half of its change in the speed."
    ),
    "none": (
        "No current was taken out: the protocol declares that there is none. Speed through the "
        "water is the mean speed over ground."
    ),
    "one_way": (
        "The runs went one way only. Speed through the water cannot be told from the current, so "
        "no verdict on speed is given."
    ),
}


_NO_RUNS = "The trial has no runs; what is told comes from its {told} alone."

_BY_LOG = (
    "Speed through the water is that of the log, so that no current had to be taken out. An error "
    "of the log's calibration cancels between configurations that it served alike."
)


def _by_log(analysed: Analysed) -> bool:
    """Whether the speed came from a log."""
    protocol, frame = analysed.trial.protocol, analysed.reduction.frame
    log = "speed_through_water" in protocol.measures and "speed_through_water" in frame
    return log and (protocol.analysis.current == "none" or "speed_over_ground" not in frame)


def _beside(analysed: Analysed) -> list[str]:
    """What the trial tells of beside runs."""
    there = {"manoeuvres": analysed.tried, "ratings": analysed.rated}
    return [name for name, each in there.items() if each is not None]


def method_text(analysed: Analysed) -> tuple[str, ...]:
    """The method of an analysis, a paragraph each."""
    protocol = analysed.trial.protocol
    confidence = f"{protocol.analysis.confidence.to('%').value:g} %"
    family = {
        "set_points": "all set points of a quantity together",
        "all": "all quantities and set points together",
        "single": "each comparison by itself",
    }[protocol.analysis.family]
    text = [
        _NO_RUNS.format(told=" and ".join(_beside(analysed)))
        if analysed.reduction.frame.empty
        else _BY_LOG
        if _by_log(analysed)
        else _CURRENT[analysed.reduction.method],
        (
            "The session is the unit of replication: each session gives one value at each set "
            "point, and the differences between sessions of one configuration tell the noise. Part "
            "of that noise is shared by all set points of a session, part belongs to each; both "
            "are estimated, the second for each set point with the help of the others."
        ),
        (
            f"Intervals hold with {confidence} confidence for {family}. The noise floor is the "
            "smallest difference that could have been told from zero here. Differences already "
            "established leave the family before the next are judged; p-values, noise floors and "
            "the ends of intervals that are clear of zero come from those same steps, so that they "
            "say one thing. The other ends, and intervals that hold zero, hold for all at once by "
            "a single step."
        ),
    ]
    if any(values.kind == "equal speed" for values in analysed.tables.values()):
        text.append(
            "At equal speed each session is read where its own shape-preserving curve over the set "
            "points has that speed, never beyond its measured ends. What the curves may be off by "
            "between set points is found by leaving set points out, and counts in every interval. "
            "The stretches of the axis are where the simultaneous interval stays on one side of "
            "zero, or inside the worthwhile difference, all along; they are stricter than the "
            "verdicts at the set points, which are judged one after the other."
        )
    if any(values.quantity == "best_economy_speed" for values in analysed.tables.values()):
        text.append(
            "The speed of best economy is the top of a parabola about the most economical set "
            "point, by the slope that each session shows there. Its interval allows for how flat "
            "the top is and for how far apart the set points are."
        )
    if any(values.quantity.startswith("planing") for values in analysed.tables.values()):
        text.append(
            "The planing threshold is given by every definition the trial allows: the engine speed "
            "that takes the boat to the speed at which craft of her length usually plane (common "
            "practice; assumes that she is like them); the middle of the steepest rise of speed "
            "over engine speed (assumes that resistance eases most there, and that neither "
            "governor nor propeller makes it); the highest trim, where trim was measured (assumes "
            "that nothing else moves it)."
        )
    if analysed.trial.corrections:
        text.append(
            "Corrections were declared. A declared sensitivity was taken out of the session values "
            "and its uncertainty added; one to be estimated is part of the comparison, which then "
            "holds at equal values of what differed."
        )
    if any(values.covariates is not None for values in analysed.tables.values()) and (
        protocol.analysis.trend == "linear"
    ):
        text.append(
            "A steady drift over the trial was allowed for, as the protocol declares: configurations "
            "are compared as if all sessions stood at its middle."
        )
    if protocol.sessions.block == "day":
        text.append(
            "Sessions of one day are compared with each other, so that what a day does to both "
            "configurations cancels."
        )
    if analysed.sealed.holds:
        text.append(
            "The protocol was sealed before the first run. What it declares (the quantities with a "
            "worthwhile difference at its set points, and the claims sealed along with it) is "
            f"judged as if nothing else had been looked at. Everything else was found afterwards: "
            f"together, over all quantities and pairs, it is one family of {confidence} "
            "confidence (Bonferroni over the sweeps). A seal shows that the protocol is as it was; "
            "the time is that of its maker's own clock."
        )
    looks = protocol.analysis.looks
    if looks is not None:
        boundary = {"obrien_fleming": "O'Brien and Fleming", "pocock": "Pocock"}[looks.boundary]
        counts = ", ".join(str(count) for count in looks.at_sessions)
        text.append(
            f"Looks were declared at {counts} sessions with each configuration. Each is held to "
            f"its limit after {boundary}, so that all looks together keep the confidence "
            "declared, and so do their intervals."
        )
    if protocol.noise:
        named = ", ".join(sorted(protocol.noise))
        text.append(
            f"Noise known from earlier trials was joined in, with its own degrees of freedom, for: "
            f"{named}."
        )
    if any((values.instrument_variance > 0).any() for values in analysed.tables.values()):
        text.append(
            "Instruments that did not serve both configurations add their calibration uncertainty "
            "to every difference; instruments that served both cancel in a ratio."
        )
    return tuple(text)


def sources(analysed: Analysed) -> tuple[str, ...]:
    """The texts behind the method."""
    listed = [
        "JCGM 100:2008, Guide to the expression of uncertainty in measurement",
        "R. A. Fisher (1935) and B. L. Welch (1947): intervals from two mean squares",
        "R. Marcus, E. Peritz, K. R. Gabriel (1976): closed testing",
        "R. C. Paule and J. Mandel (1982): variance between groups",
        "D. J. Schuirmann (1987): two one-sided tests for equivalence",
    ]
    if analysed.reduction.method == "mean_of_means":
        listed.append("E. C. Tupper, Introduction to Naval Architecture: mean of means")
    if analysed.trial.protocol.analysis.looks is not None:
        listed.append("S. J. Pocock (1977), P. C. O'Brien and T. R. Fleming (1979): declared looks")
    if analysed.reduction.method == "tide_fit":
        listed.append("C. M. Hurvich and C.-L. Tsai (1989): choice of the degree of the current")
    if any(values.kind != "set points" for values in analysed.tables.values()):
        listed.append("F. N. Fritsch and J. Butland (1984): shape-preserving curves")
        listed.append("E. C. Fieller (1954): intervals of a ratio, for the top of a curve")
    return tuple(listed)
