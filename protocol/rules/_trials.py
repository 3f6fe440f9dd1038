"""What the rules on a trial share: sessions in the order run, and the verdicts that a slip touches."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.protocol.declared.trial import Session, Trial
    from slackwater.protocol.findings import Place


def listed(items: Sequence[str], most: int = 4) -> str:
    """The items in a row, cut where there are many, with how many are left."""
    left = len(items) - most
    return ", ".join(items[:most]) + (f" and {left} more" if left > 0 else "")


def letters(trial: Trial) -> dict[str, str]:
    """The letter of each configuration in the protocol's order: A the baseline, B the modified."""
    names = [name for pair in trial.comparisons for name in (pair.baseline, pair.modified)]
    names = list(dict.fromkeys([*names, *trial.configurations]))
    return {name: chr(ord("A") + i) if i < 26 else "?" for i, name in enumerate(names)}


def compared(trial: Trial) -> tuple[str, ...]:
    """The configurations that take part in a comparison."""
    return tuple(
        dict.fromkeys(name for pair in trial.comparisons for name in (pair.baseline, pair.modified))
    )


def in_order_of_time(trial: Trial) -> tuple[Session, ...]:
    """The sessions by day and start; in the order of the file where a day is missing."""
    if not all(session.day for session in trial.sessions):
        return trial.sessions
    return tuple(sorted(trial.sessions, key=_when))


def _when(session: Session) -> tuple[str, str]:
    start = session.start
    clock = start.time() if isinstance(start, datetime) else start
    return session.day, clock.isoformat() if clock else ""


def session_place(trial: Trial, session: str, key: str = "") -> Place:
    """Where a session stands in the trial's file, or one of its keys."""
    index = next(i for i, one in enumerate(trial.sessions) if one.id == session)
    return trial.document.place(("sessions", index, key) if key else ("sessions", index))


def touched(trial: Trial, sessions: Iterable[str], at: Sequence[str] = ()) -> str:
    """The verdicts that a slip in these sessions touches, in words; `at` names set points."""
    fitted = {one.configuration for one in trial.sessions if one.id in set(sessions)}
    pairs = [
        f"{pair.modified} against {pair.baseline}"
        for pair in trial.comparisons
        if fitted & {pair.baseline, pair.modified}
    ]
    if not pairs:
        return "; no verdict is touched"
    where = f" at {listed(at)}" if at else ""
    return f"; touches the verdicts on {listed(pairs, 3)}{where}"
