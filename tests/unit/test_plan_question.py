"""From a protocol and options to a question: what is taken, what is assumed, what is refused."""

from __future__ import annotations

import csv
import shutil
import statistics
from math import log1p
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from slackwater.analysis.planning.question import question_of
from slackwater.analysis.planning.wanted import Wanted
from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.findings import InputError

EXAMPLE = Path(__file__).parents[2] / "examples" / "workboat-interceptors" / "trial.yaml"

TEXT = """\
protocol: planned
runs:
  set_points: {of: engine_speed, values: [1000 rpm, 2000 rpm, 3000 rpm]}
  directions: DIRECTIONS
  double_runs: 3
  steady: {settle: 20 s, record: 60 s}
sessions: {per_configuration: 3, block: BLOCK}
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: SHARED}
  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: SHARED}
  trim: {unit: deg, shared: true}
analysis: {ANALYSIS}
NOISE
"""


def protocol(
    folder: Path,
    noise: str = "",
    analysis: str = "worthwhile: {speed: 1 %}",
    shared: str = "true",
    directions: str = "reciprocal",
    block: str = "none",
) -> Protocol:
    text = TEXT.replace("NOISE", f"noise:\n  {noise}" if noise else "")
    text = text.replace("ANALYSIS", analysis).replace("SHARED", shared)
    text = text.replace("DIRECTIONS", directions).replace("BLOCK", block)
    path = folder / "planned.yaml"
    path.write_text(text, encoding="utf-8")
    return load_protocol(path)


SPEED = "speed: {between_sessions: 0.6 %, sessions: 12, within_session: 0.4 %}"


def test_noise_of_the_protocol_is_known_and_joined_in(tmp_path: Path) -> None:
    question = question_of(protocol(tmp_path, SPEED), Wanted())
    assert question.quantity == "speed"
    assert_allclose(question.effect, log1p(0.01))
    assert question.assumed == ()
    assert question.noise.df == 11
    assert_allclose([question.noise.between_sessions, question.noise.within_session], [6e-3, 4e-3])
    assert question.setting.prior == question.noise
    assert question.sessions == (1, 10)
    assert question.setting.current == "tide_fit"


def test_noise_by_flag_is_assumed(tmp_path: Path) -> None:
    question = question_of(protocol(tmp_path), Wanted(between="0.5 %", within="0.3 %"))
    assert question.noise_source == "assumed"
    assert set(question.assumed) == {
        "between sessions",
        "session by set point",
        "between double runs",
    }
    assert question.noise.df is None
    assert question.setting.prior is None
    known = question_of(protocol(tmp_path), Wanted(between="0.5 %", known_from=9))
    assert known.noise.df == 8
    assert "between sessions" in known.assumed


def test_a_flag_beside_the_protocol_assumes_that_part_alone(tmp_path: Path) -> None:
    question = question_of(protocol(tmp_path, SPEED), Wanted(within="0.9 %"))
    assert question.assumed == ("between double runs",)
    assert question.noise.df == 11
    assert_allclose(question.noise.within_session, 0.009)
    assert question.setting.prior is not None
    # What the analysis will join in.
    assert_allclose(question.setting.prior.within_session, 0.004)


def test_noise_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "noise.yaml"
    path.write_text(f"noise:\n  {SPEED}\n", encoding="utf-8")
    question = question_of(protocol(tmp_path), Wanted(noise=str(path)))
    assert question.noise_source == "noise.yaml"
    assert question.noise.df == 11
    assert question.setting.prior is None  # not in the protocol, so the analysis does not know it
    assert question.assumed == ()


def test_sizes_in_the_unit_need_a_level(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="without knowing how large speed is"):
        question_of(protocol(tmp_path), Wanted(between="0.1 kn"))
    question = question_of(protocol(tmp_path), Wanted(between="0.1 kn", speed="20 kn"))
    assert_allclose(question.noise.between_sessions, 0.005)


def test_a_difference_stays_in_its_unit(tmp_path: Path) -> None:
    wanted = Wanted(quantity="trim", effect="0.5 deg", between="0.2 deg", within="0.1 deg")
    question = question_of(protocol(tmp_path), wanted)
    assert (question.scale, question.unit) == ("difference", "deg")
    assert (question.effect, question.noise.between_sessions) == (0.5, 0.2)
    assert question.setting.current == "double_run"


def test_instruments_that_do_not_serve_both_count(tmp_path: Path) -> None:
    shared = question_of(protocol(tmp_path), Wanted(between="0.5 %"))
    assert shared.setting.known == 0
    apart = protocol(tmp_path, shared="false")
    unknown = question_of(apart, Wanted(between="0.5 %"))
    assert any("could not be counted" in note for note in unknown.notes)
    counted = question_of(apart, Wanted(between="0.5 %", speed="10 kn"))
    assert_allclose(counted.setting.known, 2 * 0.005**2)
    flow = Wanted(quantity="fuel_flow", effect="3 %", between="0.5 %")
    assert_allclose(question_of(apart, flow).setting.known, 2 * 0.01**2)


def test_looks_and_family_raise_the_confidence(tmp_path: Path) -> None:
    wanted = Wanted(effect="1 %", between="0.5 %")
    plain = question_of(protocol(tmp_path), wanted)
    looks = question_of(protocol(tmp_path, analysis="looks: {at_sessions: [2, 3]}"), wanted)
    every = question_of(protocol(tmp_path, analysis="family: all"), wanted)
    assert plain.setting.confidence == 0.95
    assert 0.95 < looks.setting.confidence < 0.96
    assert_allclose(every.setting.confidence, 1 - 0.05 / 4)  # speed, flow, trim, economy
    assert looks.notes
    assert every.notes
    assert not question_of(
        protocol(tmp_path, analysis="family: single"), wanted
    ).setting.simultaneous


def test_blocks_by_day(tmp_path: Path) -> None:
    question = question_of(protocol(tmp_path, block="day"), Wanted(between="0.5 %"))
    assert question.setting.blocked
    assert question.setting.session_df(4) == 3


def test_effort_is_counted_by_hand(tmp_path: Path) -> None:
    wanted = Wanted(between="0.5 %", speed="18 kn", fuel_flow="40 L/h", turn="40 s", transit="1 h")
    effort = question_of(protocol(tmp_path), wanted).effort
    from slackwater.analysis.planning.power import Design

    design = Design(3, 2)
    # 3 set points, 2 double runs, 2 passes of 80 s and 40 s to turn: 24 min; 6 sessions.
    assert_allclose(effort.session_hours(design) + effort.transit / 3600, 1.4)
    assert_allclose(effort.hours(design), 8.4)
    assert_allclose(effort.distance(design), 6 * 0.4 * 18)
    assert_allclose(effort.fuel(design), 6 * 0.4 * 40)
    assert effort.order(design) == "ABBAAB"  # as declared
    assert effort.changes(design) == 3
    assert_allclose(effort.hours_in_all(design), 8.4 + 3)
    assert effort.assumed == ("60 min for each change of configuration",)


def test_levels_come_from_an_earlier_trial() -> None:
    wanted = Wanted(between="0.5 %", levels=str(EXAMPLE))
    effort = question_of(load_protocol("two-way-sweep"), wanted).effort
    assert effort.speeds is not None
    assert effort.flows is not None
    assert effort.speeds[0] < effort.speeds[1] < effort.speeds[2]
    assert 5 < effort.speeds[0] < 7  # [kn] at 1000 rpm, as the example has it


def _mean_flow(rows: list[dict[str, str]], flow: str, point: str, at: str) -> float:
    """Mean over the sessions of the mean of their runs that count at one set point."""
    sessions: dict[str, list[float]] = {}
    for row in rows:
        if row[point] == at and not row["set_aside"]:
            sessions.setdefault(row["session"], []).append(float(row[flow]))
    return statistics.fmean(statistics.fmean(each) for each in sessions.values())


@pytest.mark.parametrize(("lacking", "told"), [("2000", True), ("1000", False)])
def test_a_set_point_without_a_flow_is_drawn_over_between_others_only(
    lacking: str, told: bool, tmp_path: Path
) -> None:
    """Left in, it made the fuel of every plan unknown, and nothing said why."""
    for name in ("trial.yaml", "protocol.yaml"):
        shutil.copy(EXAMPLE.parent / name, tmp_path)
    rows = list(csv.DictReader((EXAMPLE.parent / "runs.csv").open(encoding="utf-8")))
    (flow,) = (name for name in rows[0] if name.startswith("fuel_flow"))
    (point,) = (name for name in rows[0] if name.startswith("set_point"))
    for row in rows:
        row[flow] = "" if row[point] == lacking else row[flow]
    with (tmp_path / "runs.csv").open("w", encoding="utf-8", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)
    asked = Wanted(between="0.5 %", levels=str(tmp_path / "trial.yaml"))
    question = question_of(load_protocol("two-way-sweep"), asked)
    assert question.effort.speeds is not None
    flows = question.effort.flows
    if told:
        assert flows is not None
        low, high = (_mean_flow(rows, flow, point, at) for at in ("1800", "2200"))
        assert flows[2] == pytest.approx((low + high) / 2, rel=1e-9)  # 2000 lies half-way
    else:
        assert flows is None
    assert any("tells fuel flow from" in note for note in question.notes) is not told


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        (Wanted(within="0.4 %"), "nothing says how much speed differs between sessions"),
        (Wanted(quantity="spead", between="1 %"), "did you mean 'speed'?"),
        (Wanted(quantity="economy", between="1 %"), "nothing says how large a difference"),
        (Wanted(between="0.6"), "'0.6' has no unit"),
        (Wanted(between="-0.6 %"), "below zero"),
        (Wanted(between="1 %", power="100 %"), "a power of 100 %"),
        (Wanted(between="1 %", effect="0 %"), "cannot be seen"),
        (Wanted(between="0 %"), "without any noise"),
        (Wanted(between="1 %", sessions=(1, 3)), "one session with each configuration"),
        (Wanted(between="1 %", max_fuel="100 L"), "fuel of a plan is not known"),
        (Wanted(between="1 %", max_hours="12"), "'12' has no unit"),
        (Wanted(quantity="trim", effect="1 %", between="1 deg"), "a percentage"),
    ],
)
def test_what_cannot_be_answered_is_refused(tmp_path: Path, wanted: Wanted, told: str) -> None:
    with pytest.raises(InputError) as caught:
        question_of(protocol(tmp_path), wanted)
    assert told in str(caught.value)
    assert caught.value.findings[0].place is not None


def test_one_way_runs_tell_no_speed(tmp_path: Path) -> None:
    one_way = protocol(tmp_path, directions="one_way", analysis="current: none")
    with pytest.raises(InputError, match="cannot be told from runs in one direction"):
        question_of(one_way, Wanted(effect="1 %", between="1 %"))


def test_a_noise_file_without_the_quantity(tmp_path: Path) -> None:
    path = tmp_path / "noise.yaml"
    path.write_text(f"noise:\n  {SPEED}\n", encoding="utf-8")
    with pytest.raises(InputError, match="it has speed"):
        question_of(protocol(tmp_path), Wanted(quantity="fuel_flow", effect="1 %", noise=str(path)))


def test_a_noise_file_with_faults_says_where(tmp_path: Path) -> None:
    path = tmp_path / "noise.yaml"
    path.write_text("noise:\n  speed: {between_sessions: 0.6, session: 12}\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        question_of(protocol(tmp_path), Wanted(noise=str(path)))
    text = str(caught.value)
    assert "noise.yaml:2:" in text
    assert "did you mean 'sessions'?" in text


def test_mean_of_means_needs_passes_that_alternate(tmp_path: Path) -> None:
    wanted = Wanted(effect="1 %", between="0.5 %")
    alternate = protocol(tmp_path, analysis="current: mean_of_means")
    question = question_of(alternate, wanted)
    assert question.setting.current == "double_run"
    assert any("do not alternate" in note for note in question.notes)
    path = tmp_path / "planned.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("  double_runs: 3", "  double_runs: 3\n  first_direction: fixed"))
    assert question_of(load_protocol(path), wanted).setting.current == "mean_of_means"
