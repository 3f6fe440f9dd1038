"""What claims are held against: the noise that is known, and the trial behind them, computed."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.audit.with_data import TrialBehind
from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.claims.figure import Figure
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.findings import Finding, InputError, Severity
from slackwater.protocol.units.possible import refuse_impossible
from slackwater.protocol.units.quantity import QuantityError, same_dimension

if TYPE_CHECKING:
    from slackwater.analysis.many.pool_result import PoolResult
    from slackwater.protocol.claims.reply import Reply
    from slackwater.protocol.declared.protocol_parts import PriorNoise
    from slackwater.protocol.declared.trial import Trial


def between_of(text: str) -> Figure:
    """The scatter between sessions that is assumed on the command line."""
    try:
        figure = parse_figure(text)
    except QuantityError as error:
        raise InputError([_unfit(error.message, error.fix)]) from None
    if figure.low < 0 or figure.unit == "1":
        raise InputError(
            [_unfit(f"'{text}' is no scatter between sessions", "write it as '0.6 %'")]
        )
    try:
        refuse_impossible(text, float(figure.high), figure.unit, None, "noise")
    except QuantityError as error:
        raise InputError([_unfit(error.message, error.fix)]) from None
    return figure


def _unfit(message: str, fix: str) -> Finding:
    return Finding("unfit-value", Severity.ERROR, f"--between: {message}", fix)


def noise_of(claims: Claims, path: str | Path | None) -> tuple[dict[str, PriorNoise], str]:
    """The noise that is known, by quantity, and where from in words."""
    if path is None:
        return dict(claims.noise), "as the claims declare it" if claims.noise else ""
    from slackwater.protocol.declared.noise_file import load_noise

    return {**claims.noise, **load_noise(path)}, f"from {Path(path).name}"


def behind_of(claims: Claims, reply: Reply | None) -> TrialBehind | None:
    """The trial behind the claims, computed: theirs, or that of the runs that came with a reply."""
    if claims.trial_path is not None:
        from slackwater.protocol.declared.trial import load_trial

        return _computed(claims, load_trial(claims.trial_path))
    if reply is None or reply.runs is None:
        return None
    from slackwater.analysis.audit.replied_runs import trial_of

    return _computed(claims, trial_of(claims, reply))


def pool_behind(claims: Claims, path: str | Path) -> PoolResult:
    """The pool that claims are held against, computed."""
    if claims.trial_path is not None:
        message = "the claims name a trial, and a pool is to take its place"
        raise InputError(
            [
                Finding(
                    "unfit-option",
                    Severity.ERROR,
                    f"--pool: {message}",
                    "take 'trial' out of the claims, or leave --pool away",
                    claims.document.place(("trial",), key=True),
                )
            ]
        )
    from slackwater.analysis.many.pooled_trials import pool_trials

    return pool_trials([path])


def _computed(claims: Claims, trial: Trial) -> TrialBehind:
    from slackwater.analysis.pipeline import compute

    return TrialBehind.of(compute(_asked(trial, claims)))


def _asked(trial: Trial, claims: Claims) -> Trial:
    """The trial with the speeds that are claimed among those it is compared at."""
    if same_dimension(trial.protocol.set_point_unit, "kn"):
        return trial
    named = {round(v.to("kn").value, 6) for v in (*trial.protocol.analysis.speeds, *trial.speeds)}
    claimed = {
        round(c.at.to("kn").value, 6): c.at
        for c in claims.claims
        if c.at is not None and same_dimension(c.at.unit, "kn")
    }
    further = tuple(speed for value, speed in claimed.items() if value not in named)
    return trial.model_copy(update={"speeds": (*trial.speeds, *further)}) if further else trial
