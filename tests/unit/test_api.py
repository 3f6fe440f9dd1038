"""The front door in Python: what each call gives, prints, shows and turns into."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.resources import as_file, files
from pathlib import Path

import pytest

import slackwater
from slackwater.analysis.wording.answer import Answer, NotWritten
from slackwater.protocol.findings import InputError

EXAMPLES = Path(__file__).parents[2] / "examples"
TRIAL = EXAMPLES / "workboat-interceptors" / "trial.yaml"
CLAIMS = EXAMPLES / "published-article" / "careless-without-runs.yaml"


@pytest.fixture(scope="module")
def answers(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Answer]:
    log = tmp_path_factory.mktemp("invented") / "day.log"
    log.write_text("$GPRMC,101501,A,5051.2,N,00106.1,W,6.2,84.0,140625,,,A\n")
    return {
        "logs": slackwater.logs(log),
        "analysis": slackwater.analyse(TRIAL),
        "check": slackwater.check(TRIAL),
        "plan": slackwater.plan("two-way-sweep", quantity="speed", effect="1 %", between="0.6 %",
                                within="0.4 %", session_by_set_point="0.2 %"),
        "audit": slackwater.audit(CLAIMS),
        "noise": slackwater.noise(TRIAL),
    }  # fmt: skip


@pytest.mark.parametrize("kind", ["analysis", "check", "plan", "audit", "noise", "logs"])
def test_every_answer_prints_shows_and_counts(answers: dict[str, Answer], kind: str) -> None:
    answer = answers[kind]
    assert answer.kind == kind
    assert len(str(answer).splitlines()) > 1 or kind == "check"
    assert repr(answer) == f"<slackwater {kind}: {answer.summary}>"
    assert "\n" not in answer.summary
    assert len(answer.table) > 0 or kind == "check"
    assert json.loads(answer.to_json()) == json.loads(json.dumps(answer.to_dict()))
    shown = answer._repr_html_()
    assert shown.startswith(("<pre>", "<iframe sandbox"))


def test_a_page_in_a_notebook_cannot_leave_its_frame(answers: dict[str, Answer]) -> None:
    shown = answers["analysis"]._repr_html_()
    inside = shown.partition('srcdoc="')[2].partition('" style=')[0]
    assert '"' not in inside
    assert "<" not in inside


def test_a_form_that_there_is_not_says_so(answers: dict[str, Answer]) -> None:
    with pytest.raises(NotWritten, match="noise is not written as a page"):
        answers["noise"].to_html()
    with pytest.raises(NotWritten, match="plan is not written as a table"):
        answers["plan"].to_csv()


def test_names_of_the_front_door() -> None:
    for name in slackwater.__all__:
        assert getattr(slackwater, name) is not None
        assert name in dir(slackwater)
    with pytest.raises(AttributeError, match="no attribute 'analyze'"):
        _ = slackwater.analyze  # type: ignore[attr-defined]


def test_nothing_heavy_is_loaded_before_it_is_used() -> None:
    code = "import sys, slackwater; print([m for m in ('numpy', 'pandas') if m in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_protocol_and_trial_are_loaded() -> None:
    with as_file(files("slackwater.protocols") / "two-way-sweep.yaml") as path:
        protocol = slackwater.load_protocol(path)
    assert protocol.protocol == "two-way-sweep"
    assert slackwater.load_trial(TRIAL).trial == "workboat-interceptors"
    assert slackwater.plan(
        protocol, quantity="speed", effect="1 %", between="0.6 %", within="0.4 %"
    ).protocol.startswith("two-way-sweep ")


def test_what_is_wrong_is_told_of_every_trial(tmp_path: Path) -> None:
    for name in ("one", "two"):
        (tmp_path / name).write_text("trial: [\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        slackwater.noise(tmp_path / "one", tmp_path / "two")
    told = {Path(each.place.file).name for each in caught.value.findings if each.place}
    assert told == {"one", "two"}


def test_what_is_wrong_with_a_file_is_a_finding() -> None:
    checked = slackwater.check("no such file.yaml")
    assert not checked.usable
    assert not checked.clean
    assert checked.findings
