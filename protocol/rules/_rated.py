"""What the examples of rules on ratings ask their raters."""

from __future__ import annotations

ASKED = (
    "ratings: {raters: 4, blind: true, guess: true, items: {ride: {points: 7, anchors: {1: hard, "
    "7: soft}, better: more}}}"
)
