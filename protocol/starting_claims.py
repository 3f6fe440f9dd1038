"""A file of claims to start from, with comments that say what may be written: about a trial, or without one."""

from __future__ import annotations

from collections.abc import Sequence

from slackwater.protocol.declared.trial import Trial

_HEAD = """\
# What was published, word for word and digit for digit: the digits are part of what was said.
# 'slackwater audit FILE' holds the figures against each other{against}.
# 'slackwater audit --list' shows every quantity, unit and wording that is read.
title: What was published, and where
"""
_KNOWN = """\
# What is known of how the figures were got; what is not known is asked of the author.
# behind_each_figure: {sessions: 1, double_runs: 1, directions: both}
# rounding: down                    # digits were cut off instead of rounded
# read_to: {speed: 0.5 kn}          # read to a coarser step than the last digit printed
# boat: {fuel_capacity: 700 L, fuel_reserve: 10 %, waterline_length: 9.1 m}
"""
_STATED = """\
    # says: The sentence as it was published.
    # What was stated, under baseline, modified, difference or change, such as
    #   {baseline: 14.0 kn, modified: 14.7 kn, change: +5 %}   {change: 5 ± 1 %}   {change: up to 8 %}
    #   {change: no more than 3 % slower}   {change: a quarter less}   {change: +2.0 % (0.2 to 3.8 %)}
    stated: {change: no change}
"""


def claims_text(trial: Trial | None = None, path: str = "", quantities: Sequence[str] = ()) -> str:
    """The text of a file of claims.

    Parameters
    ----------
    trial : Trial, optional
        The trial that the claims are about.
    path : str
        Its file, from the folder of the claims.
    quantities : sequence of str
        What the trial tells of.
    """
    head = _HEAD.format(
        against=", against the runs behind them and against noise"
        if trial
        else " and against noise"
    )
    if trial is None:
        return head + _KNOWN + "claims:\n" + _claim("baseline", "modified", "2400 rpm", (), ())
    points = [f"{v:g} {trial.protocol.set_point_unit}" for v in trial.protocol.set_point_values]
    pair = next(iter(trial.comparisons), None)
    names = list(trial.configurations)
    baseline, modified = (pair.baseline, pair.modified) if pair else (names[0], names[-1])
    middle = points[len(points) // 2]
    return (
        head
        + f"trial: {path}\n"
        + f"selection: {{set_points: {len(points)}}}   # measured, published or not\n"
        + "# rounding: down                    # digits were cut off instead of rounded\n"
        + "claims:\n"
        + _claim(baseline, modified, middle, points, quantities)
    )


def _claim(
    baseline: str, modified: str, at: str, points: Sequence[str], quantities: Sequence[str]
) -> str:
    lines = ["  # One entry a claim. The one below shows how; put what was published in its place."]
    if quantities:
        lines.append(f"  # This trial tells of {', '.join(quantities)}.")
    if points:
        lines.append(f"  # Its set points: {', '.join(points)}.")
    lines += [
        "  - id: C1",
        "    quantity: speed",
        f"    baseline: {baseline}",
        f"    modified: {modified}",
        f"    at: {at}   # or a range (2300 to 3200 rpm), a speed, everywhere, anywhere",
    ]
    return "\n".join(lines) + "\n" + _STATED
