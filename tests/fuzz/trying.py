"""Cases run one after the other in this process, and what is wrong with the answers."""

from __future__ import annotations

import contextlib
import io
import json
import os
import resource
import shutil
import tempfile
import time
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

from cases import Case, case_of
from judging import Answered, faults

TWICE = 20  # every so many inputs are run again, for the same bytes
MOST_MEMORY = 600  # [MB]


def answer(case: Case, folder: Path) -> Answered:
    """Run the command of a case in its folder, in this process."""
    from slackwater.analysis.cli import main

    out, err = io.StringIO(), io.StringIO()
    began = time.process_time()
    before = Path.cwd()
    os.chdir(folder)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                code = main([*case.words, "--trace"])
            except SystemExit as left:
                code = int(left.code or 0)
    finally:
        os.chdir(before)
    return Answered(code, out.getvalue(), err.getvalue(), time.process_time() - began)


def lay(case: Case, folder: Path) -> None:
    """Write the files of a case."""
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name, data in case.files.items():
        (folder / name).write_bytes(data)


def look(case: Case, folder: Path, twice: bool) -> tuple[Answered, list[str]]:
    """The answer to a case, and what is wrong with it."""
    lay(case, folder)
    found = answer(case, folder)
    asked = "\n".join(
        [*case.words, *(data.decode("utf-8", "replace") for data in case.files.values())]
    )
    wrong = faults(case.words, found, asked)
    if twice and case.words[0] != "seal":
        lay(case, folder)
        again = answer(case, folder)
        if (again.out, again.code) != (found.out, found.code):
            wrong.append("other bytes the second time")
    return found, wrong


def some(
    seed: int, numbers: Iterable[int], keep: Path | None = None, *, two: bool = False
) -> Counter[str]:
    """Run some inputs; counts of how they ended, and of what broke."""
    count: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        for number in numbers:
            case = case_of(seed, number, two=two)
            found, wrong = look(case, Path(name) / "case", number % TWICE == 0)
            count[f"exit {found.code}"] += 1
            count["inputs"] += 1
            for each in wrong:
                count[f"BROKEN {each.split(':')[0]}"] += 1
            if wrong and keep is not None:
                place = keep / f"{seed}-{number}"
                lay(case, place)
                told = {"words": case.words, "changes": case.changes, "wrong": wrong}
                (place / "case.json").write_text(json.dumps(told, indent=1), "utf-8")
                (place / "stderr.txt").write_text(found.err, "utf-8", errors="replace")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    count["most memory [MB]"] = memory
    if memory > MOST_MEMORY:
        count["BROKEN memory"] += 1
    return count
