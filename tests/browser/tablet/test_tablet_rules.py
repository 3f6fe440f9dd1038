"""The page's rules, figures and codes as Node runs them, or the browser where there is no Node: the answers are
those of Python."""

from __future__ import annotations

import json
import shutil
import statistics
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from driving import Driven
from looking import ROOT

sys.path.insert(0, str(ROOT / "tests" / "unit"))
from generated_runs import TRIAL, generated
from generated_tries import generated_tries
from invented_tries import lay

from slackwater.analysis.report.pdf import browser as chromium_path
from slackwater.analysis.report.sheet.tablet_data import _test
from slackwater.analysis.report.sheet.tablet_page import SCRIPTS, folder, script, words
from slackwater.analysis.sheet.rating_orders import rating_orders
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.schedule.run_tests import asked_of, asked_of_tries, broken

Run = Callable[[str], Any]


@pytest.fixture(scope="module")
def run_js(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Run]:
    """What an expression comes to beside the page's scripts, none of which touches a page before it begins."""
    node = shutil.which("node")
    if node:
        place = tmp_path_factory.mktemp("node")

        def by_node(expression: str) -> Any:
            path = place / "asked.js"
            path.write_text(f"{script()}\nconsole.log(JSON.stringify({expression}));", "utf-8")
            done = subprocess.run(
                [str(node), str(path)], capture_output=True, text=True, timeout=120, check=False
            )
            assert done.returncode == 0, done.stderr
            return json.loads(done.stdout)

        yield by_node
        return
    program = chromium_path()
    if program is None:
        pytest.skip("neither Node nor Chromium here, so NO SCRIPT WAS RUN")
    driven = Driven(program, tmp_path_factory.mktemp("profile"))
    driven.value(script().rpartition("if (typeof document")[0] + "; 1")
    yield driven.value
    driven.close()


def test_a_run_breaks_the_same_rules_in_both_languages(run_js: Run, tmp_path: Path) -> None:
    """Two thousand runs around every limit; the Python answers are held to those of `check` elsewhere."""
    (tmp_path / "trial.yaml").write_text(TRIAL, encoding="utf-8")
    tests = asked_of(load_trial(tmp_path / "trial.yaml").protocol)
    runs = generated(2000, 2)
    wanted = [[list(pair) for pair in broken(tests, point, values)] for point, values in runs]
    data = json.dumps([_test(test) for test in tests])
    got = run_js(
        f"{json.dumps(runs)}.map(([point, values]) => brokenRules({data}, point, values, '')"
        ".map(each => [each.rule, each.of])).concat("
        f"[brokenRules({data}, 1000, {{duration: 3}}, 'crossed a wake')])"
    )
    assert got == [*wanted, []]
    assert sum(map(bool, wanted)) > 500


def test_a_try_breaks_the_same_rules_in_both_languages(run_js: Run, tmp_path: Path) -> None:
    """A thousand tries around every bound; the Python answers are held to those of the table elsewhere."""
    tests = asked_of_tries(load_trial(lay(tmp_path)).protocol)
    tries = generated_tries(1000, 4)
    wanted = [[list(pair) for pair in broken(tests, float("nan"), values)] for values in tries]
    data = json.dumps([_test(test) for test in tests])
    asked = f"brokenRules({data}, NaN, values, '').map(each => [each.rule, each.of])"
    assert run_js(f"{json.dumps(tries)}.map(values => {asked})") == wanted
    assert sum(map(bool, wanted)) > 300


def test_raters_have_the_same_orders_on_paper_and_on_the_page(run_js: Run) -> None:
    """Five items, seven raters, nine sessions: the slips are printed from the orders that Python deals out."""
    orders = rating_orders(5, 9, 3)
    asked = {"items": list(range(5)), "orders": orders.rows, "shifts": orders.shifts}
    got = run_js(
        f"((app.data = {{ratings: {json.dumps(asked)}}}), Array.from({{length: 63}}, (_, i) => "
        "inOrder({session: Math.floor(i / 7), number: (i % 7) + 1})))"
    )
    assert got == [list(orders.of(session, rater)) for session in range(9) for rater in range(7)]


TYPED = {
    "12.5": 12.5, "12,5": 12.5, "-3": -3, "−3": -3, ".5": 0.5, " 7 ": 7, "5.": 5, "1,250": None,
    "12,,5": None, "1e3": None, "12 kn": None, "": None, "NaN": None, "0x10": None, "Infinity": None,
}  # fmt: skip


def test_numbers_as_crews_type_them(run_js: Run) -> None:
    """A comma before three digits may set thousands apart, and is asked about as in a table."""
    got = run_js(f"{json.dumps(list(TYPED))}.map(text => readNumber(text) ?? null)")
    assert dict(zip(TYPED, got, strict=True)) == TYPED


def test_averages_of_fixes(run_js: Run) -> None:
    speeds = [5.0, 5.5, 5.2, 4.9]
    fixes = [{"speed": v, "course": 90.0, "accuracy": 3.0} for v in speeds]
    seen, none = run_js(f"[averageFixes({json.dumps(fixes)}), averageFixes([])]")
    assert seen["fixes"] == 4
    assert seen["speed"] == pytest.approx(statistics.mean(speeds), rel=1e-12)
    assert seen["scatter"] == pytest.approx(statistics.stdev(speeds), rel=1e-12)
    assert seen["course"] == pytest.approx(90)
    assert none["course"] is None  # not a number, and not north


def test_taking_back_can_be_taken_back(run_js: Run) -> None:
    entries = [
        (1, "note", "a"),
        (2, "note", "b"),
        (3, "undo", "2"),
        (4, "undo", "3"),
        (5, "undo", "4"),
    ]
    made = [{"n": n, "name": name, "value": value} for n, name, value in entries]
    undone = run_js(
        f"[3, 4, 5].map(count => [...undoneEntries({json.dumps(made)}.slice(0, count))].sort())"
    )
    assert undone == [[2], [3], [2, 4]]


def test_every_word_is_in_the_table_and_every_entry_of_it_is_used() -> None:
    """All text stands in one table, so that it can be translated."""
    import re

    code = "".join((folder() / name).read_text("utf-8") for name in SCRIPTS)
    asked = set(re.findall(r'\bsay\(\s*"([\w-]+)"', code)) | set(
        re.findall(r'\bbutton\("([\w-]+)"', code)
    )
    table = set(words())
    assert asked <= table, asked - table
    quoted = set(re.findall(r'"([\w-]+)"', code))
    made = tuple(re.findall(r"(?:say|button)\(`([\w-]+-)\$", code))
    left = {
        key for key in table if key not in quoted and not key.startswith((*made, "phase-", "bell-"))
    }
    assert left == {"no-script"}
    # No sentence stands in the scripts themselves.
    plain = re.sub(r"//.*|/\*.*?\*/", "", code, flags=re.DOTALL | re.MULTILINE)
    assert not re.findall(r'"[A-Z][a-z]+ [a-z]+ [^"]*"', plain)
    rules = {test.split('"')[1] for test in re.findall(r'RunTest\(\s*"[\w-]+"', run_tests_text())}
    assert {f"rule-{rule}" for rule in rules} <= table


def run_tests_text() -> str:
    return (ROOT / "protocol" / "schedule" / "run_tests.py").read_text("utf-8")


def test_the_scripts_are_typed(tmp_path: Path) -> None:
    """By the checker of TypeScript, from the comments; where it is installed."""
    tsc = shutil.which("tsc")
    if tsc is None:
        pytest.skip("no tsc here (npm install --global typescript), so NO SCRIPT WAS TYPE-CHECKED")
    there = ROOT / "analysis" / "report" / "sheet" / "tablet"
    options = {
        "allowJs": True, "checkJs": True, "noEmit": True, "strict": True, "target": "es2022",
        "lib": ["es2022", "dom", "dom.iterable"], "noUnusedLocals": True, "noImplicitReturns": True,
        "types": [],
    }  # fmt: skip
    asked = {"compilerOptions": options, "files": [str(there / name) for name in SCRIPTS]}
    (tmp_path / "tsconfig.json").write_text(json.dumps(asked), encoding="utf-8")
    done = subprocess.run([tsc, "-p", str(tmp_path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout
