"""The trial: what it holds, what it has to agree on with itself and its protocol. Data invented."""

from __future__ import annotations

import copy
import re
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from slackwater.protocol.declared.trial import Trial, build_trial, load_trial
from slackwater.protocol.files.fault_ids import FAULTS
from slackwater.protocol.files.source import document_of
from slackwater.protocol.findings import Finding, InputError
from slackwater.protocol.units.quantity import Quantity

# Invented.
TRIAL = """\
trial: pilot-launch-interceptors
protocol: two-way-sweep
boat: {title: Pilot launch, waterline_length: 9.1 m, fuel_capacity: 700 L, fuel_reserve: 10 %}
configurations:
  bare:   {title: As delivered, propeller_pitch: 24 in, gear_ratio: 1.75}
  fitted: {title: Interceptors fitted, propeller_pitch: 24 in, gear_ratio: 1.75}
comparisons:
  - {baseline: bare, modified: fitted}
sessions:
  - {id: S1, configuration: bare, date: 2026-05-04, displacement: 6210 kg, wind_speed: 5 kn,
     wave_height: 0.2 m, water_depth: 14 m, water_temperature: 11 degC, fuel: 80 %, crew: 3}
  - {id: S2, configuration: fitted, date: 2026-05-05, displacement: 6200 ± 40 kg, fuel: 560 L}
runs: runs.csv
units: {speed_over_ground: kn}
columns: {speed_over_ground: "GPS speed"}
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "trial.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def errors(folder: Path, text: str) -> list[Finding]:
    with pytest.raises(InputError) as caught:
        load_trial(write(folder, text))
    return list(caught.value.findings)


def error(folder: Path, text: str) -> tuple[str, str, int | None, int | None]:
    (finding,) = errors(folder, text)
    assert finding.place
    return finding.message, finding.fix, finding.place.line, finding.place.column


def test_a_trial(tmp_path: Path) -> None:
    trial = load_trial(write(tmp_path, TRIAL))
    assert trial.trial == "pilot-launch-interceptors"
    assert trial.protocol.protocol == "two-way-sweep"
    assert trial.boat.fuel_capacity == Quantity(700.0, "L")
    assert list(trial.configurations) == ["bare", "fitted"]
    assert trial.configurations["bare"].propeller_pitch == Quantity(24.0, "in")
    assert trial.configurations["bare"].gear_ratio == 1.75
    first, second = trial.sessions
    assert (first.id, first.configuration, first.date) == ("S1", "bare", date(2026, 5, 4))
    assert first.day == "2026-05-04"
    assert first.crew == Quantity(3.0, "1")
    assert first.value("fuel") == Quantity(80.0, "%")
    assert second.value("displacement") == Quantity(6200.0, "kg", 40.0)
    assert second.value("wind_speed") is None
    assert trial.session("S2") is second
    assert (trial.runs, trial.folder) == (Path("runs.csv"), tmp_path)
    assert trial.units == {"speed_over_ground": "kn"}
    assert trial.columns == {"speed_over_ground": "GPS speed"}
    assert trial.document.place(("sessions", 0)).line == 10
    assert trial.document.place(("sessions", 1, "fuel")).line == 12


def test_two_configurations_are_compared_unasked(tmp_path: Path) -> None:
    text = TRIAL.replace("comparisons:\n  - {baseline: bare, modified: fitted}\n", "")
    (pair,) = load_trial(write(tmp_path, text)).comparisons
    assert (pair.baseline, pair.modified) == ("bare", "fitted")


def test_one_configuration_is_no_comparison(tmp_path: Path) -> None:
    text = "trial: one\nprotocol: two-way-sweep\nconfigurations: {bare: {}}\n"
    trial = load_trial(write(tmp_path, text))
    assert (trial.comparisons, trial.sessions, trial.runs) == ((), (), Path("runs.csv"))


def test_times_are_times(tmp_path: Path) -> None:
    text = TRIAL.replace("id: S1,", "id: S1, start: 09:30, end: 2026-05-04T12:15:30,")
    text = text.replace("date: 2026-05-05", "start: 2026-05-05T09:30")
    first, second = load_trial(write(tmp_path, text)).sessions
    assert (first.start, first.end) == (time(9, 30), datetime(2026, 5, 4, 12, 15, 30))
    assert second.day == "2026-05-05"  # told by the start


INLINE = """\
protocol:
  protocol: my-own
  conditions: {rain: {at_most: 2 mm/h}}
  runs: {set_points: {of: throttle, values: [40 %, 60 %]}}
  measures: {speed_over_ground: {unit: kn}}
  sessions: {block: day}
"""


def test_a_protocol_inline(tmp_path: Path) -> None:
    text = TRIAL.replace("protocol: two-way-sweep\n", INLINE)
    text = text.replace("id: S1,", "id: S1, further: {rain: 0.5 mm/h},")
    trial = load_trial(write(tmp_path, text))
    assert trial.protocol.set_point_values == (40.0, 60.0)
    assert trial.protocol.document.place(("conditions", "rain")).line == 4
    assert trial.sessions[0].value("rain") == Quantity(0.5, "mm/h")


def test_errors_of_an_inline_protocol_stand_in_the_trial(tmp_path: Path) -> None:
    text = TRIAL.replace("protocol: two-way-sweep\n", INLINE.replace("40 %", "40 kn"))
    assert error(tmp_path, text) == ("'40 kn' is a speed; a percentage (%) is needed", "", 5, 46)


def test_a_protocol_beside_the_trial(tmp_path: Path) -> None:
    inner = "".join(line[2:] for line in INLINE.splitlines(keepends=True)[1:])
    (tmp_path / "own.yaml").write_text(inner, encoding="utf-8")
    text = TRIAL.replace("protocol: two-way-sweep", "protocol: own.yaml")
    assert load_trial(write(tmp_path, text)).protocol.protocol == "my-own"
    (tmp_path / "own.yaml").write_text(inner.replace("40 %", "40"), encoding="utf-8")
    text = text.replace("crew: 3", "crew: three")
    found = errors(tmp_path, text)  # of both files together
    assert [Path(f.place.file).name for f in found if f.place] == ["own.yaml", "trial.yaml"]


@pytest.mark.parametrize(
    ("old", "new", "message", "fix", "line", "column"),
    [
        ("two-way-sweep", "two-way-swep", "there is no protocol 'two-way-swep'",
         "did you mean 'two-way-sweep'?", 2, 11),
        ("protocol: two-way-sweep", "protocol:", "no protocol is named here",
         "write the id of a shipped protocol, or the path of a file", 2, 1),
        ("modified: fitted", "modified: fited", "the configuration 'fited' is not declared",
         "did you mean 'fitted'?", 8, 32),
        ("modified: fitted", "modified: bare", "'bare' is compared with itself",
         "name two configurations", 8, 32),
        ("modified: fitted}", "modified: fitted}\n  - {baseline: bare, modified: fitted}",
         "'bare' and 'fitted' are compared already", "take one of the two away", 9, 5),
        ("modified: fitted", "modfied: fitted",
         "the key 'modfied' is not known under 'comparisons > entry 1'", "did you mean 'modified'?",
         8, 22),
        ("configuration: fitted", "configuration: trim-tabs",
         "the configuration 'trim-tabs' is not declared", "declared are: bare, fitted", 12, 29),
        ("id: S2", "id: S1", "the session 'S1' is declared already, on line 10",
         "give each session an id of its own", 12, 10),
        ("id: S2, ", "", "the key 'id' is missing under 'sessions > entry 2'",
         "add 'id:' (the name that the run table knows the session by)", 12, 5),
        ("date: 2026-05-04", "date: 04/05/2026",
         "'04/05/2026' is not an ISO date; a date such as '2026-05-04' is needed",
         "write year-month-day with four, two and two digits", 10, 41),
        ("date: 2026-05-04", "date: 2026-02-30",
         "'2026-02-30' is no day of the calendar; a date such as '2026-05-04' is needed", "", 10, 41),
        ("id: S1,", "start: 9.30, id: S1,",
         "'9.30' is not a time; a time such as '09:30' or '2026-05-04T09:30' is needed",
         "write two digits for hours and minutes each, 24-hour clock", 10, 13),
        ("id: S1,", "start: 2026-05-06T09:30, id: S1,",
         "the start, 2026-05-06, is not on the date, 2026-05-04", "mend one of the two", 10, 13),
        ("id: S1,", "start: 2026-05-04T09:30, end: 2026-05-04T08:30, id: S1,",
         "the session ends before it starts", "mend one of the two times", 10, 36),
        ("11 degC", "11 delta_degC", ("'11 delta_degC' is a temperature difference; "
         "a temperature is needed"), "write '11 degC'", 11, 64),
        ("fuel: 80 %", "fuel: 80", ("'80' has no unit; a percentage (%) or a volume (L, gal, m^3) "
         "or a mass (kg, t, lb) is needed"), "write '80 %' or another of L, gal, m^3, kg, t, lb",
         11, 79),
        ("wind_speed: 5 kn", "wind_speed: -5 kn", "'-5 kn' is below zero",
         "give a value of zero or more", 10, 88),
        ("wind_speed: 5", "windspeed: 5", ("the key 'windspeed' is not known under "
         "'sessions > entry 1'"), "did you mean 'wind_speed'?", 10, 76),
        ("gear_ratio: 1.75}\n  f", "gear_ratio: \"1,75\"}\n  f", "'1,75' has a comma in its number",
         "write a decimal point, and nothing between thousands: '1.75'", 5, 69),
        ("units: {speed_over_ground: kn}", "units: {speed_over_ground: kg}",
         "'kg' does not fit speed_over_ground; a speed is needed", "use one of kn, m/s, km/h, mph",
         14, 28),
        ("units: {speed_over_ground: kn}", "units: {speed_over_grund: kn}",
         "'speed_over_grund' is not a column of the run table or a measure of the protocol",
         "did you mean 'speed_over_ground'?", 14, 9),
        ("units: {speed_over_ground: kn}", "units: {note: kn}", "the column 'note' has no unit",
         "take it away", 14, 9),
        ("units: {speed_over_ground: kn}", "units: {torque: N*m}",
         "'torque' is not a column of the run table or a measure of the protocol",
         "declare 'torque' under 'measures:' in the protocol", 14, 9),
        ('"GPS speed"}', '"GPS speed", engine_speed: GPS speed}',
         "the heading 'GPS speed' is given to 'speed_over_ground' already",
         "give each column a heading of its own", 15, 57),
        ("runs: runs.csv", "runs:", "no value is given; the name of a file is needed",
         "write it, in quotes", 13, 1),
        ("boat: {", "boat: {propeller_pitch: 24 in, ", ("the key 'propeller_pitch' is not known "
         "under 'boat'"), ("known here: title, length_overall, waterline_length, beam, draught, "
         "displacement, fuel_capacity, fuel_reserve, fuel_density, note"), 3, 8),
    ],
)  # fmt: skip
def test_one_error(
    tmp_path: Path, old: str, new: str, message: str, fix: str, line: int, column: int
) -> None:
    assert old in TRIAL
    assert error(tmp_path, TRIAL.replace(old, new, 1)) == (message, fix, line, column)


def test_three_configurations_need_a_word_on_comparisons(tmp_path: Path) -> None:
    text = TRIAL.replace("comparisons:\n  - {baseline: bare, modified: fitted}\n", "  third: {}\n")
    assert error(tmp_path, text) == (
        "3 configurations, and no word on which are compared",
        "add 'comparisons: [{baseline: bare, modified: fitted}, ...]'", 4, 1,
    )  # fmt: skip


def test_blocks_by_day_need_dates(tmp_path: Path) -> None:
    text = TRIAL.replace("protocol: two-way-sweep\n", INLINE).replace("date: 2026-05-05, ", "")
    message, fix, *_ = error(tmp_path, text)
    assert (message, fix) == (
        "no date, and the protocol compares sessions of one day with each other", "add 'date:'",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("further", "message"),
    [
        ("{rian: 1 mm/h}", "the protocol limits no 'rian'"),
        (
            "{rain: 1 kg}",
            "'1 kg' does not fit the protocol's limit (at most 2 mm/h); a speed is needed",
        ),
    ],
)
def test_further_conditions_are_the_protocols(tmp_path: Path, further: str, message: str) -> None:
    text = TRIAL.replace("protocol: two-way-sweep\n", INLINE)
    text = text.replace("id: S1,", f"id: S1, further: {further},")
    assert error(tmp_path, text)[0] == message


def test_all_errors_of_a_file_come_together(tmp_path: Path) -> None:
    text = TRIAL.replace("fitted, date: 2026-05-05", "fited, date: yesterday")
    text = text.replace("crew: 3", "crew: 2.5").replace("title: Pilot", "titel: Pilot")
    text = text.replace("runs: runs.csv", "runs: runs.csv\nruns: more.csv")
    found = [(f.rule, f.place.line) for f in errors(tmp_path, text) if f.place]
    assert found == [
        ("unknown-key", 3), ("unfit-value", 11), ("unknown-configuration", 12), ("unfit-value", 12),
        ("duplicate-key", 14),
    ]  # fmt: skip


def test_the_message_shows_the_line(tmp_path: Path) -> None:
    path = write(tmp_path, TRIAL.replace("crew: 3", "crew: 2.5"))
    with pytest.raises(InputError) as caught:
        load_trial(path)
    assert str(caught.value).splitlines() == [
        f"{path}:11:91: error: '2.5' is not a count [unfit-value]",
        "         wave_height: 0.2 m, water_depth: 14 m, water_temperature: 11 degC, fuel: 80 %, crew: 2.5}",
        "    " + " " * 90 + "^",
        "    fix: write a whole number such as '3'",
    ]


# --- any data ------------------------------------------------------------------------------------

GOOD: dict[str, Any] = yaml.load(TRIAL, Loader=yaml.BaseLoader)
KEYS = sorted({*GOOD, *GOOD["boat"], *GOOD["sessions"][0], "further", "zz", "[key]"})
LEAVES = st.sampled_from(
    ["", "S1", "bare", "8 kn", "80 %", "2026-05-04", "09:30", "2026-05-04T09:30+02:00", "1.75", "nan",
     "true", "kn", "two-way-sweep", "a\0b", "x" * 300, "../nothing.yaml"]
)  # fmt: skip
JUNK = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(KEYS), inner, max_size=4)
    ),
    max_leaves=12,
)
JARGON = re.compile(r"pydantic|Input should|Field required|Extra inputs|validation error|NoneType")


@given(
    st.dictionaries(st.sampled_from(KEYS), JUNK, max_size=4),
    st.lists(st.dictionaries(st.sampled_from(KEYS), JUNK, max_size=3), max_size=2),
)
@settings(max_examples=400, deadline=None)
def test_any_data_is_a_trial_or_findings(
    top: dict[str, Any], sessions: list[dict[str, Any]]
) -> None:
    data = copy.deepcopy(GOOD)
    for session, changes in zip(data["sessions"], sessions, strict=False):
        session.update(changes)
    data.update(top)
    trial, findings = build_trial(document_of(data))
    assert isinstance(trial, Trial) == (not findings)
    for finding in findings:
        assert finding.rule in FAULTS
        assert finding.message
        assert not JARGON.search(finding.message + finding.fix), finding
