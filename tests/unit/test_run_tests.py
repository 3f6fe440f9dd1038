"""What is asked of a single run as data gives the answers that `check` gives on the same run in a table."""

from __future__ import annotations

from pathlib import Path

from generated_runs import TRIAL, UNITS, generated
from generated_tries import AROUND, generated_tries
from invented_tries import HEAD, lay

from slackwater.analysis.checking.run_rules import run_outside_limit, run_too_short
from slackwater.analysis.checking.run_rules import set_point_not_held as not_held
from slackwater.analysis.intake.tables import read_runs
from slackwater.analysis.intake.try_table import read_tries
from slackwater.protocol.declared.trial import Trial, load_trial
from slackwater.protocol.findings import InputError
from slackwater.protocol.schedule.run_tests import STOPS, asked_of, asked_of_tries, broken

RULES = (not_held.RULE, run_too_short.RULE, run_outside_limit.RULE)
OF_TRIES = {"value-not-positive"}  # asked of tries alone
KNOWN = {*STOPS, *(rule.id for rule in RULES)} - OF_TRIES
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


def told_by_table(folder: Path, tries: list[dict[str, float]]) -> set[tuple[int, str, str]]:
    """What the reading of a table says of these tries: the place of each, the rule, the value."""
    lines = [HEAD]
    for number, values in enumerate(tries, 1):
        turns = "tactical_diameter" in values
        cells = [repr(values[name]) if name in values else "" for name in AROUND]
        named = ["S1", "turn", "port"] if turns else ["S1", "acceleration", "out"]
        lines.append(",".join([*named, str(number), *cells, "A", "", ""]))
    trial = load_trial(lay(folder, tries=lambda _: "\n".join(lines) + "\n"))
    try:
        read_tries(trial)
    except InputError as error:
        told = [(each, each.place) for each in error.findings]
        return {
            ((place.line or 0) - 2, each.rule, each.message.split(", ")[1].partition(":")[0])
            for each, place in told
            if place is not None
        }
    return set()


def test_a_try_is_judged_alike_in_a_table_and_alone(tmp_path: Path) -> None:
    """Tries around every bound, six in a table, of which the reading says all that is wrong."""
    tries = generated_tries(96, 3)
    tests = asked_of_tries(load_trial(lay(tmp_path)).protocol)
    seen = set()
    for start in range(0, len(tries), 6):
        some = tries[start : start + 6]
        wanted = {
            (number, rule, of)
            for number, values in enumerate(some)
            for rule, of in broken(tests, float("nan"), values)
        }
        assert told_by_table(tmp_path, some) == wanted
        seen |= {each[1:] for each in wanted}
    assert {rule for rule, _ in seen} == {"value-not-positive", "cell-impossible"}
    assert {of for _, of in seen} == set(AROUND)
