"""Invented scores for a rehearsal: raters who agree on the sessions, and feel part of what was put in."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random

from slackwater.analysis.rehearsal.world import Truth
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.schedule.planned import Schedule

#: Standard deviations, as parts of a scale: of a session, of a rater's own level, of one score. Invented.
OF_SESSION, OF_RATER, OF_SCORE = 0.08, 0.1, 0.07
#: Of a scale, for each hundredth that a configuration gains; in the first item alone.
FELT = 0.06


def scores_text(protocol: Protocol, schedule: Schedule, truth: Truth, seed: int) -> str:
    """The table of ratings of an invented trial."""
    rows = ["session,item,rater,score,guess,note", *_rows(protocol, schedule, truth, seed)]
    return "\n".join(rows) + "\n"


def _rows(protocol: Protocol, schedule: Schedule, truth: Truth, seed: int) -> Iterator[str]:
    asked = protocol.ratings
    if asked is None:
        return
    chance = Random(f"{seed} scores")
    raters = [f"R{i + 1}" for i in range(asked.raters)]
    own = {(r, item): chance.gauss(0, OF_RATER) for r in raters for item in asked.items}
    choices = [*truth.gains, "unsure"]
    first = next(iter(asked.items))
    for session in schedule.sessions:
        guesses = {r: chance.choice(choices) if asked.guess else "" for r in raters}
        for name, item in asked.items.items():
            gain = 100 * truth.gains[session.configuration] if name == first else 0.0
            shared = 0.5 + FELT * gain * (-1 if item.better == "less" else 1)
            shared += chance.gauss(0, OF_SESSION)
            for r in raters:
                place = shared + own[r, name] + chance.gauss(0, OF_SCORE)
                score = item.lowest + round(min(max(place, 0.0), 1.0) * (item.points - 1))
                yield f"{session.id},{name},{r},{score},{guesses[r]},"
