"""The shipped protocols: they load, they pass their own check, and they say what they have to."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from slackwater.analysis.checking.applying import check_protocol
from slackwater.analysis.cli import main
from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.library import shipped

NAMES = (
    "acceleration-and-stopping",
    "blind-rating",
    "change-made-afloat",
    "fuel-economy-fixed-speeds",
    "hull-coating-before-after",
    "one-day-abba",
    "speed-trial-double-runs",
    "turning",
    "two-way-sweep",
)
#: What each of them may waive; anything else has to be mended instead.
WAIVED = {
    "hull-coating-before-after": {"one-block", "baseline-not-repeated"},
    "one-day-abba": {"few-sessions"},
    "speed-trial-double-runs": {"same-direction-first"},
}
EACH = pytest.mark.parametrize("name", NAMES)


def _text(name: str) -> str:
    return shipped()[name].read_text("utf-8")


def _head(name: str) -> str:
    """The comment on top, as running text."""
    return " ".join(_text(name).split("\nprotocol:")[0].replace("#", "").split())


def test_these_are_shipped() -> None:
    assert tuple(shipped()) == NAMES


@EACH
def test_its_id_is_the_name_of_its_file(name: str) -> None:
    found = load_protocol(name)
    assert found.protocol == name
    assert found.document.path.stem == name
    assert found.title
    assert re.fullmatch(r"[0-9]+\.[0-9]+", found.version)


@EACH
def test_no_rule_speaks_that_is_not_waived(name: str) -> None:
    checked = check_protocol(load_protocol(name))
    assert [finding.render() for finding in checked.findings] == []
    # A waiver that silences nothing is a leftover.
    assert {waived.finding.rule for waived in checked.waived} == WAIVED.get(name, set())
    assert {waiver.rule for waiver in load_protocol(name).waive} == WAIVED.get(name, set())


@EACH
def test_the_command_finds_nothing(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(shipped()[name])]) == 0
    assert "nothing found" in capsys.readouterr().out


@EACH
def test_cautions_defer_to_those_who_decide(name: str) -> None:
    found = " ".join(load_protocol(name).cautions).lower()
    for word in ("local rules", "skipper", "lookout", "lifejackets", "licensed", "reserve"):
        assert word in found, word
    head = _head(name).lower()
    assert "cautions, before anything else" in head  # read first by whoever opens the file
    for word in ("local rules", "skipper", "licensed"):
        assert word in head, word


@EACH
def test_sources_are_named_and_their_scope_told(name: str) -> None:
    sources = load_protocol(name).sources
    assert len(sources) >= 3
    for source in sources:
        if "ISO 15016" in source or "ITTC" in source:
            assert "small craft lie outside" in source
        if "J1321" in source:
            assert "road vehicles" in source


@EACH
def test_no_noise_is_invented(name: str) -> None:
    assert load_protocol(name).noise == {}


@EACH
def test_nearly_every_setting_has_its_comment(name: str) -> None:
    lines = _text(name).split("\nloading:")[1].splitlines()
    told = [line for line in lines if "#" in line]
    assert len(told) >= 20
    assert all(ord(c) < 128 for c in _text(name)), "plain characters, for whatever editor there is"


def _runs_a_session(protocol: Protocol) -> int:
    return 2 * protocol.runs.double_runs * len(protocol.set_point_values)


def test_each_is_what_its_name_says() -> None:
    found = {name: load_protocol(name) for name in NAMES}
    double = found["speed-trial-double-runs"]
    # From memory: two double runs at each of three powers, ten minutes of steady running.
    assert double.runs.double_runs == 2
    assert len(double.set_point_values) == 3
    assert double.runs.steady.record.to("min").value == 10
    assert double.analysis.current == "mean_of_means"
    assert double.runs.first_direction == "fixed"  # so that the runs alternate
    assert found["hull-coating-before-after"].sessions.order == "AAAABBBB"
    assert found["one-day-abba"].sessions.order == "ABBA"
    afloat = found["change-made-afloat"]
    assert (afloat.sessions.block, afloat.sessions.per_configuration) == ("day", 8)
    assert _runs_a_session(afloat) == 8
    fuel = found["fuel-economy-fixed-speeds"]
    assert fuel.set_point_measure == "speed_through_water"
    assert set(fuel.analysis.worthwhile) == {"economy"}


def test_the_scope_of_the_standards_stands_on_top() -> None:
    head = _head("speed-trial-double-runs")
    assert "Small craft lie outside both" in head
    assert "NOT a trial to either standard" in head


def test_orders_let_drift_cancel_where_they_can() -> None:
    # Signs of the sessions against their numbers: sums of algebra, not of this program.
    for name, degree in (
        ("one-day-abba", 1),
        ("fuel-economy-fixed-speeds", 2),
        ("change-made-afloat", 2),
    ):
        signs = [1 if letter == "B" else -1 for letter in load_protocol(name).sessions.order]
        for power in range(degree + 1):
            assert sum(s * k**power for k, s in enumerate(signs)) == 0, (name, power)


def test_a_protocol_can_be_read_from_a_copy(tmp_path: Path) -> None:
    copy = tmp_path / "mine.yaml"
    copy.write_bytes(shipped()["one-day-abba"].read_bytes())
    assert load_protocol(copy).sessions.block == "day"
