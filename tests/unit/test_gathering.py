"""Findings that are one fact in several sessions are told once; what differs stays apart."""

from __future__ import annotations

from slackwater.analysis.wording.gathering import gathered
from slackwater.protocol.findings import Finding, Place, Severity


def _found(session: str | None, message: str, rule: str = "shallow-for-speed") -> Finding:
    return Finding(rule, Severity.WARNING, message, "", Place("t.yaml", 3), "", session)


def test_one_fact_in_several_sessions_is_one_finding() -> None:
    told = gathered(
        _found(f"S{n}", f"session S{n}: {2.9 + n / 10:g} m of water") for n in (1, 2, 3)
    )
    assert [f.message for f in told] == ["session S1: 3 m of water; alike in sessions S2, S3"]
    assert told[0].session is None


def test_rows_and_directions_do_not_part_what_is_alike() -> None:
    told = gathered(
        [
            _found("1", "session 1: does not alternate: row 4 (out), row 8 (back)"),
            _found("2", "session 2: does not alternate: row 12 (back)"),
        ]
    )
    assert len(told) == 1


def test_other_rules_other_words_and_findings_of_no_session_stay_apart() -> None:
    apart = [
        _found("S1", "session S1: 3 m of water"),
        _found("S2", "session S2: 3 m of water", "another-rule"),
        _found("S3", "session S3: 3 m of wine"),
        _found(None, "3 m of water"),
        _found(None, "4 m of water"),
    ]
    assert gathered(apart) == apart
