"""What the verdicts on claims promise, over simulated trials whose truth is known.

    python tests/calibration/claims_table.py [TRIALS] [SEED]

prints the table: a row a claim, the share of trials in which it came out as the row says, and the
bound that is promised. Sessions in the orders ABBAAB and ABBAABBA, eight set points, 0.8 kn of tide.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))

from world import SPEEDS, World, analyse_runs, simulate

from slackwater.analysis.audit.against_data import Held, hold
from slackwater.analysis.audit.rows_beyond import rows_for
from slackwater.analysis.verdict.compared import Compared
from slackwater.analysis.verdict.judgement import Judged
from slackwater.protocol.claims.claim import Claim
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of

ORDERS = ("ABBAAB", "ABBAABBA")
POINT = 5  # the set point that claims are made at
FITS = ("upheld", "compatible")


@dataclass(frozen=True)
class Row:
    """A claim, the truth behind it, and how often it may, or has to, come out so.

    Attributes
    ----------
    name : str
    truth : float
        True change at every set point. [1]
    change : str
        As stated; "best" quotes the largest gain of the sweep as measured.
    verdicts : tuple of str
        What is counted.
    at_most, at_least : float or None
        The share promised. [1]
    average : bool
        It speaks of the whole sweep.
    given : callable
        Which trials count, by their comparison at the set point of the claim.
    """

    name: str
    truth: float
    change: str
    verdicts: tuple[str, ...]
    at_most: float | None = None
    at_least: float | None = None
    average: bool = False
    given: Callable[[Compared], bool] = lambda row: True


def _excludes_3(row: Compared) -> bool:
    return row.low is not None and row.low > -0.03


def _false(truth: float, change: str, at_most: float = 0.02, **more: bool) -> Row:
    return Row(f"true {100 * truth:+g} %, false", truth, change, ("upheld",), at_most, **more)


def _true(truth: float, change: str, **more: bool) -> Row:
    return Row(f"true {100 * truth:+g} %, true", truth, change, FITS, at_least=0.97, **more)


ROWS: tuple[Row, ...] = (
    _false(0.0, "+3 %"),
    _false(0.0, "-3 %"),
    _false(0.0, "at least 1 %"),
    Row("true 0, best of eight as printed", 0.0, "best", ("upheld",), at_most=0.02),
    Row(
        "true 0, where the interval excludes -3 %",
        0.0, "no more than 3 % slower", ("upheld",), at_least=1.0, given=_excludes_3,
    ),
    _false(0.0, "+2.0 %", average=True),
    _false(0.05, "+7.5 %", at_most=0.05),
    _false(0.05, "over 6 %"),
    _false(0.05, "a tenth more"),
    _false(0.05, "within 3 %"),
    _false(0.05, "no change"),
    _false(0.05, "-5 %"),
    _false(0.05, "7.5 ± 1.0 %", at_most=0.05),
    _true(0.05, "+5.0 %"),
    _true(0.05, "+5 %"),
    _true(0.05, "at least 4 %"),
    _true(0.05, "5 ± 1 %"),
    _true(0.05, "4 to 6 %"),
    _true(0.05, "+5.0 %", average=True),
    _false(0.02, "+4.0 %", at_most=0.05),
    _false(-0.04, "no more than 3 % slower"),
    _false(-0.03, "no loss"),
)  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """How often a row came out as it says."""

    row: Row
    order: str
    hits: int
    trials: int

    @property
    def share(self) -> float:
        return self.hits / max(self.trials, 1)

    def error(self) -> float:
        """Standard error of the share at the bound that is promised. [1]"""
        bound = self.row.at_most if self.row.at_most is not None else self.row.at_least or 1.0
        return float(np.sqrt(bound * (1 - bound) / max(self.trials, 1)))

    def keeps(self, errors: float = 0.0) -> bool:
        """Whether it keeps its bound, within so many standard errors."""
        slack = errors * self.error()
        if self.row.at_most is not None:
            return self.share <= self.row.at_most + slack
        return self.share >= (self.row.at_least or 0.0) - slack


def claim_of(change: str, at: str = "") -> Claim:
    """A claim on the speed of B against A."""
    entry = {"id": "C1", "quantity": "speed", "baseline": "A", "modified": "B"}
    data = {"claims": [{**entry, **({"at": at} if at else {}), "stated": {"change": change}}]}
    claims, findings = build_claims(document_of(data))
    if claims is None:
        raise ValueError(findings[0].message)
    return claims.claims[0]


def trials_of(order: str, truth: float, number: int, seed: int) -> list[Judged]:
    """Simulated trials with one true change at every set point."""
    world = World(order, tide=0.8)
    if truth:
        world = replace(world, effect=(truth,) * len(SPEEDS))
    rng = np.random.default_rng([seed, len(order), round(1000 * abs(truth)), truth < 0])
    return [analyse_runs(world, simulate(world, rng)) for _ in range(number)]


def held_in(row: Row, judged: Judged) -> Held:
    """The claim of a row held against one trial, by the way that users' claims take."""
    if row.change == "best":
        best = max(judged.rows, key=lambda r: r.change or 0.0)
        size = max(best.change or 0.0, 0.001)
        return hold(claim_of(f"{100 * size:+.1f} %", str(best.at)), judged.rows)
    at = "average" if row.average else str(judged.rows[POINT].at)
    claim = claim_of(row.change, at)
    return hold(claim, judged.rows, rows=rows_for(claim, judged.rows, [judged]))


def outcomes(
    trials: int, seed: int, orders: Sequence[str] = ORDERS, rows: Sequence[Row] = ROWS
) -> tuple[list[Outcome], int]:
    """Every row over so many trials, and how many claims outside an interval were not called so."""
    found, let_through = [], 0
    for order in orders:
        for truth in dict.fromkeys(row.truth for row in rows):
            simulated = trials_of(order, truth, trials, seed)
            for row in rows:
                if row.truth != truth:
                    continue
                counted = [j for j in simulated if row.given(j.rows[POINT])]
                held = [held_in(row, judged) for judged in counted]
                hits = sum(one.verdict in row.verdicts for one in held)
                found.append(Outcome(row, order, hits, len(counted)))
                let_through += sum(_let_through(one) for one in held)
    return found, let_through


def _let_through(held: Held) -> bool:
    """Whether what is stated lies outside the interval, and the verdict does not say so.

    Worked out from the numbers of the row, and not by the code under test.
    """
    row, stated = held.row, held.stated
    if row is None or stated is None or row.low is None or row.high is None:
        return False
    outside = float(stated.low) > row.high + 1e-9 or float(stated.high) < row.low - 1e-9
    return outside and held.verdict in (*FITS, "within noise")


def table(found: Sequence[Outcome], let_through: int) -> str:
    """The outcomes as text."""
    head = f"{'claim':66}{'order':10}{'trials':>7}  {'counted':22}{'share':>8}{'promised':>10}"
    lines = [head, "-" * len(head)]
    for one in found:
        row = one.row
        sign, bound = ("<=", row.at_most) if row.at_most is not None else (">=", row.at_least)
        what = " or ".join(row.verdicts)
        name = f"{row.name}: {row.change}" + (" (average)" if row.average else "")
        mark = (
            "" if one.keeps() else "  within its Monte Carlo error" if one.keeps(3) else "  BROKEN"
        )
        lines.append(
            f"{name:66}{one.order:10}{one.trials:7}  {what:22}{100 * one.share:7.1f}%"
            f"{sign:>4}{100 * (bound or 0):4.0f} %{mark}"
        )
    lines.append(
        f"outside the interval, and called within noise, compatible or upheld: {let_through}"
    )
    return "\n".join(lines)


if __name__ == "__main__":
    words = sys.argv[1:]
    trials = int(words[0]) if words else 400
    print(table(*outcomes(trials, int(words[1]) if words[1:] else 20260601)))
