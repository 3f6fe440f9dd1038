"""Several trials to one statement: who counts, where places are the same, and each quantity judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from slackwater.analysis.many.alignment import Place
from slackwater.analysis.many.boats import (
    Entered,
    LeftOut,
    Member,
    boats_of,
    findings_on,
    members_of,
)
from slackwater.analysis.many.outcome import Change
from slackwater.analysis.many.pool_places import ALIGNMENTS, Aligning, of_pair
from slackwater.analysis.many.pool_result import PooledSweep, PoolResult, TrialOfPool
from slackwater.analysis.many.pooled_sweep import Together, pooled_sweep
from slackwater.analysis.verdict.terms import Terms, declared_for
from slackwater.protocol.declared.deciding import decides
from slackwater.protocol.declared.pool import Pool
from slackwater.protocol.declared.worthwhile import NoLoss
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.units import conversion, same_dimension


def pool_outcomes(
    entered: Sequence[Entered], asked: Pool, unread: Sequence[LeftOut] = ()
) -> PoolResult:
    """Put the outcomes of trials together.

    Parameters
    ----------
    entered : sequence of Entered
    asked : Pool
        What is asked of them; its trials are those entered, and are not read again.
    unread : sequence of LeftOut
        Trials that could not be read.

    Raises
    ------
    InputError
        When no trial is left.
    """
    members, out = members_of(entered)
    left = [*unread, *out]
    if not members:
        raise InputError([Finding("nothing-to-pool", Severity.ERROR, *_nothing(left))])
    findings = findings_on(members, left)
    decided = asked.decides or _alike([m.outcome.decides for m in members])
    if decided is None and len({m.outcome.decides for m in members}) > 1:
        findings.append(_differ("figure that decides", "add 'decides' to a pool file"))
    pooling = _Pooling(members, asked, decided, findings)
    sweeps = pooling.sweeps()
    return PoolResult(
        pool=asked.pool,
        title=asked.title,
        trials=(*(_of_member(m) for m in members), *(_of_left(each) for each in left)),
        boats=tuple(pooling.boats),
        alignment=ALIGNMENTS[asked.align],
        heterogeneity=asked.heterogeneity,
        confidence=pooling.confidence,
        decides=decided,
        baseline=members[0].pair[0],
        modified=members[0].pair[1],
        sweeps=tuple(sorted(sweeps, key=lambda sweep: not sweep.deciding)),
        findings=tuple(pooling.findings),
        invented=any(m.outcome.invented for m in members),
    )


def _nothing(left: Sequence[LeftOut]) -> tuple[str, str]:
    told = "; ".join(f"{each.name}: {each.reason}" for each in left)
    return f"no trial is left to be pooled ({told or 'none was named'})", "mend or add trials"


def _of_member(member: Member) -> TrialOfPool:
    one = member.outcome
    baseline, modified = (one.configurations.get(name, name) for name in member.pair)
    return TrialOfPool(
        name=member.name,
        trial=one.trial,
        boat=member.boat,
        protocol=f"{one.protocol} {one.version}",
        tool=one.tool,
        runs_sha256=one.runs_sha256,
        baseline=baseline,
        modified=modified,
    )


def _of_left(each: LeftOut) -> TrialOfPool:
    return TrialOfPool(name=each.name, state="left out", reason=each.reason)


def _alike(values: Sequence[str | None]) -> str | None:
    """What all say; None where they do not."""
    return values[0] if len(set(values)) == 1 else None


def _differ(what: str, fix: str) -> Finding:
    return Finding("declared-apart", Severity.WARNING, f"the trials declare different: {what}", fix)


class _Pooling:
    """The members of a pool, and what is told on the way."""

    def __init__(
        self, members: list[Member], asked: Pool, decided: str | None, findings: list[Finding]
    ) -> None:
        self.members, self.asked, self.decided = members, asked, decided
        self.findings = findings
        self.boats = boats_of(members)
        self.confidence = max(m.outcome.confidence for m in members)
        if len({m.outcome.confidence for m in members}) > 1:
            findings.append(_differ("confidence; the highest is taken", ""))
        self.aligning = Aligning(members, self.boats, asked, self._tell)

    def sweeps(self) -> list[PooledSweep]:
        keys = dict.fromkeys(
            change.key for m in self.members for change in m.outcome.changes if of_pair(m, change)
        )
        found = []
        for key in keys:
            sweeps = self._changes(key)
            places = self.aligning.places(key, sweeps)
            if places:
                asked = self._together(key, sweeps, places)
                leave_out = asked.terms.deciding is not False and len(self.boats) > 2
                found.append(pooled_sweep(asked, leave_out=leave_out))
        self.aligning.tell_left()
        return found

    def _changes(self, key: str) -> list[list[Change]]:
        """The changes of each trial in one quantity, on the scale and in the unit of the first."""
        sweeps = [
            [c for c in m.outcome.changes if c.key == key and of_pair(m, c)] for m in self.members
        ]
        first = next(sweep[0] for sweep in sweeps if sweep)
        out = []
        for member, sweep in zip(self.members, sweeps, strict=True):
            fitting = [_in_unit(change, first) for change in sweep]
            if None in fitting:
                self._tell(
                    "units-differ",
                    f"{member.name}: its {key} is on another scale or in another unit "
                    f"({sweep[0].unit}), and is left out",
                )
                fitting = []
            out.append([change for change in fitting if change is not None])
        return out

    def _together(
        self, key: str, sweeps: Sequence[Sequence[Change]], places: Sequence[Place]
    ) -> Together:
        told = [change for sweep in sweeps for change in sweep]
        sides = {change.better for change in told}
        behind = [sweep[0] for sweep in sweeps if sweep]
        return Together(
            first=told[0],
            key=key,
            better=sides.pop() if len(sides) == 1 else None,
            places=tuple(places),
            boats=self.boats,
            sides=self.members[0].pair,
            sessions=(
                sum(change.sessions_baseline for change in behind),
                sum(change.sessions_modified for change in behind),
            ),
            terms=self._terms(key, told),
            method=self.asked.heterogeneity,
        )

    def _terms(self, key: str, told: Sequence[Change]) -> Terms:
        worthwhile, one_sided = self._worthwhile(key, told)
        deciding = None
        if self.decided is not None:
            deciding = decides(self.decided, key, told[0].quantity, told[0].kind)
        return Terms(
            confidence=self.confidence,
            simultaneous=any(change.simultaneous for change in told),
            worthwhile=worthwhile,
            one_sided=one_sided,
            deciding=deciding,
        )

    def _worthwhile(self, key: str, told: Sequence[Change]) -> tuple[float | None, bool]:
        """The smallest difference that matters: the pool's, or that of the trials if they agree."""
        first = told[0]
        declared, _ = declared_for(first.quantity, self.asked.worthwhile)
        if declared is not None:
            if first.scale == "ratio":
                size = declared.value / 100 if declared.unit == "%" else None
            else:
                size = declared.size_in(first.unit)
            return size, isinstance(declared, NoLoss)
        sizes = {
            (None if c.worthwhile is None else round(c.worthwhile, 9), c.one_sided) for c in told
        }
        if len(sizes) == 1:
            return sizes.pop()
        self._tell(
            "declared-apart",
            f"{key}: the trials declare different worthwhile differences, so that none is held "
            "against the pool",
            "add 'worthwhile' to a pool file",
        )
        return None, False

    def _tell(self, rule: str, message: str, fix: str = "") -> None:
        self.findings.append(Finding(rule, Severity.WARNING, message, fix))


def _in_unit(change: Change, first: Change) -> Change | None:
    """The change in the unit of another; None where that cannot be."""
    if change.scale != first.scale:
        return None
    if change.scale == "ratio" or change.unit == first.unit:
        return change
    if not same_dimension(change.unit or "1", first.unit or "1"):
        return None
    factor = conversion(change.unit or "1", first.unit or "1")

    def times(value: float | None) -> float | None:
        return None if value is None else value * factor

    return replace(
        change,
        unit=first.unit,
        value=times(change.value),
        standard_error=times(change.standard_error),
        worthwhile=times(change.worthwhile),
    )
