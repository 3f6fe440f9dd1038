"""What a verdict leans on: its assumptions, each with a figure and what it would change.

Nothing here changes a verdict after the fact. The figure that decides is looked at, or the first one
where none is declared.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.assumptions import (
    Levels,
    drift,
    outlying,
    randomised,
    session_levels,
)
from slackwater.analysis.statistics.comparison import Differences
from slackwater.analysis.statistics.contrasts import contrasts
from slackwater.analysis.verdict.decisions import natural
from slackwater.analysis.verdict.judgement import Judged
from slackwater.analysis.wording.numbers import change_scale, fixed, uncertainty_text, with_unit
from slackwater.analysis.wording.words import count_of

Array = NDArray[np.float64]

FALSE_ALARM = 0.05


@dataclass(frozen=True, slots=True)
class Leaning:
    """One assumption of one comparison.

    Attributes
    ----------
    baseline, modified, quantity : str
    check : str
        "outlying session", "one session left out", "current", "trend", "even noise",
        "earlier trials" or "order drawn".
    session : str or None
    value : float or None
        The figure, on the scale that people read.
    p_value : float or None
    remark : bool
        It departs from what is assumed by more than one trial in twenty would.
    message : str
        In a sentence, with what it would change.
    """

    baseline: str
    modified: str
    quantity: str
    check: str
    session: str | None
    value: float | None
    p_value: float | None
    remark: bool
    message: str

    def as_row(self) -> dict[str, Any]:
        """As a table takes it."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class OtherCurrent:
    """Session values as they are when the current is taken out in another way.

    Attributes
    ----------
    instead, declared : str
        The two ways in words.
    tables : mapping of SessionValues
        By key, of the sessions of the trial.
    """

    instead: str
    declared: str
    tables: Mapping[str, SessionValues]


def leanings(
    judged: Sequence[Judged],
    blocks: Sequence[str] | None = None,
    other: OtherCurrent | None = None,
) -> list[Leaning]:
    """What the verdicts on the deciding figure of each pair lean on.

    Parameters
    ----------
    judged : sequence of Judged
    blocks : sequence of str, optional
        Of the sessions, where they are compared within blocks.
    other : OtherCurrent, optional
        What another way of taking the current out gives; None where there is no other.
    """
    found = []
    for each in looked_at(judged):
        found += _Look(each, None if blocks is None else list(blocks), other).all()
    return found


def looked_at(judged: Sequence[Judged]) -> list[Judged]:
    """One comparison for each pair: the one that decides, else the first that can be judged."""
    first: dict[tuple[str, str], Judged] = {}
    for each in judged:
        if each.differences is None or not each.rows:
            continue
        pair = each.rows[0].baseline, each.rows[0].modified
        if each.rows[0].deciding or pair not in first:
            first[pair] = each
    return list(first.values())


class _Look:
    """The looks at one comparison."""

    def __init__(
        self, judged: Judged, blocks: list[str] | None, other: OtherCurrent | None
    ) -> None:
        self.judged, self.blocks, self.other = judged, blocks, other
        row = judged.rows[0]
        self.fitted = np.array(judged.configurations)
        self.baseline, self.modified = row.baseline, row.modified
        self.values = judged.table.on_scale()
        self.levels: Levels | None = session_levels(self.values, judged.layout)

    def all(self) -> list[Leaning]:
        """Every look that the sessions allow."""
        looks = (
            self.outlier,
            self.left_out,
            self.current,
            self.trend,
            self.even,
            self.prior,
            self.order,
        )
        return [found for found in (look() for look in looks) if found is not None]

    def _said(
        self,
        check: str,
        message: str,
        *,
        session: str | None = None,
        value: float | None = None,
        p_value: float | None = None,
        remark: bool = False,
    ) -> Leaning:
        quantity = self.judged.table.key.replace("_", " ")
        pair = self.baseline, self.modified
        return Leaning(*pair, quantity, check, session, value, p_value, remark, message)

    def _size(self, value: float) -> str:
        scale = change_scale(self.judged.table.scale, self.judged.table.unit)
        return with_unit(fixed(scale.of(value), 1, signed=True), scale.unit)

    def outlier(self) -> Leaning | None:
        """A session that stands apart from the others of its configuration."""
        found = None if self.levels is None else outlying(self.levels)
        if found is None:
            return None
        at, deviation, p = found
        session, size = self.judged.table.sessions[at], natural(deviation, self.judged.table.scale)
        if p > FALSE_ALARM:
            message = (
                f"no session stands apart from the others with the same configuration; {session} "
                f"is the furthest, at {self._size(size)} (p {p:.2g})"
            )
        else:
            message = (
                f"session {session} stands {self._size(size)} apart from the others with "
                f"{self.fitted[at]} (p {p:.2g}); without it the noise, and with it every noise floor, "
                "would be smaller: look for what was different that day"
            )
        return self._said(
            "outlying session",
            message,
            session=session,
            value=size,
            p_value=p,
            remark=p <= FALSE_ALARM,
        )

    def left_out(self) -> Leaning | None:
        """Whether any verdict turns when one session is left out, held to the same noise floor."""
        found = self.judged.differences
        if found is None:
            return None
        verdicts = np.array([row.p_value is not None for row in self.judged.rows])
        turned: dict[str, int] = {}
        tried = 0
        for s, name in enumerate(self.judged.table.sessions):
            rest = np.isfinite(self.values) & (np.arange(len(self.values)) != s)[:, None]
            sides = [
                (rest & (self.fitted == each)[:, None]).any(axis=1).sum()
                for each in (self.baseline, self.modified)
            ]
            if min(sides) < 1 or self.fitted[s] not in (self.baseline, self.modified):
                continue
            turns = verdicts & self._turns(found, self._differences(self.values, rest))
            tried += 1
            if turns.any():
                turned[name] = int(turns.sum())
        if not tried:
            return None
        if not turned:
            message = (
                "no verdict turns when any one session is left out and the rest is held to the "
                "same noise floor"
            )
        else:
            worst = max(turned, key=lambda name: turned[name])
            message = (
                f"{turned[worst]} of {verdicts.sum()} verdicts would turn without session {worst}, "
                f"held to the same noise floor; {len(turned)} of {tried} sessions turn any"
            )
        session = max(turned, key=lambda name: turned[name]) if turned else None
        return self._said(
            "one session left out", message, session=session, value=float(len(turned))
        )

    def _differences(self, values: Array, there: NDArray[np.bool_]) -> Array:
        """Differences of some of the session values, shape (positions,); NaN where none is left."""
        layout = contrasts(list(self.fitted), self.baseline, self.modified, there, self.blocks)
        return np.asarray((layout.weights * np.where(there, values, 0.0)).sum(axis=0))

    @staticmethod
    def _turns(found: Differences, difference: Array) -> NDArray[np.bool_]:
        """Whether a verdict would turn, were this the difference and the noise floor the same."""
        beyond = np.abs(difference) > found.floor
        same_side = np.sign(difference) == np.sign(found.difference)
        turned = (beyond != found.established) | (found.established & beyond & ~same_side)
        return np.asarray(np.isfinite(difference) & turned)

    def current(self) -> Leaning | None:
        """What would be found with the current taken out in another way."""
        found, table = self.judged.differences, self.judged.table
        instead = None if self.other is None else self.other.tables.get(table.key)
        if found is None or instead is None or self.other is None:
            return None
        if instead.sessions != table.sessions or instead.labels != table.labels:
            return None
        values = instead.on_scale()
        difference = self._differences(values, np.isfinite(values))
        moved = np.abs(difference - found.difference)
        if not (moved > 0).any():  # no speed in it
            return None
        verdicts = np.array([row.p_value is not None for row in self.judged.rows])
        turns = verdicts & self._turns(found, difference)
        looked = (verdicts | ~verdicts.any()) & np.isfinite(moved)
        another = f"with {self.other.instead} in place of {self.other.declared}"
        if not looked.any():
            return self._said(
                "current",
                f"{another} no difference is left where there is a verdict: whether one would turn "
                "could not be looked at",
            )
        size = abs(natural(float(moved[looked].max()), table.scale))
        scale = change_scale(table.scale, table.unit)
        message = (
            f"{another}, differences move by up to "
            f"{with_unit(uncertainty_text(scale.of(size)), scale.unit)}"
        )
        if turns.any():
            message += (
                f" and {turns.sum()} of {verdicts.sum()} verdicts would turn, held to the same noise "
                "floor: what the current is taken to do between the two runs of a double run decides"
            )
        else:
            message += " and no verdict turns, held to the same noise floor"
        if lost := int((verdicts & ~looked).sum()):
            message += f"; {count_of(lost, 'verdict')} could not be looked at in that way"
        return self._said("current", message, value=size, remark=bool(turns.any()))

    def trend(self) -> Leaning | None:
        """A drift from the first session to the last, both configurations alike."""
        if self.levels is None or self.judged.table.covariates is not None:
            return None
        found = drift(self.levels)
        if found is None:
            return None
        change, p = found
        size = natural(change, self.judged.table.scale)
        if p > FALSE_ALARM:
            message = f"no drift shows over the trial ({self._size(size)} in all, p {p:.2g})"
        else:
            message = (
                f"the boat drifted by {self._size(size)} over the trial (p {p:.2g}), which counts as "
                "noise here; 'trend: linear', declared beforehand, would take it out"
            )
        return self._said("trend", message, value=size, p_value=p, remark=p <= FALSE_ALARM)

    def even(self) -> Leaning | None:
        """The position that scatters most beyond what the sweep gives it."""
        found = self.judged.differences
        if found is None or found.noise.specific_df <= 0:
            return None
        plain = self.judged.layout.spread
        with np.errstate(invalid="ignore", divide="ignore"):
            raised = np.sqrt(found.spread / plain)
        if not np.isfinite(raised).any():
            return None
        at = int(np.nanargmax(raised))
        most = float(raised[at])
        if most <= 1.0 + 1e-9:
            message = "no place on the sweep scatters far more than the others allow"
        else:
            message = (
                f"{self.judged.table.labels[at]} scatters more than the others allow, or the sides "
                f"differ; its noise was raised by a factor of {most:.2g}"
            )
        return self._said("even noise", message, value=most, remark=most > 1.0 + 1e-9)

    def prior(self) -> Leaning | None:
        """Noise of earlier trials."""
        found = self.judged.differences
        if found is None or not self.judged.prior:
            return None
        fits = found.noise.prior_fits
        message = (
            "all noise is that of earlier trials; nothing in this one can check it"
            if fits is None
            else "the noise of earlier trials fits what the sessions show and was joined in"
            if fits.all()
            else "the sessions scatter more than earlier trials let expect; those were left out"
        )
        return self._said("earlier trials", message, remark=fits is None or not bool(fits.all()))

    def order(self) -> Leaning | None:
        """The mean difference over all orders that might have been drawn."""
        if self.levels is None:
            return None
        sides = self.fitted == self.modified, self.fitted == self.baseline
        found = randomised(self.levels, *sides, self.blocks)
        if found is None:
            return None
        p, least = found
        message = (
            f"of all orders that might have been drawn, {100 * p:.3g} % give as large a mean "
            f"difference (no order could give less than {100 * least:.3g} %); this holds without any "
            "model of the noise, where the order was drawn by lot"
        )
        return self._said("order drawn", message, value=least, p_value=p)
