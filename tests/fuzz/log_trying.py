"""Logs read one after the other in this process, and what is wrong with the answers."""

from __future__ import annotations

import json
import resource
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from judging import SLOWEST
from log_cases import LogCase, log_case

if TYPE_CHECKING:
    from slackwater.analysis.handling.wanted import Wanted

CUT = 4  # every so many are searched for runs, and told, as well
MOST_MEMORY = 600  # [MB]


def look_at(case: LogCase, path: Path, *, cut: bool) -> tuple[str, list[str]]:
    """How reading it ended, and what is wrong with that."""
    from slackwater.protocol.findings import InputError

    path.write_bytes(case.data)
    began = time.process_time()
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            wrong = _answer(path, cut=cut)
        ended = "read"
    except InputError as error:
        ended, wrong = "refused", [] if str(error).strip() else ["refused without a word"]
    except Exception:  # noqa: BLE001  whatever it is: that is what is looked for
        ended, wrong = "broke", [f"fault: {traceback.format_exc()}"]
    if time.process_time() - began > SLOWEST:
        wrong.append("slow")
    return ended, wrong


def _answer(path: Path, *, cut: bool) -> list[str]:
    import slackwater

    result, wrong = slackwater.logs(path), []
    for log in result.logs:
        for channel in log.channels:
            if not np.isfinite(channel.values).all() or not np.isfinite(channel.seconds).all():
                wrong.append("a value that is none")
            if (np.diff(channel.seconds) < 0).any():
                wrong.append("time that falls")
        if min(log.faults.values(), default=0) < 0 or log.lines < 0:
            wrong.append("a count below nought")
        if cut:
            _cut(list(log.channels))
    return wrong + (_told(result) if cut else [])


def _told(result: Any) -> list[str]:
    """What is wrong with how it is told."""
    wrong = []
    try:
        json.loads(result.to_json(), parse_constant=_refuse)
    except ValueError:
        wrong.append("a number in the JSON that is none")
    if any(not c.isprintable() and c != "\n" for c in str(result)):
        wrong.append("characters that a terminal acts on")
    return wrong


def _cut(channels: list[object]) -> None:
    """Look for runs, by the order of a plan, which is the easiest to be fooled in, and for tries."""
    from slackwater.analysis.handling.tries import tries_of
    from slackwater.analysis.steady.cutting import cut_session
    from slackwater.analysis.steady.terms import CutTerms, PlannedLeg

    points = (1000.0, 1800.0)
    bands = tuple((0.99 * p, 1.01 * p) for p in points)
    terms = CutTerms("engine_speed", "rpm", points, bands, 5.0, 15.0, double_runs=1)
    for found in tries_of(channels, _wanted(), terms).tries:  # type: ignore[arg-type]
        assert np.isfinite((found.start, found.end)).all()
    cut_session(channels, terms, [PlannedLeg(p, 1, way) for p in points for way in ("out", "back")])  # type: ignore[arg-type]


@cache
def _wanted() -> list[Wanted]:
    """A manoeuvre of each sort."""
    from slackwater.analysis.handling.own_values import OwnValue
    from slackwater.analysis.handling.wanted import Held, Wanted, WantedValue
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.units.quantity import Quantity

    level, fast = Limit(at_most=Quantity(4.0, "deg")), Limit(at_least=Quantity(3.0, "kn"))
    held = Held(5.0, 1.0, 3.0, {"trim": level, "speed_over_ground": fast})
    own = (
        OwnValue("lean", "deg", "heel", "furthest"),
        OwnValue("wandering", "deg", "heading", "spread"),
    )

    values = {
        "turn": WantedValue("tactical_diameter", "tactical_diameter", "m", from_speed=10.0),
        "stop": WantedValue("stopping_time", "stopping_time", "s", from_speed=10.0),
        "speed": WantedValue("time_to_speed", "time_to_speed", "s", to_speed=10.0),
        "straight": WantedValue("steering_correction", "steering_correction", "deg"),
        "planing": WantedValue("slowest", "slowest_planing_speed", "kn", held=held),
    }
    return [
        Wanted(sort, sort, (value,), (), ("out", "back"), "reciprocal", 1, "averaged", own=own)  # type: ignore[arg-type]
        for sort, value in values.items()
    ]


def _refuse(name: str) -> None:
    raise ValueError(name)


def some(seed: int, numbers: Iterable[int], keep: Path | None = None) -> Counter[str]:
    """Read some logs; counts of how that ended, and of what broke."""
    count: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as name:
        for number in numbers:
            case = log_case(seed, number)
            ended, wrong = look_at(case, Path(name) / "a.log", cut=number % CUT == 0)
            count[ended] += 1
            count["inputs"] += 1
            for each in wrong:
                count[f"BROKEN {each.split(':')[0]}"] += 1
            if wrong and keep is not None:
                place = keep / f"log-{seed}-{number}"
                place.mkdir(parents=True, exist_ok=True)
                (place / "a.log").write_bytes(case.data)
                told = {"base": case.base, "changes": case.changes, "wrong": wrong}
                (place / "case.json").write_text(json.dumps(told, indent=1), "utf-8")
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    count["most memory [MB]"] = memory
    if memory > MOST_MEMORY:
        count["BROKEN memory"] += 1
    return count
