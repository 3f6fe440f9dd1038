"""What the checks of an audit rest on, each text once.

A part that stands behind a semicolon is listed by itself in the letter to the author.
"""

from __future__ import annotations

PRACTICE = "common practice"
ROUNDING = "JCGM 100:2008, F.2.2.1: a digit stands for half a step to either side"
DIGITS = (
    "ASTM E29-13, section 7, as quoted by others: results are kept to steps of 0.05 to 0.5 standard "
    "deviations"
)
UNCERTAINTY_DIGITS = "JCGM 100:2008, 7.2.6"
NOISE = "JCGM 100:2008, 4 and 5"
GUARDED = (
    "JCGM 106:2012, 8: acceptance limits with a guard band, so that the interval decides and not "
    "the estimate alone; what counts as about a size is the project's own choice"
)
GRIM = "N. J. L. Brown and J. A. J. Heathers, The GRIM test (2017)"
SWITCHED = "outcome switching: COMPare, compare-trials.org"
SESSIONS_NEEDED = "noncentral t distribution"
