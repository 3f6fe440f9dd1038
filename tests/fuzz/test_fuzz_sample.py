"""A little of the fuzz run, so that what breaks is seen early; `.ci/run` has 5,000 inputs of it."""

from __future__ import annotations

import io
import sys
import zipfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import pytest
from cases import case_of
from trying import look

#: Each test in a process of the machine's own; about 0.1 s of the processor an input.
SAMPLE, PARTS = 96, 4


@pytest.mark.parametrize("part", range(PARTS))
def test_nothing_breaks(part: int, tmp_path: Path) -> None:
    broken = []
    for number in range(part, SAMPLE, PARTS):
        case = case_of(2026, number)
        _, wrong = look(case, tmp_path / "case", twice=number % 24 == part)
        slow = {"slow"}  # a matter of the machine; the whole run looks at it
        if set(wrong) - slow:
            broken.append((number, case.words, case.changes, wrong))
    assert not broken


def test_an_input_follows_from_seed_and_number() -> None:
    assert case_of(1, 17) == case_of(1, 17)
    assert case_of(1, 17) != case_of(2, 17)


def test_a_workbook_does_not_hold_when_it_was_made() -> None:
    from datetime import datetime

    import openpyxl
    from other_kinds import workbook

    data = workbook([["session", "set_point"], ["S1", "1500"]])
    assert str(datetime.now().year).encode() not in b"".join(_parts(data).values())
    assert openpyxl.load_workbook(io.BytesIO(data)).active["B2"].value == 1500


def _parts(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        return {name: archive.read(name) for name in archive.namelist()}


def test_the_judge_sees_what_is_wrong() -> None:
    from judging import Answered, faults

    def of(code: int, out: str = "", err: str = "", seconds: float = 0.1) -> list[str]:
        return faults(["check"], Answered(code, out, err, seconds), "")

    assert of(3, err="x") == ["exit 3"]
    assert of(0, "speed nan kn") == ["nan or inf in the text"]
    assert of(0, "may stray by inf %") == ["nan or inf in the text"]
    assert of(2) == ["refused without a word"]
    assert of(0, seconds=6) == ["slow"]
    assert of(1, err="Traceback (most recent call last)") == ["traceback"]
    assert of(0, err="a/b.py:12: RuntimeWarning: divide") == ["a library's warning"]
    json = faults(["check", "--format", "json"], Answered(0, '{"a": NaN}', "", 0.1), "")
    assert json == ["JSON: NaN"]
