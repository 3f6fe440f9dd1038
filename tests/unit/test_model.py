"""The protocol: what it holds, its defaults, and every error told at once, in plain words."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.declared.protocol import Protocol, build_protocol, load_protocol
from slackwater.protocol.files.fault_ids import FAULTS
from slackwater.protocol.files.source import document_of
from slackwater.protocol.findings import Finding, InputError
from slackwater.protocol.library import shipped
from slackwater.protocol.units.quantity import Quantity, QuantityError

SMALL = """\
protocol: example
runs:
  set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm]}
measures:
  speed_over_ground: {unit: kn}
"""


def write(folder: Path, text: str) -> Path:
    path = folder / "protocol.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def errors(folder: Path, text: str) -> list[Finding]:
    with pytest.raises(InputError) as caught:
        load_protocol(write(folder, text))
    return list(caught.value.findings)


def error(folder: Path, text: str) -> tuple[str, str, int | None, int | None]:
    (finding,) = errors(folder, text)
    assert finding.place
    return finding.message, finding.fix, finding.place.line, finding.place.column


def test_the_shipped_protocol_says_what_the_manual_says() -> None:
    protocol = load_protocol("two-way-sweep")
    assert protocol.protocol == "two-way-sweep"
    assert protocol.loading["displacement"] == Limit(within=Quantity(1.0, "%"))
    assert protocol.loading["fuel"] == Limit(between=(Quantity(40.0, "%"), Quantity(100.0, "%")))
    assert protocol.loading["crew"] == Limit(same=True)
    assert {name: str(limit) for name, limit in protocol.conditions.items()} == {
        "wind_speed": "at most 8 kn",
        "wave_height": "at most 0.3 m",
        "water_depth": "at least 6 m",
        "current": "at most 1.5 kn",
        "water_temperature": "within 5 delta_degC",
    }
    assert protocol.set_point_measure == "engine_speed"
    assert protocol.set_point_values == (1000.0, 1500.0, 2000.0)
    assert protocol.set_point_unit == "rpm"
    assert protocol.runs.double_runs == 3
    assert protocol.sessions.order == "ABBAAB"
    assert protocol.measures["fuel_flow"].standard_uncertainty == Quantity(1.0, "%")
    assert protocol.measures["fuel_flow"].shared is True
    assert protocol.analysis.confidence == Quantity(95.0, "%")
    assert protocol.analysis.worthwhile == {"speed": Quantity(1, "%"), "economy": Quantity(3, "%")}
    assert protocol.noise == {}  # nobody's figures but the user's own belong there
    assert any("skipper" in caution for caution in protocol.cautions)
    assert re.fullmatch("[0-9a-f]{64}", protocol.document.sha256)


@pytest.mark.parametrize("name", shipped())
def test_every_shipped_protocol_loads_and_bears_its_name(name: str) -> None:
    protocol = load_protocol(name)
    assert protocol.protocol == name
    assert protocol.cautions
    assert protocol.sources


def test_defaults(tmp_path: Path) -> None:
    protocol = load_protocol(write(tmp_path, SMALL))
    assert protocol.version == "1.0"
    assert protocol.runs.directions == "reciprocal"
    assert protocol.runs.reciprocal_within == Quantity(15.0, "deg")
    assert protocol.runs.steady.record == Quantity(60.0, "s")
    assert protocol.analysis.current == "tide_fit"
    assert protocol.analysis.family == "set_points"
    assert protocol.analysis.limits_broken == "untestable"
    assert protocol.measures["speed_over_ground"].shared is False
    assert protocol.sessions.block == "none"
    assert protocol.limits == {}


@pytest.mark.parametrize(
    ("sessions", "count", "order"),
    [("{}", 3, "ABBAAB"), ("{per_configuration: 1}", 1, "AB"), ("{per_configuration: 4}", 4, "ABBAABBA"),
     ("{order: ABBA}", 2, "ABBA"), ("{order: ABCCBA}", 2, "ABCCBA")],
)  # fmt: skip
def test_order_and_number_of_sessions_follow_each_other(
    tmp_path: Path, sessions: str, count: int, order: str
) -> None:
    made = load_protocol(write(tmp_path, f"{SMALL}sessions: {sessions}\n")).sessions
    assert (made.per_configuration, made.order) == (count, order)


def test_a_measure_of_ones_own(tmp_path: Path) -> None:
    text = SMALL + "  wake_height: {unit: cm, better: less, title: Height of the wake}\n"
    text += "analysis: {worthwhile: {wake_height: 2 cm}}\n"
    protocol = load_protocol(write(tmp_path, text))
    measure = protocol.measure("wake_height")
    assert (measure.unit, measure.better, measure.scale) == ("cm", "less", "ratio")
    assert protocol.measure("economy") is MEASURES["economy"]
    with pytest.raises(KeyError):
        protocol.measure("nothing")


def test_set_points_are_in_the_unit_of_the_first(tmp_path: Path) -> None:
    text = SMALL.replace("engine_speed", "speed").replace(
        "[1000 rpm, 2000 rpm]", "[9.26 km/h, 10 kn]"
    )
    protocol = load_protocol(write(tmp_path, text))
    assert protocol.set_point_unit == "km/h"
    assert protocol.set_point_values == pytest.approx((9.26, 18.52))  # 1 kn is 1.852 km/h


def test_limits_hold_or_not() -> None:
    at_most = Limit(at_most=Quantity(8.0, "kn"))
    assert at_most.holds(Quantity(4.0, "m/s"))  # 7.8 kn
    assert not at_most.holds(Quantity(4.2, "m/s"))  # 8.2 kn
    assert Limit(at_least=Quantity(6.0, "m")).holds(Quantity(6.0, "m"))
    between = Limit(between=(Quantity(40.0, "%"), Quantity(100.0, "%")))
    assert [between.holds(Quantity(v, "%")) for v in (39.9, 40.0, 100.0, 100.1)] == [
        False, True, True, False,
    ]  # fmt: skip
    with pytest.raises(QuantityError):
        between.holds(Quantity(300.0, "L"))
    assert Limit(same=True).compares
    assert not at_most.compares


@pytest.mark.parametrize(
    ("old", "new", "message", "fix", "line", "column"),
    [
        ("runs:", "rnus:", "the key 'rnus' is not known at the top level", "did you mean 'runs'?", 2, 1),
        ("of: engine_speed", "of: engine_sped", "'engine_sped' is not a measure that can be held",
         "did you mean 'engine_speed'?", 3, 20),
        ("1000 rpm", "1000", "'1000' has no unit; a rotational speed (rpm) is needed",
         "write '1000 rpm'", 3, 43),
        ("1000 rpm", "10 kn", "'10 kn' is a speed; a rotational speed (rpm) is needed", "", 3, 43),
        ("1000 rpm", "2e3 rpm", "the set point '2000 rpm' stands here already",
         "take one of the two away; repeats are set by double_runs", 3, 52),
        ("1000 rpm", "0 rpm", "'0 rpm' is not above zero", "give a value above zero", 3, 43),
        ("[1000 rpm, 2000 rpm]", "1000 rpm", "'1000 rpm' stands here; a list is needed",
         "write [first, second], or '- ' before each", 3, 42),
        ("[1000 rpm, 2000 rpm]", "[]", "an empty list; one entry at least is needed",
         "write the entries, or take the key away", 3, 42),
        ("protocol: example", "protocol: My Protocol", ("'My Protocol' does not do here; "
         "an id of small letters, digits and hyphens is needed"), "", 1, 11),
        ("unit: kn", "unit: knot_s", "the unit 'knot_s' is not known", "did you mean 'knots'?", 5, 29),
        ("unit: kn", "unit: L/h", "'L/h' does not fit speed_over_ground; a speed is needed",
         "use one of kn, m/s, km/h, mph", 5, 29),
        ("unit: kn", "shared: yes", "'yes' does not do here; 'true' or 'false' is needed",
         "write 'true'", 5, 31),
        ("unit: kn", "shared: True", "'True' does not do here; 'true' or 'false' is needed",
         "write 'true'", 5, 31),
        ("speed_over_ground", "sped_over_ground", "the measure 'sped_over_ground' is not in the catalogue",
         "did you mean 'speed_over_ground'?", 5, 3),
        ("speed_over_ground: {unit: kn}", "economy: {unit: nmi/L}",
         "'economy' is derived from what is measured, not measured itself",
         "declare what the instruments read, such as speed_over_ground or fuel_flow", 5, 3),
        ("speed_over_ground: {unit: kn}", "wake: {shared: true}",
         "the measure 'wake' has no unit, and the catalogue does not know it", "add 'unit:'", 5, 3),
    ],
)  # fmt: skip
def test_one_error(
    tmp_path: Path, old: str, new: str, message: str, fix: str, line: int, column: int
) -> None:
    assert error(tmp_path, SMALL.replace(old, new, 1)) == (message, fix, line, column)


@pytest.mark.parametrize(
    ("line", "message", "fix"),
    [
        ("conditions: {wnd_speed: {at_most: 8 kn}}", "the key 'wnd_speed' is not known here",
         "did you mean 'wind_speed'?"),
        ("conditions: {wind_speed: {at_mst: 8 kn}}", "the key 'at_mst' is not known here",
         "did you mean 'at_most'?"),
        ("conditions: {wind_speed: {at_most: 8 m}}",
         "'8 m' is a length; a speed (kn, m/s, km/h, mph) is needed", ""),
        ("conditions: {wind_speed: 8 kn}", "'8 kn' is not a limit",
         ("write one of {at_most: ...}, {at_least: ...}, {between: [..., ...]}, {within: ...}, "
         "{same: true}")),
        ("conditions: {wind_speed: {at_least: 2 kn, at_most: 8 kn}}",
         "two limits in one: at_least and at_most",
         "give one; both bounds are written {between: [lowest, highest]}"),
        ("conditions: {wind_speed: {between: [8 kn, 2 kn]}}", "'8 kn' is more than '2 kn'",
         "write the lower bound first"),
        ("conditions: {wind_speed: {between: [8 kn]}}", "two bounds are needed",
         "write {between: [lowest, highest]}"),
        ("conditions: {water_temperature: {within: 5 degC}}",
         "'5 degC' is a temperature; a temperature difference is needed",
         "write '5 delta_degC'"),
        ("loading: {fuel: {between: [40 %, 300 L]}}", "'40 %' and '300 L' are of different kinds",
         "give both bounds in one unit"),
        ("loading: {crew: {same: false}}", "'same: false' limits nothing", "take the line away"),
        ("loading: {crew: {at_most: 2.5}}", "'2.5' is not a count",
         "write a whole number such as '3'"),
        ("loading:", "names with limits are needed here",
         "write them such as 'wind_speed: {at_most: 8 kn}'"),
        ("sessions: {per_configuration: 3, order: ABBA}",
         "the order has A 2 times, B 2 times; 3 times each is needed (per_configuration)",
         "change one of the two"),
        ("sessions: {order: ab}", "'ab' does not do here; a row of capital letters (ABBA) is needed", ""),
        ("sessions: {per_configuration: 2.5}",
         "'2.5' does not do here; a whole number from 1 to 200 is needed", ""),
        ("analysis: {current: tidefit}",
         "'tidefit' is not known here; tide_fit, mean_of_means, double_run or none is needed",
         "did you mean 'tide_fit'?"),
        ("analysis: {confidence: 0.95}", "'0.95' has no unit; a percentage (%) is needed",
         "write '95 %' if a fraction is meant, else '0.95 %'"),
        ("analysis: {confidence: 0.95 %}", "a confidence of 0.95 %; 50 to 99.9 % is needed",
         "95 % is usual"),
        ("analysis: {worthwhile: {sped: 1 %}}", "'sped' is not a quantity known here",
         "did you mean 'speed'?"),
        ("analysis: {worthwhile: {speed: 1 L}}",
         "'1 L' is a volume; a percentage (%) or a speed (kn, m/s, km/h, mph) is needed", ""),
        ("analysis: {worthwhile: {speed: 0 %}}", "'0 %' is not above zero",
         "give a value above zero"),
        ("analysis:", "nothing stands here; keys with values are needed",
         "write them indented below, or as {key: value, key: value}"),
        ("noise: {speed: {between_sessions: 0.6 %, sessions: 1}}",
         "'1' does not do here; a whole number from 2 to 10000 is needed", ""),
        ("noise: {speed: {between_sessions: 0.6 %}}", ("the key 'sessions' is missing under "
         "'noise > speed'"), "add 'sessions:' (the number of sessions it was estimated from)"),
        ("noise: {sped: {between_sessions: 0.6 %, within_session: 1 %, sessions: 5}}",
         "'sped' is not a quantity known here", "did you mean 'speed'?"),
        ("waive: [{rule: one-way}]", "the key 'reason' is missing under 'waive > entry 1'",
         "add 'reason:' (why it is not to be applied)"),
        ("title:", "no value is given; a text is needed", "write it, in quotes"),
        ("version: [1, 0]", "a list stands here; a name is needed", ""),
    ],
)  # fmt: skip
def test_one_error_in_an_added_line(tmp_path: Path, line: str, message: str, fix: str) -> None:
    found, mend, at, _ = error(tmp_path, SMALL + line + "\n")
    assert (found, mend, at) == (message, fix, 6)


def test_one_limit_on_one_thing(tmp_path: Path) -> None:
    text = SMALL + "loading: {draught: {within: 1 %}}\nconditions: {draught: {at_most: 1 m}}\n"
    assert error(tmp_path, text) == (
        "'draught' is limited under 'loading' already", "keep one of the two", 7, 14,
    )  # fmt: skip


def test_all_errors_of_a_file_come_together(tmp_path: Path) -> None:
    text = """\
protocol: example
protocol: again
runs:
  set_points: {of: engine_speed, values: [1000 rpm, 20 kn], hold: 5 kn}
  double_runs: many
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 1 kg}
conditions: {wind_speed: {at_most: 8}}
analysis: {worthwhile: {speed: 1 kg, econmy: 1 %}, familly: all}
"""
    found = [(f.place.line, f.place.column) for f in errors(tmp_path, text) if f.place]
    assert found == [
        (2, 1), (4, 53), (4, 67), (5, 16), (7, 55), (8, 36), (9, 32), (9, 38), (9, 52),
    ]  # fmt: skip


def test_a_missing_key_says_what_belongs_there(tmp_path: Path) -> None:
    found = errors(tmp_path, "protocol: example\nruns: {set_points: {of: throttle}}\n")
    assert [(f.rule, f.message, f.fix) for f in found] == [
        ("missing-key", "the key 'measures' is missing at the top level",
         "add 'measures:' (what is read on every run)"),
        ("missing-key", "the key 'values' is missing under 'runs > set_points'",
         "add 'values:' (the values to be held, each with its unit)"),
    ]  # fmt: skip


def test_endless_errors_are_cut(tmp_path: Path) -> None:
    text = SMALL + "noise:\n" + "".join(f"  x{i}: 1\n" for i in range(500))
    found = errors(tmp_path, text)
    assert len(found) == 61
    # Two each: the quantity is not known, and no group of keys stands under it.
    assert found[-1].message == "940 more errors are not shown"


def test_unknown_protocols_are_told_of(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="did you mean 'two-way-sweep'"):
        load_protocol("two-way-swep")
    with pytest.raises(InputError, match="there is no such file"):
        load_protocol(tmp_path / "absent.yaml")
    with pytest.raises(InputError):
        load_protocol("x" * 5000)


def test_models_are_frozen(tmp_path: Path) -> None:
    protocol = load_protocol(write(tmp_path, SMALL))
    with pytest.raises(ValidationError):
        protocol.runs.double_runs = 5


def test_heavy_libraries_wait_until_they_are_wanted() -> None:
    code = (
        "import sys; from slackwater.protocol.declared.protocol import load_protocol;"
        "early = {'pint', 'numpy', 'pandas', 'scipy'} & set(sys.modules);"
        "load_protocol('two-way-sweep');"
        "late = {'pandas', 'scipy.stats', 'matplotlib', 'rich'} & set(sys.modules);"
        "print(sorted(early), sorted(late))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[] []"


# --- any data ------------------------------------------------------------------------------------

JARGON = re.compile(
    r"pydantic|Input should|Field required|Extra inputs|validation error|type=|ctx|NoneType|\bdict\b",
    re.IGNORECASE,
)
VALUES = st.sampled_from(
    ["", "8 kn", "5", "1 %", "true", "none", "ABBA", "engine_speed", "1000 rpm", "-3 kg", "nan",
     "tide_fit", "{}", "12:30", "2026-05-04", "x" * 200, "a\nb"]
)  # fmt: skip


def mutated(original: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    """The data of a good file with one to four of its parts replaced, renamed or taken out."""
    paths = list(_paths(original))
    words = sorted({str(step) for path in paths for step in path if isinstance(step, str)})
    junk = st.recursive(
        VALUES,
        lambda inner: (
            st.lists(inner, max_size=3)
            | st.dictionaries(st.sampled_from([*words, "zz"]), inner, max_size=3)
        ),
        max_leaves=6,
    )
    change = st.tuples(st.sampled_from(paths), st.sampled_from(["set", "drop", "rename"]), junk)
    return st.lists(change, min_size=1, max_size=4).map(lambda changes: _change(original, changes))


def _paths(node: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    inner = (
        node.items()
        if isinstance(node, dict)
        else enumerate(node)
        if isinstance(node, list)
        else ()
    )
    found = [path] if path else []
    for key, value in inner:
        found += _paths(value, (*path, key))
    return found


def _change(original: dict[str, Any], changes: list[Any]) -> dict[str, Any]:
    import copy

    data = copy.deepcopy(original)
    for path, action, junk in changes:
        holder: Any = data
        for step in path[:-1]:
            try:
                holder = holder[step]
            except (KeyError, IndexError, TypeError):
                break
        else:
            if isinstance(holder, dict) and path[-1] in holder:
                value = holder.pop(path[-1])
                if action == "set":
                    holder[path[-1]] = junk
                elif action == "rename":
                    holder[f"{path[-1]}x"] = value
            elif isinstance(holder, list) and isinstance(path[-1], int) and path[-1] < len(holder):
                holder[path[-1]] = junk
    return data


with shipped()["two-way-sweep"].open(encoding="utf-8") as stream:
    GOOD = yaml.load(stream, Loader=yaml.BaseLoader)


@given(mutated(GOOD))
@settings(max_examples=300)
def test_any_data_is_a_protocol_or_findings(data: dict[str, Any]) -> None:
    protocol, findings = build_protocol(document_of(data))
    assert isinstance(protocol, Protocol) == (not findings)
    for finding in findings:
        assert finding.rule in FAULTS
        assert finding.message
        assert not JARGON.search(finding.message + finding.fix), finding


@given(mutated(GOOD))
def test_any_file_is_a_protocol_or_findings_with_places(
    tmp_path_factory: pytest.TempPathFactory, data: dict[str, Any]
) -> None:
    path = tmp_path_factory.getbasetemp() / "fuzzed.yaml"
    path.write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    try:
        load_protocol(path)
    except InputError as error:
        for finding in error.findings:
            assert finding.place is not None
            assert finding.place.line is not None, finding


def test_values_are_looked_at_beside_a_misspelt_measure(tmp_path: Path) -> None:
    path = tmp_path / "protocol.yaml"
    path.write_text(
        "protocol: p\n"
        "runs: {set_points: {of: engine_sped, values: [1000 rpm, 2000]}}\n"
        "measures: {speed_over_ground: {unit: kn}}\n"
    )
    with pytest.raises(InputError) as caught:
        load_protocol(path)
    said = [finding.message for finding in caught.value.findings]
    assert any("'engine_sped' is not a measure" in message for message in said)
    assert any("'2000' has no unit" in message for message in said)
