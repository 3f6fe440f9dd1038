"""What is asked of a single run as data gives the answers that `check` gives on the same run in a table."""

from __future__ import annotations

from pathlib import Path

from generated_runs import TRIAL, UNITS, generated

from slackwater.analysis.checking.run_rules import run_outside_limit, run_too_short
from slackwater.analysis.checking.run_rules import set_point_not_held as not_held
from slackwater.analysis.intake.tables import read_runs
from slackwater.protocol.declared.trial import Trial, load_trial
from slackwater.protocol.findings import InputError
from slackwater.protocol.schedule.run_tests import STOPS, asked_of, broken

RULES = (not_held.RULE, run_too_short.RULE, run_outside_limit.RULE)
KNOWN = {*STOPS, *(rule.id for rule in RULES)}
MEASURES = [name for name in UNITS if name not in ("duration", "heading")]


def read_trial(folder: Path) -> Trial:
    path = folder / "trial.yaml"
    path.write_text(TRIAL, encoding="utf-8")
    return load_trial(path)


def told_by_check(trial: Trial, point: float, values: dict[str, float]) -> set[str]:
    """The rules that a table with this run alone breaks: its cells', else those on runs."""
    names = ["heading", "duration", *MEASURES]
    head = [f"{name} [{UNITS[name]}]" for name in names]
    cells = [repr(values[name]) if name in values else "" for name in names]
    table = trial.folder / "runs.csv"
    table.write_text(
        ",".join(["session", "set_point [rpm]", "double_run", *head, "set_aside"])
        + "\n"
        + ",".join(["S1", f"{point:g}", "1", *cells, ""])
        + "\n",
        encoding="utf-8",
    )
    try:
        runs = read_runs(trial)
    except InputError as error:
        return {finding.rule for finding in error.findings} & KNOWN
    found = {each.rule for rule in RULES for each in rule.check(trial, runs)
             if hasattr(each, "rule") and hasattr(each, "severity")}  # fmt: skip
    # A run of unknown length is told by the rule on short ones; aboard the clock always gives one.
    return found - ({"run-too-short"} if "duration" not in values else set())


def test_a_run_is_judged_alike_in_a_table_and_alone(tmp_path: Path) -> None:
    trial = read_trial(tmp_path)
    tests = asked_of(trial.protocol)
    seen: dict[str, int] = {}
    for point, values in generated(300, 1):
        own = {rule for rule, _ in broken(tests, point, values)}
        if own & set(STOPS):  # `check` looks at nothing else before the cells are right
            own &= set(STOPS)
        assert told_by_check(trial, point, values) == own, (point, values)
        for rule in own or {"none"}:
            seen[rule] = seen.get(rule, 0) + 1
    assert min(seen[rule] for rule in (*KNOWN, "none")) >= 5, seen


def test_a_run_set_aside_has_nothing_to_keep(tmp_path: Path) -> None:
    tests = asked_of(read_trial(tmp_path).protocol)
    assert broken(tests, 1000.0, {"duration": 3.0}) == [("run-too-short", "duration")]
    assert broken(tests, 1000.0, {"duration": 3.0}, "crossed a wake") == []
