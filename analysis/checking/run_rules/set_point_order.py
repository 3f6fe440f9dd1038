"""The set points were not run in the order declared."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules._kit import (
    Example,
    Found,
    RunsRule,
    RunTable,
    Severity,
    Trial,
    all_double_runs,
    listed,
    number,
    row_place,
    touched,
)

FEWEST = 4  # set points; fewer stand in order by chance too often


def fault(order: list[float], declared: str) -> str:
    """What is wrong with an order of set points, in words; empty when nothing is."""
    ascending, descending = order == sorted(order), order == sorted(order, reverse=True)
    if declared == "shuffled":
        if len(order) < FEWEST or not (ascending or descending):
            return ""
        return "ascending" if ascending else "descending"
    return (
        ""
        if len(order) < 2 or {"ascending": ascending, "descending": descending}[declared]
        else "mixed"
    )


def check(trial: Trial, runs: RunTable) -> Found:
    declared = trial.protocol.runs.set_point_order
    if declared == "shuffled" and len(trial.protocol.set_point_values) < FEWEST:
        yield RULE.not_applicable(
            f"with fewer than {FEWEST} set points an order by chance is like any other"
        )
    orders: dict[str, list[float]] = {}
    rows: dict[str, int] = {}
    for session, found in all_double_runs(runs).items():
        orders[session] = list(dict.fromkeys(one.set_point for one in found))
        rows[session] = found[0].row if found else 1
        wrong = fault(orders[session], declared)
        if wrong:
            yield RULE.found(
                row_place(trial, runs, rows[session], "set_point"),
                f"session {session} ran the set points in {wrong} order "
                f"({listed([number(value) for value in orders[session]], 8)}); declared is "
                f"{declared}{touched(trial, [session])}",
                session=session,
            )
    alike = {tuple(order) for order in orders.values()}
    if declared == "shuffled" and len(orders) > 2 and len(alike) == 1:
        order = next(iter(alike))
        if len(order) >= FEWEST and not fault(list(order), declared):
            yield RULE.found(
                row_place(trial, runs, next(iter(rows.values())), "set_point"),
                f"all {len(orders)} sessions ran the set points in one order "
                f"({listed([number(value) for value in order], 8)}); declared is shuffled"
                + touched(trial, list(orders)),
            )


RULE = RunsRule(
    id="set-point-order",
    severity=Severity.WARNING,
    title="The set points were not run in the order declared.",
    looks_at=(
        "runs: set_point",
        "protocol.runs.set_point_order",
    ),
    why=(
        "Declared as shuffled, the order parts drift from speed; run upwards or the same way "
        "every time, it does not. The drift then bends the curve along the sweep."
    ),
    fix="correct the starts if they are wrong; shuffle the set points anew for each session",
    source=("common practice; R. A. Fisher, The Design of Experiments (1935): order by chance"),
    passes=Example(protocol="runs: {set_point_order: ascending}"),
    fails=Example(protocol="runs: {set_point_order: descending}"),
    check=check,
)
