"""Every rule speaks on its example, is silent on the other and at its limit, and says what it must."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.checking.applying import check_protocol, deviations
from slackwater.analysis.checking.explaining import page, subject
from slackwater.analysis.checking.registry import METHOD_RULES, RUN_RULES, all_rules
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.findings import Finding
from slackwater.protocol.rules._outcome import Said
from slackwater.protocol.rules._registry import rules_in
from slackwater.protocol.rules._rule import Example, ProtocolRule, Rule, TrialRule

RULES = all_rules()
WITH_A_LIMIT = {
    "condition-outside-limit",
    "configurations-differ",
    "displacement-too-loose",
    "few-sessions",
    "hold-too-wide",
    "instrument-too-coarse",
    "loading-outside-limit",
    "low-confidence",
    "no-repeats",
    "not-settled",
    "reciprocal-too-wide",
    "record-too-short",
    "run-outside-limit",
    "run-too-short",
    "runs-extra",
    "runs-missing",
    "sessions-extra",
    "sessions-missing",
    "set-point-not-held",
    "settle-too-short",
    "shallow-water",
    "wave-limit-too-wide",
    "wind-limit-too-wide",
}

Lay = Callable[[Example], Any]


def of(said: Iterable[Said]) -> list[Finding]:
    """The findings among what a rule said."""
    return [one for one in said if isinstance(one, Finding)]


def applied(rule: Rule, example: Example, lay: Lay) -> list[Finding]:
    laid = lay(example)
    if isinstance(rule, ProtocolRule):
        return of(rule.said(laid.protocol))
    if isinstance(rule, TrialRule):
        return of(rule.said(laid.trial))
    return of(rule.said(laid.trial, read_runs(laid.trial)))  # type: ignore[attr-defined]


@pytest.mark.parametrize("id", RULES)
def test_speaks(id: str, lay: Lay) -> None:
    rule = RULES[id]
    found = applied(rule, rule.fails, lay)
    assert found, "silent on the example that it should speak on"
    for finding in found:
        assert finding.rule == id
        assert finding.severity == rule.severity
        assert finding.source == rule.source
        assert finding.fix
        assert finding.place is not None
        assert finding.place.line is not None
        assert finding.place.excerpt
        assert not re.search(r"\bnan\b|\binf\b|None|Quantity", finding.message)
        if subject(rule) != "protocol":
            assert "touches the verdict" in finding.message
            assert "fitted against bare" in finding.message


@pytest.mark.parametrize("id", RULES)
def test_silent(id: str, lay: Lay) -> None:
    assert applied(RULES[id], RULES[id].passes, lay) == []


@pytest.mark.parametrize("id", sorted(WITH_A_LIMIT))
def test_silent_at_the_limit(id: str, lay: Lay) -> None:
    example = RULES[id].at_limit
    assert example is not None
    assert applied(RULES[id], example, lay) == []


def test_a_sound_protocol_and_trial_raise_nothing(lay: Lay) -> None:
    laid = lay(Example())
    assert check_protocol(laid.protocol).findings == ()
    runs = read_runs(laid.trial)
    assert deviations(laid.trial, runs).findings == ()
    assert runs.findings == ()


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.id)
def test_says_what_a_reader_needs(rule: Rule) -> None:
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", rule.id)
    assert rule.looks_at
    assert len(re.split(r"(?<=[.?!])\s+(?=[A-Z'])", rule.why)) == 2, "two sentences of reason"
    assert rule.why.endswith(".")
    assert rule.title.endswith(".")
    for text in (rule.fix, rule.source):
        assert text
        assert not text.endswith(".")
    assert rule.passes != rule.fails


def test_rules_are_found_from_the_files_of_their_folders() -> None:
    from importlib.resources import files

    found: list[Rule] = []
    for package in ("slackwater.protocol.rules", METHOD_RULES, RUN_RULES):
        names = {
            entry.name.removesuffix(".py")
            for entry in files(package).iterdir()
            if entry.name.endswith(".py") and not entry.name.startswith("_")
        }
        assert names
        here = rules_in(package)
        found += here
        alone = {rule.id.replace("-", "_") for rule in here} & names
        tables = names - alone
        assert tables <= {"missing_limits", "copied"}, (
            "a file holds a rule of its own name, or a table"
        )
    assert {rule.id for rule in found} == set(RULES)
    assert len(found) == len(RULES)


def test_a_file_without_a_rule_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    package = tmp_path / "some_rules"
    package.mkdir()
    (package / "__init__.py").write_text("")
    (package / "forgotten.py").write_text("RUEL = None\n")
    monkeypatch.syspath_prepend(tmp_path)
    with pytest.raises(LookupError, match=r"some_rules\.forgotten holds no RULE"):
        rules_in("some_rules")


def test_the_page_of_rules_is_current() -> None:
    from importlib.resources import files

    written = (files("slackwater.protocol.rules") / "RULES.md").read_text(encoding="utf-8")
    assert written == page(RULES.values()), "run: python -m slackwater.analysis.checking.explaining"


def test_limits_are_tested_at_their_limit() -> None:
    assert {rule.id for rule in RULES.values() if rule.at_limit} >= WITH_A_LIMIT
