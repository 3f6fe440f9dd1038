"""A little of the fuzz run on logs: an answer or a refusal, never a fault of the program.

The whole is `python tests/fuzz/run.py --of logs --inputs 100000`.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

import pytest
from log_cases import MADE, bases, log_case
from log_trying import CUT, look_at

SAMPLE, PARTS = 400, 2


@pytest.mark.parametrize("part", range(PARTS))
def test_changed_logs_are_read_or_refused(part: int, tmp_path: Path) -> None:
    broken = []
    ends = set()
    for number in range(part, SAMPLE, PARTS):
        case = log_case(2026, number)
        ended, wrong = look_at(case, tmp_path / "a.log", cut=number % CUT == 0)
        ends.add(ended)
        if set(wrong) - {"slow"}:  # a matter of the machine; the whole run looks at it
            broken.append((number, case.base, case.changes, wrong))
    assert not broken
    assert ends == {"read", "refused"}


def test_what_is_changed_is_read(tmp_path: Path) -> None:
    import slackwater

    for name, data in bases().items():
        (tmp_path / "a.log").write_bytes(data)
        (log,) = slackwater.logs(tmp_path / "a.log").logs
        assert log.lines, name
        assert log.channels or name not in MADE, name


def test_a_case_follows_from_seed_and_number() -> None:
    assert log_case(1, 17) == log_case(1, 17)
    assert log_case(1, 17) != log_case(2, 17)
