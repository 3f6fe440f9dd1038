"""Run commands on files that were changed where it hurts, and see that nothing breaks.

    python tests/fuzz/run.py --inputs 20000 [--seed 1] [--processes 2] [--state fuzz-state]
    python tests/fuzz/run.py --of pairs --inputs 20000      (two trials at once)
    python tests/fuzz/run.py --of logs --inputs 100000      (what instruments wrote, read)

Every input follows from the seed and its number. The folder of the state keeps the numbers done, so
that a run that was broken off goes on where it was, and a folder for each input that broke
something, with its files and the command. At the end stands a summary.
"""

from __future__ import annotations

import argparse
import gc
import json
import multiprocessing
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterable
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

#: Inputs between two notes of what is done.
CHUNKS = {"commands": 400, "pairs": 400, "logs": 1000}
#: Part of the inputs tried before the processes part, at most so many, so that each begins with the
#: libraries loaded and the tables of critical values made.
WARM, MOST_WARM = 0.02, 2000


def _joined(counts: Iterable[Counter[str]]) -> Counter[str]:
    whole: Counter[str] = Counter()
    for count in counts:
        memory = max(whole["most memory [MB]"], count["most memory [MB]"])
        whole.update(count)
        whole["most memory [MB]"] = memory
    return whole


def _note(state: Path, what: str, seed: int, chunk: tuple[int, int]) -> Path:
    """Where a chunk is noted."""
    begins = "" if what == "commands" else f"{what}-"
    return state / f"{begins}{seed}-{chunk[0]}-{chunk[1]}.json"


def _some(what: str) -> Callable[[int, Iterable[int], Path | None], Counter[str]]:
    if what == "logs":
        from log_trying import some

        return some
    from trying import some as of_trials

    return partial(of_trials, two=what == "pairs")


def _chunk(what: str, seed: int, chunk: tuple[int, int], state: Path) -> None:
    """One chunk in a process of its own, noted when it is done."""
    count = _some(what)(seed, range(*chunk), state / "broken")
    _note(state, what, seed, chunk).write_text(json.dumps(count), "utf-8")


def _chunks(what: str, inputs: int) -> list[tuple[int, int]]:
    size = CHUNKS[what]
    return [(at, min(at + size, inputs)) for at in range(0, inputs, size)]


def _run(what: str, seed: int, inputs: int, processes: int, state: Path) -> None:
    chunks = _chunks(what, inputs)
    left = [chunk for chunk in chunks if not _note(state, what, seed, chunk).exists()]
    if left:
        _some(what)(seed, range(min(int(WARM * inputs), MOST_WARM)), None)
        gc.freeze()  # what is there stays, and need not be looked through in every process
    apart = multiprocessing.get_context("fork")
    running: list[multiprocessing.process.BaseProcess] = []
    told = ""
    while left or running:
        while left and len(running) < processes:
            running.append(apart.Process(target=_chunk, args=(what, seed, left.pop(0), state)))
            running[-1].start()
        time.sleep(0.05)
        running = [each for each in running if each.is_alive()]
        if told != (told := f"\r{len(chunks) - len(left) - len(running)} of {len(chunks)}"):
            print(told, end="", file=sys.stderr, flush=True)


def main() -> int:
    """Run, and print the summary; 1 when anything broke."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--inputs", type=int, default=1000)
    parser.add_argument("--of", choices=sorted(CHUNKS), default="commands", dest="what")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--state", type=Path, default=Path("fuzz-state"))
    args = parser.parse_args()
    args.state.mkdir(exist_ok=True)
    _run(args.what, args.seed, args.inputs, args.processes, args.state)
    notes = [_note(args.state, args.what, args.seed, c) for c in _chunks(args.what, args.inputs)]
    count = _joined(Counter(json.loads(note.read_text("utf-8"))) for note in notes if note.exists())
    if count["inputs"] < args.inputs:
        count["BROKEN chunks: inputs without an answer"] = args.inputs - count["inputs"]
    print()
    for name, number in sorted(count.items()):
        print(f"{name:<40} {number}")
    broken = sum(number for name, number in count.items() if name.startswith("BROKEN"))
    print("nothing broke" if not broken else f"see {args.state / 'broken'}")
    return int(broken > 0)


if __name__ == "__main__":
    sys.exit(main())
