"""What pooled and prediction intervals cover in simulated pools, and how often a mean is falsely named.

    python tests/calibration/pool_table.py --pools 1000

Promised are 95 % less three Monte Carlo standard errors, and false claims of 5 % at most and three more.
Marked rows are outside. Beside it stands what slackwater does not give: 't alone', the interval of the mean
without what the profile of Q adds; 'usual', the prediction interval with the heterogeneity taken as known;
'fixed' and 'falsely', what fixed effects would cover and name.
"""

from __future__ import annotations

import argparse
import sys

from pool_world import grid, rates, standard_error

HEAD = "boats  tau [%]  errors   df  places   mean  next   false | t alone  usual  fixed  falsely"


def main() -> int:
    """Print the table; 1 when a row is outside its bounds."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pools", type=int, default=1000, help="simulated pools a row")
    parser.add_argument("--seed", type=int, default=16)
    asked = parser.parse_args()
    slack = 3 * standard_error(0.05, asked.pools)
    outside = 0
    print(HEAD)
    for number, cell in enumerate(grid()):
        found = rates(cell, asked.pools, asked.seed + number)
        bad = min(found.mean, found.following) < 0.95 - slack or found.false > 0.05 + slack
        outside += bad
        print(
            f"{cell.boats:5d}  {100 * cell.tau:7.1f}  {'alike' if len(cell.errors) == 1 else 'unlike':6s}"
            f"  {cell.df or 'inf':>3}  {cell.places:6d}  {100 * found.mean:5.1f} {100 * found.following:5.1f}"
            f"   {100 * found.false:5.1f} |   {100 * found.alone:5.1f}  {100 * found.usual:5.1f}  {100 * found.fixed:5.1f}"
            f"    {100 * found.fixed_false:5.1f}{'   <<<' if bad else ''}",
            flush=True,
        )
    print(f"{outside} rows outside; {asked.pools} pools a row, slack {100 * slack:.1f} points")
    return 1 if outside else 0


if __name__ == "__main__":
    sys.exit(main())
