"""Starting a protocol or a trial: what is written loads, checks clean, and overwrites nothing."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from slackwater.analysis.checking.applying import check_protocol
from slackwater.analysis.cli import main
from slackwater.protocol.declared.protocol import build_protocol, load_protocol
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.files.yaml_edit import Edit, EditError, edited, scalar
from slackwater.protocol.library import shipped
from slackwater.protocol.starting import Wanted, document_from, new_protocol
from slackwater.protocol.starting_trial import headings, new_trial

EACH = pytest.mark.parametrize("base", list(shipped()))


@EACH
def test_a_protocol_from_each_shipped_one(
    base: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "house-method.yaml"
    words = ["new", "protocol", "--from", base, "--output", str(target)]
    assert main(words) == 0
    assert capsys.readouterr().err == f"wrote {target}\n"  # and nothing that the check would say
    assert main(["check", str(target)]) == 0
    made, from_ = load_protocol(target), load_protocol(base)
    assert made.protocol == "house-method"
    assert {**dict(made), "protocol": base} == dict(from_)
    lines = target.read_text("utf-8").splitlines()
    assert f"{base} {from_.version}" in lines[0]
    assert "yaml-language-server" not in target.read_text("utf-8")  # its path leads nowhere here
    old = shipped()[base].read_text("utf-8").splitlines()
    assert [line for line in old if line not in lines] == [old[0], f"protocol: {base}"]


@EACH
def test_a_trial_to_each_shipped_protocol(
    base: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "spring.yaml"
    words = ["new", "trial", "--from", base, "--configurations", "bare,fitted", "--runs"]
    assert main([*words, "--output", str(target)]) == 0
    assert capsys.readouterr().err == f"wrote {target}\nwrote {tmp_path / 'runs.csv'}\n"
    assert main(["check", str(target)]) == 0
    told = capsys.readouterr().out
    protocol = load_protocol(base)
    # That there are no runs yet, and no scores or tries where these are asked for.
    none_yet = ["no-runs-yet"] + ["no-ratings-yet"] * (protocol.ratings is not None)
    none_yet += ["no-tries-yet"] * bool(protocol.manoeuvres)
    assert all(f"[{rule}]" in told for rule in none_yet)
    count = len(none_yet)
    assert f"{count} piece{'' if count == 1 else 's'} of advice" in told
    trial = load_trial(target)
    assert (trial.trial, trial.protocol.protocol) == ("spring", base)
    assert list(trial.configurations) == ["bare", "fitted"]
    assert [(p.baseline, p.modified) for p in trial.comparisons] == [("bare", "fitted")]
    assert trial.sessions == ()
    assert str(trial.runs) == "runs.csv"


@EACH
def test_the_sessions_in_its_comments_fit_once_filled_in(base: str, tmp_path: Path) -> None:
    target = tmp_path / "t.yaml"
    assert main(["new", "trial", "--from", base, "--output", str(target)]) == 0
    text = target.read_text("utf-8")
    block = text.split("\n# sessions:")[1].split("\n\n")[0]
    filled = "sessions:" + re.sub("(?m)^#", " ", block)
    day = iter(range(1, 100))
    filled = re.sub("year-month-day", lambda _: f"2026-05-{next(day):02d}", filled)
    filled = filled.replace("...", "7").replace("fuel: 7 %", "fuel: 70 %")
    target.write_text(text + filled + "\n", encoding="utf-8")
    trial = load_trial(target)
    order = trial.protocol.sessions.order
    fitted = {"baseline": "A", "modified": "B"}
    assert "".join(fitted[session.configuration] for session in trial.sessions) == order
    for name in (*trial.protocol.loading, *trial.protocol.conditions):
        assert all(session.value(name) is not None for session in trial.sessions), name


@EACH
def test_the_headings_are_those_that_the_run_table_needs(base: str, tmp_path: Path) -> None:
    from slackwater.analysis.intake.tables import read_runs

    protocol = load_protocol(base)
    found = headings(protocol)
    assert found[:4] == [
        "session",
        f"set_point [{protocol.set_point_unit}]",
        "double_run",
        "direction",
    ]
    assert "duration [s]" in found
    assert found[-2:] == ["set_aside", "note"]
    # One double run, read as a run table is read, with a figure in every column of a measure.
    row = {"session": "S1", "double_run": "1", "duration [s]": "60"}
    point = f"{protocol.set_point_values[0]:g}"
    lines = [",".join(found)]
    for minute, direction in ((10, "out"), (14, "back")):
        cells = {
            **row,
            "direction": direction,
            "start": f"2026-05-04T09:{minute}:00",
            found[1]: point,
            "set_aside": "",
            "note": "",
        }
        lines.append(",".join(cells.get(head, "7.5") for head in found))
    (tmp_path / "runs.csv").write_text("\n".join(lines) + "\n")
    (tmp_path / "t.yaml").write_text(
        f"trial: t\nprotocol: {base}\nconfigurations: {{a: {{title: A}}, b: {{title: B}}}}\n"
        "sessions: [{id: S1, configuration: a, date: 2026-05-04}]\n"
    )
    runs = read_runs(load_trial(tmp_path / "t.yaml"))
    assert len(runs.frame) == 2
    for name in protocol.measures:
        assert runs.frame[name].tolist() == [7.5, 7.5]
        assert runs.units[name] == protocol.measure(name).unit


def test_everything_that_a_flag_can_give(tmp_path: Path) -> None:
    target = tmp_path / "p.yaml"
    words = ["new", "protocol", "--id", "prop-trial", "--title", "Propellers: old and new # two"]
    words += ["--set-points", "1200 rpm,1600 rpm", "--sessions", "4", "--output", str(target)]
    words += ["--worthwhile", "speed=2 %, economy=4 %", "--configurations", "old prop,new prop"]
    assert main(words) == 0
    made = load_protocol(target)
    assert made.protocol == "prop-trial"
    assert made.title == "Propellers: old and new # two"
    assert made.set_point_values == (1200, 1600)
    assert made.sessions.order == "ABBABAAB"
    assert str(made.analysis.worthwhile["economy"]) == "4 %"
    assert "order: ABBABAAB   # A old prop, B new prop" in target.read_text("utf-8")
    assert not check_protocol(made).findings


def test_three_configurations_and_a_change_that_cannot_be_undone(tmp_path: Path) -> None:
    wanted = Wanted(id="three", configurations=("bare", "a", "b"), sessions=2)
    made = new_protocol(load_protocol("two-way-sweep"), wanted, Path("three.yaml"))
    assert made.sessions.order == "ABCCBA"
    three = load_protocol(_written(tmp_path, made.document.text))
    names = Wanted(id="t", configurations=("bare", "a", "b"))
    trial = new_trial(three, names, tmp_path / "t.yaml")
    assert [(p.baseline, p.modified) for p in trial.comparisons] == [("bare", "a"), ("bare", "b")]
    hull = new_protocol(
        load_protocol("hull-coating-before-after"), Wanted(id="hull", sessions=3), Path("h.yaml")
    )
    assert hull.sessions.order == "AAABBB"
    assert not check_protocol(hull).findings


def test_a_trial_names_a_protocol_file_from_its_own_folder(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "trials").mkdir()
    monkeypatch.chdir(tmp_path)
    assert main(["new", "protocol", "--output", "mine.yaml"]) == 0
    assert main(["new", "trial", "--from", "mine.yaml", "--output", "trials/one.yaml"]) == 0
    assert 'protocol: "../mine.yaml"' in (tmp_path / "trials/one.yaml").read_text("utf-8")
    assert load_trial(tmp_path / "trials/one.yaml").protocol.protocol == "mine"


def test_to_standard_output_and_as_json(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["new", "protocol"]) == 0
    text = capsys.readouterr().out
    assert build_protocol(document_from(text, Path("x.yaml")))[1] == []
    assert main(["new", "protocol", "--format", "json"]) == 0
    data = capsys.readouterr().out
    assert json.loads(data)["protocol"] == "my-protocol"
    path = tmp_path / "x.json"
    path.write_text(data)
    assert load_protocol(path).sessions.order == "ABBAAB"  # JSON is YAML


@pytest.mark.parametrize("kind", ["protocol", "trial"])
def test_nothing_is_overwritten(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "mine.yaml"
    target.write_text("precious\n")
    assert main(["new", kind, "--output", str(target)]) == 2
    assert "[output-exists]" in capsys.readouterr().err
    assert target.read_text() == "precious\n"


def test_a_table_that_is_there_is_proposed_from_and_left_as_it_is(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = tmp_path / "runs.csv"
    table.write_text("session\nS1\n")
    target = tmp_path / "t.yaml"
    assert main(["new", "trial", "--runs", "--output", str(target)]) == 0
    assert "no column says what was aimed at" in capsys.readouterr().err
    assert table.read_text() == "session\nS1\n"
    assert "- {id: S1, configuration: ...}" in target.read_text()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["trial", "--sessions", "3"], "--sessions belongs to a protocol"),
        (["trial", "--set-points", "1000 rpm"], "--set-points belongs to a protocol"),
        (["trial", "--worthwhile", "speed=1 %"], "--worthwhile belongs to a protocol"),
        (["protocol", "--runs"], "--runs belongs to a trial"),
        (["trial", "--configurations", "a,a"], "does not name two or more"),
        (["trial", "--configurations", "a"], "does not name two or more"),
        (["trial", "--configurations", "a,b,c"], "the order ABBAAB of the protocol has 2"),
        (["trial", "--runs", "runs.xlsx"], "is no name of a CSV file"),
        (["protocol", "--sessions", "many"], "'many' is no count"),
        (["protocol", "--sessions", "0"], "give a whole number from 1 to 200"),
        (["protocol", "--sessions", "201"], "give a whole number from 1 to 200"),
        (["protocol", "--id", "My Boat"], "small letters, digits and hyphens"),
        (["protocol", "--set-points", "1000, 2000 rpm"], "'1000' has no unit"),
        (["protocol", "--set-points", "5 kn"], "rotational speed"),
        (["protocol", "--worthwhile", "speed 1 %"], "has no '='"),
        (["protocol", "--worthwhile", "sped=1 %"], "did you mean 'speed'?"),
        (["protocol", "--from", "two-way-swep"], "did you mean 'two-way-sweep'?"),
        (["boat"], "invalid choice: 'boat'"),
    ],
)
def test_what_does_not_fit(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", *words]) == 2
    found = capsys.readouterr()
    assert said in found.err
    assert found.out == ""


def test_what_the_check_will_say_is_said_at_once(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["new", "protocol", "--from", "fuel-economy-fixed-speeds", "--set-points", "8 kn,25 kn"]
    assert main(words) == 0
    assert "[shallow-water]" in capsys.readouterr().err


def test_a_file_that_cannot_be_changed_in_place(tmp_path: Path) -> None:
    text = shipped()["two-way-sweep"].read_text("utf-8")
    assert "values: [1000 rpm, 1500 rpm, 2000 rpm]" in text
    dashes = text.replace(
        "values: [1000 rpm, 1500 rpm, 2000 rpm]", "values:\n      - 1000 rpm\n      - 1500 rpm"
    )
    document = load_protocol(_written(tmp_path, dashes)).document
    with pytest.raises(EditError, match=r"'runs\.set_points\.values' in p\.yaml is not written"):
        edited(document, [Edit(("runs", "set_points", "values"), "[1 rpm]")])
    with pytest.raises(EditError, match=r"there is no 'noise\.speed'"):
        edited(document, [Edit(("noise", "speed"), "x")])


def _written(folder: Path, text: str) -> Path:
    path = folder / "p.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_values_on_one_line_are_changed_and_the_rest_stays(tmp_path: Path) -> None:
    text = "protocol: 'a b'   # kept\nsessions: {per_configuration: 2, order: ABBA}   # both\n"
    document = document_from(text, tmp_path / "x.yaml")
    found = edited(
        document,
        [
            Edit(("sessions", "order"), "ABBAAB", "gone"),
            Edit(("sessions", "per_configuration"), "3", "gone"),
            Edit(("protocol",), scalar("c: d")),
        ],
    )
    assert found == (
        'protocol: "c: d"   # kept\nsessions: {per_configuration: 3, order: ABBAAB}   # both\n'
    )


@pytest.mark.parametrize(
    ("text", "yaml"),
    [
        ("Old propeller", "Old propeller"),
        ("no", '"no"'),
        ("12", '"12"'),
        ("a: b", '"a: b"'),
        ("a # b", '"a # b"'),
        ('say "x"\\', '"say \\"x\\"\\\\"'),
        ("- x", '"- x"'),
        ("bare ", '"bare "'),
    ],
)
def test_texts_are_quoted_where_yaml_would_take_them_for_something_else(
    text: str, yaml: str
) -> None:
    import yaml as reader

    assert scalar(text) == yaml
    assert reader.safe_load(f"x: {yaml}") == {"x": text}
