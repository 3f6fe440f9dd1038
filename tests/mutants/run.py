"""Break the code on purpose and count how many of the breaks the tests notice.

    python tests/mutants/run.py                 faults that once lived through the tests
    python tests/mutants/run.py --drawn 60      so many drawn at random from what computes figures
    python tests/mutants/run.py --drawn 30 --of statistics/noise    from one file, while its tests are made

Each fault is put into a copy of the sources, one at a time, and the quick tests of figures are run
on it; the first that fails has noticed. The sources themselves are not touched. 0 when every one of
the faults by hand, or 90 % of those drawn, are noticed. Takes about half a minute for each. With --whole what
the quick tests miss is put to all unit and reference tests as well, which takes five minutes for each.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

from by_hand import FAULTS, Fault
from drawn import drawn

ROOT = Path(__file__).parents[2]
BOUND = 0.90
QUICK = (  # the quicker before the slower
    "unit/test_leanings_by_hand.py", "unit/test_derived_by_hand.py", "unit/test_making_by_hand.py",
    "unit/test_session_values.py", "unit/test_sealed_families.py", "unit/test_rows_by_hand.py",
    "unit/test_terms.py", "unit/test_verdict.py", "unit/test_noise_by_hand.py",
    "unit/test_evenness_by_hand.py", "unit/test_decided_by_hand.py",
    "unit/test_reduction_by_hand.py", "unit/test_charts_and_laboratories_by_hand.py",
    "unit/test_raters_by_hand.py", "unit/test_components_and_power_by_hand.py",
    "unit/test_critical_values_by_hand.py", "unit/test_pooled_by_hand.py",
    "reference/test_assumptions_of_levels.py", "unit/test_contrasts.py", "unit/test_noise.py",
    "unit/test_evenness.py", "unit/test_comparison.py", "unit/test_judgement.py",
    "unit/test_current.py", "unit/test_reduction.py", "unit/test_quantities.py",
    "unit/test_by_hand.py", "unit/test_loading.py", "reference/test_agreement_published.py",
    "reference/test_random_effects.py", "reference/test_nist_anova.py",
    "reference/test_step_down.py", "unit/test_deciding.py", "unit/test_equal_speed.py",
    "unit/test_sweep_figures.py", "unit/test_corrections.py", "unit/test_plan_looks.py",
    "unit/test_fuel_stops.py", "reference/test_simultaneous_values.py",
    "reference/test_power_published.py", "reference/test_slip_and_units.py", "unit/test_seal.py",
    "unit/test_ratings.py", "unit/test_ratings_downstream.py", "unit/test_outcome.py",
    "unit/test_many_trials.py", "reference/test_control_charts.py", "unit/test_manoeuvres.py",
    "unit/test_pool.py", "unit/test_doctests.py", "unit/test_plan_power.py",
    "unit/test_noise_budget.py", "unit/test_leanings.py", "reference/test_current_published.py",
    "unit/test_sealed_trial.py", "unit/test_cross_check.py", "unit/test_results.py",
    "unit/test_crews.py", "unit/test_pipeline.py", "unit/test_quantities_people_have.py",
    "reference/test_paired_and_ratio.py", "unit/test_manoeuvres_downstream.py",
    "calibration/test_assumptions.py", "calibration/test_looks.py",
    "calibration/test_one_decision.py", "calibration/test_known_errors.py",
)  # fmt: skip
WHOLE = ("unit", "reference")  # what is run besides where the quick ones pass, if asked for
LONGEST = 900  # s; a break that never ends is noticed, too


class Broken(NamedTuple):
    """A file of the sources as it is with a fault."""

    about: str
    file: str
    text: str


def main() -> int:
    """Break, test, count."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--drawn", type=int, default=0, metavar="COUNT")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--of", default="", metavar="FILE", help="part of a file's name")
    parser.add_argument("--at-once", type=int, default=2)
    parser.add_argument("--whole", action="store_true")
    given = parser.parse_args()
    if given.drawn:
        broken = [
            Broken(str(place), place.file, text)
            for place, text in drawn(ROOT, given.drawn, given.seed, given.of)
        ]
        bound = BOUND
    else:
        broken, bound = [_by_hand(fault) for fault in FAULTS], 1.0
    with ThreadPoolExecutor(given.at_once) as pool:
        noticed = []
        for each, found in zip(
            broken, pool.map(partial(is_noticed, whole=given.whole), broken), strict=True
        ):
            noticed.append(found)
            print(f"{'noticed' if found else 'MISSED '}  {each.about}", flush=True)
    share = sum(noticed) / len(noticed)
    print(f"\n{sum(noticed)} of {len(noticed)} noticed, {100 * share:.0f} %")
    return int(share < bound)


def _by_hand(fault: Fault) -> Broken:
    about, file, right, wrong = fault
    text = (ROOT / file).read_text(encoding="utf-8")
    if text.count(right) != 1:
        raise SystemExit(f"{file}: {right!r} stands {text.count(right)} times; renew by_hand.py")
    return Broken(about, file, text.replace(right, wrong))


def nearest_first(file: str) -> list[Path]:
    """The quick tests, those that speak of the broken module before the others."""
    room, module = Path(file).parts[-2], Path(file).stem
    speaks = re.compile(rf"\b{room}(\.|\s+import\s[^\n]*\b){module}\b")
    tests = [ROOT / "tests" / each for each in QUICK]
    return sorted(tests, key=lambda test: not speaks.search(test.read_text(encoding="utf-8")))


def is_noticed(broken: Broken, whole: bool = False) -> bool:
    """Whether a test fails on a copy of the sources with one file broken: a quick one, or any at all."""
    with tempfile.TemporaryDirectory() as name:
        package = Path(name) / "slackwater"
        shutil.copytree(ROOT / "protocol" / "_root" / "slackwater", package)
        for part in ("protocol", "analysis", "protocols"):
            shutil.copytree(
                ROOT / part, package / part, ignore=shutil.ignore_patterns("_root", "__pycache__")
            )
        (package / broken.file).write_text(broken.text, encoding="utf-8")
        return _one_fails(nearest_first(broken.file), name) or (
            whole and _one_fails([ROOT / "tests" / each for each in WHOLE], name)
        )


def _one_fails(tests: Sequence[Path], package: str) -> bool:
    """Whether one of the tests fails, or never ends, with the package in this folder."""
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider",
               *map(str, tests)]  # fmt: skip
    found = {"PYTHONPATH": package, "PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1"}
    try:
        run = subprocess.run(
            command, cwd=ROOT, env=os.environ | found, capture_output=True, timeout=LONGEST,
            text=True, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return True
    if run.returncode not in (0, 1, 2):
        raise SystemExit(f"the tests could not be run:\n{run.stdout}{run.stderr}")
    return run.returncode != 0


if __name__ == "__main__":
    sys.exit(main())
