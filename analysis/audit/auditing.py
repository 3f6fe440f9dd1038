"""The audit put together: every check on every claim, one verdict each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.audit.arithmetic import check_arithmetic
from slackwater.analysis.audit.best_of_many import check_selection, same_table
from slackwater.analysis.audit.conflicts import conflicts_of, impossible_alone, reasons_of
from slackwater.analysis.audit.digits import check_digits
from slackwater.analysis.audit.grounds import behind_of, between_of, noise_of, pool_behind
from slackwater.analysis.audit.noise_without_data import CONFIDENCE
from slackwater.analysis.audit.outcome import (
    DISAGREES,
    OPEN,
    AuditResult,
    ClaimAudit,
    Conflict,
    Reason,
    Replied,
)
from slackwater.analysis.audit.plausibility import check_plausibility
from slackwater.analysis.audit.sealed import sealed_beforehand, undeclared
from slackwater.analysis.audit.to_the_author import about_the_figures, questions
from slackwater.analysis.audit.verdict_rules import ClaimWord
from slackwater.analysis.audit.with_data import Evidence, TrialBehind, evidence_of, no_evidence
from slackwater.analysis.audit.without_data import Unproven, weigh
from slackwater.protocol.catalogue.manoeuvre_kinds import CLAIMED
from slackwater.protocol.catalogue.measures import MEASURES, Measure, nearest
from slackwater.protocol.claims.claim import Claim, Claims, Unread
from slackwater.protocol.claims.claims_file import read_claims
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.claims.reply import Reply, load_reply, with_reply
from slackwater.protocol.findings import Finding
from slackwater.protocol.sealing.said import SealSaid, seal_said
from slackwater.protocol.units.quantity import Quantity

if TYPE_CHECKING:
    from slackwater.analysis.many.pool_result import PoolResult
    from slackwater.protocol.declared.protocol_parts import PriorNoise
    from slackwater.protocol.declared.trial import Trial


def audit(
    claims: str | Path | Claims,
    *,
    noise: str | Path | None = None,
    between: str | None = None,
    reply: str | Path | None = None,
    pool: str | Path | None = None,
) -> AuditResult:
    """Audit published claims.

    Parameters
    ----------
    claims : str, Path or Claims
        The claims' YAML file, or claims made in Python.
    noise : str or Path, optional
        A file of noise, as `slackwater noise` writes it.
    between : str, optional
        Standard deviation between sessions to reckon with, such as '0.6 %' or '0.4 to 1 %'.
    reply : str or Path, optional
        The form that came with a letter, filled in by the author.
    pool : str or Path, optional
        A pool file, which the claims are held against in place of a trial.

    Returns
    -------
    AuditResult
        Prints itself; `to_dict()`, `to_json()` and `to_html()` give it in other forms.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    stated = claims if isinstance(claims, Claims) else read_claims(claims)
    replied, said = None, tuple[Finding, ...]()
    if reply is not None:
        replied = load_reply(reply)
        stated, said = with_reply(stated, replied)
    known, told = noise_of(stated, noise)
    assumed = None if between is None else between_of(between)
    pooled = None if pool is None else pool_behind(stated, pool)
    behind = behind_of(stated, replied)
    if assumed is not None:
        told = f"{assumed} between sessions, as assumed"
    found = _Audit(stated, known, assumed, behind, pooled).result(told)
    return found if replied is None else _with_reply(found, replied, said)


def _with_reply(found: AuditResult, reply: Reply, said: tuple[Finding, ...]) -> AuditResult:
    """An audit that says what the author replied."""
    document = reply.document
    answers = tuple((one.question, one.answer) for one in reply.answers if one.answer)
    return replace(
        found,
        reply=Replied(reply.by, document.path.name, answers),
        findings=(*said, *found.findings),
        inputs=(*found.inputs, ("reply", document.path.name, document.sha256)),
    )


def _unknown(claim: Claim, trial: Trial) -> str:
    """What a claim names that the trial does not know, in words; empty where it knows it all."""
    configurations = list(trial.configurations)
    for side in ("baseline", "modified"):
        name = getattr(claim, side)
        needed = side in claim.model_fields_set or len(claim.stated.figures) > 1
        if name not in configurations and needed:
            near = nearest(name, configurations)
            meant = f"did you mean '{near}'?" if near else f"it has {', '.join(configurations)}"
            return f"the trial has no configuration '{name}'; {meant}"
    quantities = {**MEASURES, **trial.protocol.measures, **trial.protocol.beside}
    if claim.quantity in quantities:
        return ""
    if claim.quantity in CLAIMED:
        return (
            f"the trial tells no {claim.quantity}: its protocol has no manoeuvre that it is read of "
            "under this name"
        )
    near = nearest(claim.quantity, quantities)
    meant = f"did you mean '{near}'?" if near else "'slackwater audit --list' shows those that are"
    return f"the quantity '{claim.quantity}' is not known, nor declared by the trial; {meant}"


def _not_read(one: Unread) -> ClaimAudit:
    """A claim that could not be read, told as one that cannot be tested."""
    told = [
        f.message + (f" (line {f.place.line})" if f.place and f.place.line else "")
        for f in one.findings
    ]
    why = f"It could not be read: {'; '.join(told)}."
    fixes = "; ".join(dict.fromkeys(f.fix for f in one.findings if f.fix))
    reason = Reason("reading", OPEN, why, settle=fixes)
    return ClaimAudit(
        id=one.id,
        quantity=one.quantity,
        baseline="",
        modified="",
        at=one.at,
        says=one.says,
        verdict=ClaimWord.UNTESTABLE,
        why=why,
        stated={},
        reasons=(reason,),
    )


@dataclass
class _Audit:
    """The claims and what they are held against."""

    claims: Claims
    noise: Mapping[str, PriorNoise]
    between: Figure | None
    behind: TrialBehind | None
    pool: PoolResult | None = None

    def result(self, told: str) -> AuditResult:
        evidence: list[Evidence | None] = [None] * len(self.claims.claims)
        if self.behind is not None:
            evidence = [self._evidence(claim, self.behind) for claim in self.claims.claims]
        elif self.pool is not None:
            from slackwater.analysis.audit.with_pool import evidence_of_pool

            evidence = [
                evidence_of_pool(claim, self.pool, self.claims.rounding)
                for claim in self.claims.claims
            ]
        unproven = [
            weigh(self.claims, claim, self._measure(claim), self.noise, self.between, held)
            for claim, held in zip(self.claims.claims, evidence, strict=True)
        ]
        arithmetic = check_arithmetic(self.claims)
        for index, reason in impossible_alone(self.claims):
            if not any(r.outcome == DISAGREES for r in arithmetic[index]):
                arithmetic[index].append(reason)
        conflicts = conflicts_of(self.claims)
        for index, reason in reasons_of(self.claims, conflicts):
            arithmetic[index].append(reason)
        plausibility = check_plausibility(self.claims)
        selection = check_selection(
            self.claims,
            self.behind.set_points if self.behind else (),
            {
                claim.id: one.deviation
                for claim, one in zip(self.claims.claims, unproven, strict=True)
                if one.deviation is not None
            },
        )
        beforehand = False
        if self.behind is not None:
            beforehand, seal = sealed_beforehand(self.claims, self.behind)
            for claim, reasons in zip(self.claims.claims, selection, strict=True):
                reasons += [*seal, *undeclared(claim, self.behind)]
        audited = [
            self._claim(
                claim,
                arithmetic[i],
                [*plausibility[i], *self._digits(claim)],
                selection[i],
                evidence[i],
                unproven[i],
                beforehand,
            )
            for i, claim in enumerate(self.claims.claims)
        ]
        return AuditResult(
            title=self.claims.title or self.claims.document.path.stem,
            claims=tuple(self._with_unread(audited)),
            conflicts=(
                *(conflict for _, conflict in conflicts),
                *self._beyond_the_table(selection),
            ),
            trial=self.behind.id if self.behind else self.pool.pool if self.pool else "",
            asked=tuple(dict.fromkeys(q for one in audited for q in one.asked)),
            findings=self.behind.findings
            if self.behind
            else self.pool.findings
            if self.pool
            else (),
            inputs=self._inputs(),
            noise=told,
            confidence=self._confidence(),
            seals=self._seals(),
            names=self._names(),
        )

    def _seals(self) -> tuple[tuple[str, SealSaid], ...]:
        if self.behind is None:
            return (("claims", seal_said(self.claims.document)),)
        from slackwater.analysis.checking.identity import trial_seal

        trial = self.behind.analysed.trial
        return (
            ("claims", seal_said(self.claims.document, trial.folder)),
            ("protocol", trial_seal(trial, self.behind.analysed.runs)),
        )

    def _confidence(self) -> float:
        """Of the trial's intervals; without a trial, of those that the noise known of gives."""
        if self.pool is not None:
            return self.pool.confidence
        if self.behind is None:
            return CONFIDENCE
        return self.behind.protocol.analysis.confidence.to("%").value / 100

    def _beyond_the_table(self, selection: list[list[Reason]]) -> Iterator[Conflict]:
        """Claims of the best of a table that all of the table stays below."""
        for claim, reasons in zip(self.claims.claims, selection, strict=True):
            for reason in reasons:
                if reason.across and reason.outcome == DISAGREES:
                    table = [
                        c.id for c in self.claims.claims if c is not claim and same_table(claim, c)
                    ]
                    yield Conflict((claim.id, *table), reason.message)

    def _evidence(self, claim: Claim, behind: TrialBehind) -> Evidence:
        unknown = _unknown(claim, behind.analysed.trial)
        if unknown:
            return no_evidence(unknown)
        return evidence_of(claim, behind, self.claims.rounding)

    def _with_unread(self, audited: list[ClaimAudit]) -> list[ClaimAudit]:
        """All claims of the file in its order, those that could not be read among them."""
        whole = list(audited)
        for one in self.claims.unread:
            whole.insert(one.index, _not_read(one))
        return whole

    def _measure(self, claim: Claim) -> Measure | None:
        known = (
            {}
            if self.behind is None
            else {
                **self.behind.protocol.measures,
                **self.behind.protocol.beside,
            }
        )
        if self.behind is not None and claim.quantity in known:
            return self.behind.protocol.measure(claim.quantity)
        return CLAIMED.get(claim.quantity)

    def _digits(self, claim: Claim) -> Iterator[Reason]:
        instruments: dict[str, Quantity] = dict(self.claims.instruments)
        if self.behind is not None:
            for name, declared in self.behind.protocol.measures.items():
                if declared.standard_uncertainty is not None:
                    quantity = "speed" if name == "speed_over_ground" else name
                    instruments.setdefault(quantity, declared.standard_uncertainty)
        return check_digits(claim, self.claims.rounding, instruments)

    def _claim(
        self,
        claim: Claim,
        arithmetic: list[Reason],
        findings: list[Reason],
        selection: list[Reason],
        evidence: Evidence | None,
        unproven: Unproven,
        beforehand: bool,
    ) -> ClaimAudit:
        wrong = [r for r in (*arithmetic, *selection) if r.outcome == DISAGREES]
        data = evidence.reasons if evidence is not None else ()
        reasons = (*wrong, *data, *(r for r in arithmetic if r not in wrong), *unproven.reasons)
        reasons = (*reasons, *(r for r in selection if r not in wrong), *findings)
        base = ClaimAudit(
            id=claim.id,
            quantity=claim.quantity,
            baseline=claim.baseline,
            modified=claim.modified,
            at="" if claim.place is None else str(claim.place),
            says=claim.says,
            verdict=unproven.verdict,
            why=unproven.why,
            stated={name: figure.text for name, figure in claim.stated.figures.items()},
            stated_low=unproven.stated_low,
            stated_high=unproven.stated_high,
            recomputed=unproven.recomputed,
            low=unproven.low,
            high=unproven.high,
            unit=unproven.unit,
            reasons=reasons,
            asked=tuple(
                questions(self.claims, claim, has_data=evidence is not None, beforehand=beforehand)
            ),
        )
        if evidence is not None:
            low, high = evidence.stated or (base.stated_low, base.stated_high)
            base = replace(
                base,
                stated_over_measured=evidence.times,
                verdict=evidence.verdict if not unproven.overrules else unproven.verdict,
                why=evidence.why if not unproven.overrules else unproven.why,
                stated_low=low,
                stated_high=high,
                recomputed=evidence.recomputed,
                low=evidence.low if evidence.low is not None else base.low,
                high=evidence.high if evidence.high is not None else base.high,
                unit=evidence.unit,
                sheets=evidence.sheets,
            )
        # Claims that cannot all be true are told together; none of them is blamed by itself.
        together = [r for r in wrong if r.across]
        wrong = [r for r in wrong if not r.across]
        if together and base.verdict in (ClaimWord.UNTESTABLE, ClaimWord.WITHIN_NOISE):
            told = " ".join(r.message for r in together)
            base = replace(base, why=f"{base.why} {told}")
        if wrong:
            why = f"The figures of this claim cannot all be true. {wrong[0].message}"
            if evidence is not None and evidence.verdict != "untestable":
                why += f" Apart from that: {evidence.why[:1].lower()}{evidence.why[1:]}"
            asked = (*base.asked, about_the_figures(claim))
            base = replace(base, verdict="inconsistent", why=why, asked=asked)
        return base

    def _inputs(self) -> tuple[tuple[str, str, str], ...]:
        document = self.claims.document
        own: list[tuple[str, str, str]] = []
        if document.sha256:
            own.append(("claims", document.path.name, document.sha256))
        if self.pool is not None:
            pooled = (each for each in self.pool.trials if each.state == "pooled")
            own += [("runs", each.name, each.runs_sha256) for each in pooled]
        return (*own, *(self.behind.inputs if self.behind else ()))

    def _names(self) -> dict[str, str]:
        names = {n: c.title for n, c in self.claims.configurations.items() if c.title}
        return {**(self.behind.names if self.behind else {}), **names}
