"""How an archive keeps its workers busy, what a second pass costs, and how its memory grows.

    python tests/bench/archive_run.py --trials 200

Invented trials of 96 runs, and some of 32. Processor time is what counts, so that the figures hold on a
machine that does other things as well: of the analyses alone, in two warm processes at once that do
nothing else, and of everything that a pass on two workers takes, the starting of these left out (two
passes of unlike length are subtracted).
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

EXAMPLES = Path(__file__).parents[2] / "examples"
FEW = 20  # trials of the shorter pass

PASS = """
import json, multiprocessing, resource, sys, time
# Spawned workers are children of this process, so that their time is told to it.
multiprocessing.get_all_start_methods = lambda: ["spawn"]
import duckdb, pandas, pyarrow
import slackwater
from slackwater.analysis.archive import archiving, kept
if __name__ == "__main__":
    kept.warm()
    begin, own_begin = time.perf_counter(), time.process_time()
    result = slackwater.archive(sys.argv[1], workers=2)
    own, workers = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(json.dumps({
        "wall": time.perf_counter() - begin,
        "own": time.process_time() - own_begin,
        "workers": workers.ru_utime + workers.ru_stime,
        "peak": own.ru_maxrss / 1024,
        "new": result.counts.new, "unchanged": result.counts.unchanged,
    }))
"""
ALONE = """
import json, sys, time
from pathlib import Path
from slackwater.analysis.archive.kept import Job, keep, warm
warm()
jobs = [Job(sys.argv[1], name) for name in sys.argv[2:]]
keep(jobs[0])
begin = time.process_time()
for job in jobs:
    keep(job)
print(json.dumps({"each": (time.process_time() - begin) / len(jobs)}))
"""


def ran(code: str, folder: Path, *words: str) -> dict[str, Any]:
    """What a script in a process of its own prints."""
    script = folder.parent / f"measured_{len(code)}.py"
    script.write_text(code, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script), *words],
        env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        stdout=subprocess.PIPE,
        check=True,
    )
    return dict(json.loads(done.stdout))


def _two_alone(folder: Path, names: list[str]) -> float:
    """Processor time of an analysis where two processes do nothing else, each half of them. [s]"""
    with ThreadPoolExecutor(2) as both:
        halves = [both.submit(ran, ALONE, folder, str(folder), *names[i::2]) for i in (0, 1)]
        found = [half.result()["each"] for half in halves]
    return sum(found) / 2


def measured(trials: int, place: Path) -> dict[str, float]:
    """The figures.

    Returns
    -------
    dict
        `trial` [s] of one analysis alone, `efficiency` [1] of two perfect workers, `second` [1] how
        many times faster a pass without changes is, `peak_few` and `peak` [MB] of the process that
        gives out the work.
    """
    sys.path.insert(0, str(EXAMPLES))
    from three_crews import make

    passes: dict[int, dict[str, Any]] = {}
    for count in (FEW, trials):
        folder = place / f"of-{count}"
        made = make(folder, count, "ABBAAB")
        passes[count] = ran(PASS, folder, str(folder))
        assert passes[count]["new"] == count
    # All of them, in the mixture of the folder: reference trials are shorter.
    names = [path.relative_to(folder).as_posix() for path in made[-min(60, trials - FEW) :]]
    alone = _two_alone(folder, names)
    again = ran(PASS, folder, str(folder))
    assert again["unchanged"] == trials
    whole, few = passes[trials], passes[FEW]
    took = {key: (whole[key] - few[key]) / (trials - FEW) for key in ("own", "workers")}
    first = trials * (took["own"] + took["workers"])
    second = again["own"]
    shutil.rmtree(place / f"of-{FEW}")
    return {
        "trial": alone,
        "giver": took["own"],
        "efficiency": alone / (took["own"] + took["workers"]),
        "wall": whole["wall"],
        "second": first / second,
        "second_each": second / trials,
        "peak_few": few["peak"],
        "peak": whole["peak"],
    }


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--trials", type=int, default=200)
    trials = parser.parse_args().trials
    begin = time.perf_counter()
    with TemporaryDirectory() as place:
        found = measured(trials, Path(place))
    print(f"{trials} trials, measured in {time.perf_counter() - begin:.0f} s")
    print(f"one analysis alone: {1000 * found['trial']:.0f} ms of processor time")
    print(f"of two perfect workers: {found['efficiency']:.2f}")
    print(f"giving out and writing: {1000 * found['giver']:.1f} ms a trial")
    print(
        f"a second pass: {found['second']:.0f} times faster, {1000 * found['second_each']:.2f} ms a trial"
    )
    print(
        f"peak memory: {found['peak_few']:.0f} MB with {FEW} trials, {found['peak']:.0f} MB with {trials}"
    )
    print(
        f"10,000 trials, scaled: {10_000 * found['trial'] / 2 / found['efficiency'] / 60:.0f} min on two cores"
    )


if __name__ == "__main__":
    main()
