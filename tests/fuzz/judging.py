"""What must hold of every answer, whatever the input was."""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from typing import Any

SLOWEST = 5.0  # seconds of the processor
PICTURES = 10.0  # the same where a library of pictures is loaded first
CODES = (0, 1, 2)
_NOT_A_NUMBER = re.compile(r"(?<![\w\"'./-])[-+−]?(?:nan|NaN|inf|Infinity)(?![\w\"'/-])")


@dataclass(frozen=True, slots=True)
class Answered:
    """What a command did."""

    code: int
    out: str
    err: str
    seconds: float


def faults(words: list[str], answered: Answered, asked: str) -> list[str]:
    """What is wrong with an answer; nothing for almost all.

    Parameters
    ----------
    words : list of str
        The command.
    asked : str
        All that was put in, as text: what stands there may be quoted.
    """
    found = []
    if answered.code not in CODES:
        found.append(f"exit {answered.code}")
    if "Traceback" in answered.err + answered.out:
        found.append("traceback")
    if answered.seconds > (PICTURES if "html" in words else SLOWEST):
        found.append("slow")
    if re.search(r"\.py:\d+: \w*Warning", answered.err):
        found.append("a library's warning")
    if answered.code == 2 and not (answered.err + answered.out).strip():
        found.append("refused without a word")
    if answered.code in (0, 1) and answered.out and "json" in words:
        found += _in_json(words, answered.out)
    elif _NOT_A_NUMBER.search(answered.out) and not _NOT_A_NUMBER.search(asked):
        found.append("nan or inf in the text")
    return found


def _in_json(words: list[str], out: str) -> list[str]:
    def refuse(name: str) -> Any:
        raise ValueError(name)

    try:
        data = json.loads(out, parse_constant=refuse)
    except ValueError as error:
        return [f"JSON: {error}"]
    if words[0] != "analyse":
        return []
    runs = data["runs"]
    if runs["read"] != runs["used"] + runs["set_aside"]:
        return [f"rows lost: {runs}"]
    return [
        f"{row['verdict']} contradicts its p, interval or floor at {row['at']}"
        for row in data["comparisons"]
        if _contradicts(row)
    ]


def _contradicts(row: dict[str, Any]) -> bool:
    """Verdict, p, interval and floor are one decision."""
    told = row["verdict"] in ("gain", "loss", "higher", "lower")
    if row["low"] is None:
        return told
    clear = row["low"] > 0 or row["high"] < 0
    return told != clear
