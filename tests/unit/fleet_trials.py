"""Small invented trials in a folder, for the tests of the archive."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "examples"))

from three_crews import make

BROKEN = "trial: broken\nprotocol: two-way-sweep\nconfigurations: {a: {}, b: {}}\nruns: none.csv\n"


def fleet(folder: Path, trials: int = 4, first: int = 0) -> list[Path]:
    """So many invented trials, of sixteen or thirty-two runs; gives their files."""
    made = make(folder, first + trials)
    for path in made[:first]:
        path.unlink()
    return made[first:]


__all__ = ["BROKEN", "fleet"]
