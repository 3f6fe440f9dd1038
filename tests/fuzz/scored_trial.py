"""What people's scores add to the small sound trial, before anything is changed in it."""

from __future__ import annotations

import random

PROTOCOL = """\
ratings:
  raters: 3
  blind: true
  kept_blind: The change is worked behind a cover by someone who scores nothing.
  guess: true
  items:
    ride:
      title: Ride
      asks: How did she take the waves?
      points: 7
      anchors: {1: hard, 7: soft}
      better: more
      scale: ordinal
    noise_felt:
      title: Noise as felt
      asks: How loud was it?
      points: 5
      anchors: {1: quiet, 5: loud}
      better: less
"""
TRIAL = "ratings: ratings.csv\n"


def scores(sessions: int, dice: random.Random) -> str:
    """Three people score the first of four sessions; softer where the change is fitted."""
    rows = ["session,item,rater,score,guess,note"]
    for session, gain in (("S1", 0), ("S2", 1), ("S3", 1), ("S4", 0))[:sessions]:
        for item, points in (("ride", 7), ("noise_felt", 5)):
            for rater in ("R1", "R2", "R3"):
                score = min(points, 2 + gain + dice.randint(0, 2))
                guess = dice.choice(("bare", "fitted", "unsure")) if item == "ride" else ""
                rows.append(f"{session},{item},{rater},{score},{guess},")
    return "\n".join(rows) + "\n"
