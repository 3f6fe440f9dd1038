"""What a seal makes of a trial's comparisons: what was declared is judged apart from what was found."""

from __future__ import annotations

import re
import shutil
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from sealed_by_hand import BEFORE, CLAIMS, EXAMPLE, seal
from sweep_tables import table

from slackwater.analysis import analyse
from slackwater.analysis.report.trial.terminal import render
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.sealed_families import declared_positions
from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.declared.trial import ComparisonPair


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(EXAMPLE, tmp_path / "trial")
    return tmp_path / "trial"


@pytest.fixture(scope="module")
def unsealed() -> Result:
    return analyse(EXAMPLE / "trial.yaml")


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Result:
    folder = tmp_path_factory.mktemp("sealed") / "trial"
    shutil.copytree(EXAMPLE, folder)
    (folder / "claims.yaml").write_text(CLAIMS)
    seal(folder, claims="claims.yaml")
    return analyse(folder / "trial.yaml")


def _key(row: dict[str, object]) -> tuple[object, ...]:
    return row["baseline"], row["modified"], row["quantity"], row["at"]


def test_without_a_seal_nothing_is_claimed(unsealed: Result) -> None:
    assert unsealed.seal.state == "none"
    assert all(row["declared"] is None for row in unsealed.records("comparisons"))
    assert ", not sealed\n" in render(unsealed, full=True)
    assert "Not sealed: nothing shows what was declared before the trial." in unsealed.to_html()
    assert "afterwards" not in render(unsealed, full=True)


def test_declared_is_what_the_protocol_and_the_claims_name(sealed: Result) -> None:
    assert sealed.seal.state == "kept"
    assert sealed.seal.claims == "kept"
    assert sealed.seal.made == BEFORE
    told = {_key(row)[2:]: row["declared"] for row in sealed.records("comparisons")}
    points = load_protocol(EXAMPLE / "protocol.yaml").set_point_values
    expected = {(name, f"{p:g} rpm") for name in ("speed", "economy") for p in points}
    expected.add(("fuel_flow", "2200 rpm"))  # claim C1
    expected |= {key for key in told if key[0] == "top_speed"}  # claim C2
    assert {key for key, declared in told.items() if declared} == expected
    assert all(declared is not None for declared in told.values())


def test_what_was_declared_is_judged_as_if_nothing_else_had_been(
    sealed: Result, unsealed: Result
) -> None:
    alone = {_key(row): row for row in unsealed.records("comparisons")}
    for row in sealed.records("comparisons"):
        if row["declared"] and row["quantity"] in ("speed", "economy"):
            assert row == {**alone[_key(row)], "declared": True}


def test_what_was_found_afterwards_is_one_family(sealed: Result, unsealed: Result) -> None:
    rows = [row for row in sealed.records("comparisons") if not row["declared"]]
    sweeps = {(row["quantity"], str(row["at"]).split()[-1]) for row in rows}
    assert len(sweeps) > 5
    for row in rows:
        established = row["verdict"] in ("gain", "loss", "higher", "lower")
        assert established == (row["p_value"] is not None and row["p_value"] <= 0.05)
    # p-values are of all sweeps together, so the confidence is that of all.
    assert {round(row["confidence"], 12) for row in rows} == {0.95}
    alone = {_key(row): row for row in unsealed.records("comparisons")}
    compared = 0
    for row in rows:
        other = alone[_key(row)]
        if row["quantity"] == "fuel_flow" or row["low"] is None:
            continue  # its sweep is parted, see below
        compared += 1
        assert row["high"] - row["low"] > other["high"] - other["low"]
        assert row["noise_floor"] > other["noise_floor"]
        # Bonferroni; how far the level is raised where sessions agree depends on the level.
        assert row["p_value"] >= min(1.0, 0.5 * len(sweeps) * other["p_value"])
    assert compared > 20


def test_a_sweep_that_holds_both_is_parted(sealed: Result) -> None:
    rows = [
        row
        for row in sealed.records("comparisons")
        if row["quantity"] == "fuel_flow" and str(row["at"]).endswith("rpm")
    ]
    assert [row["at"] for row in rows] == sorted(
        (row["at"] for row in rows), key=lambda at: float(str(at).split()[0])
    )
    families = {row["at"]: row["family"] for row in rows}
    assert families.pop("2200 rpm") == 1
    assert set(families.values()) == {7}
    text = " ".join(render(sealed, full=True).split())
    assert "found afterwards at" not in text.split("Speed: ")[0]
    assert "declared beforehand but for 1000 to 2000 and 2500 to 3500 rpm, found afterwards" in text


def test_what_decides_at_equal_speed_is_declared_where_nobody_chose_the_speeds(
    tmp_path: Path, sealed: Result
) -> None:
    def told(result: Result) -> set[bool | None]:
        rows = result.records("comparisons")
        return {
            row["declared"]
            for row in rows
            if row["quantity"] == "economy" and str(row["at"]).endswith("kn")
        }

    assert told(sealed) == {False}  # the trial's own file names the speeds
    folder = tmp_path / "trial"
    shutil.copytree(EXAMPLE, folder)
    path = folder / "trial.yaml"
    path.write_text(re.sub(r"(?m)^speeds:.*\n", "", path.read_text("utf-8")), encoding="utf-8")
    seal(folder)
    found = analyse(path)
    assert found.seal.state == "kept"
    assert told(found) == {True}
    flows = [row for row in found.records("comparisons") if row["quantity"] == "fuel_flow"]
    assert {row["declared"] for row in flows if str(row["at"]).endswith("kn")} == {False}


def test_the_report_says_it(sealed: Result) -> None:
    text = " ".join(render(sealed, full=True).split())
    head = text.split("Speed: ")[0]
    assert "Sealed before the first run, by the maker's clock: 18 of" in head
    # At equal speed, which nobody declared: it decides, and was found afterwards.
    assert "economy at equal speed (declared to decide, found afterwards): " in head
    assert "The protocol was sealed on 2026-05-01 18:30 +02:00, by the maker's own clock" in text
    assert "it does not cover 2 runs set aside" in text
    html = sealed.to_html()
    assert "(declared to decide, found afterwards)" in html
    assert "Declared beforehand: speed, fuel flow at 2200" in html.replace("\u00a0", " ")


def test_a_protocol_changed_after_it_was_sealed(folder: Path, unsealed: Result) -> None:
    seal(folder)
    path = folder / "protocol.yaml"
    path.write_bytes(path.read_bytes() + b"# one more thought\n")
    result = analyse(folder / "trial.yaml")
    assert result.seal.state == "changed"
    assert [f.rule for f in result.findings if f.rule.startswith("seal")] == ["seal-changed"]
    assert result.records("comparisons") == unsealed.records("comparisons")
    assert "is not what was sealed" in str(result).split("Speed: ")[0]


@pytest.mark.parametrize("made", ["2026-05-04T23:00:00+02:00", "2027-01-01T00:00:00+00:00"])
def test_a_seal_made_too_late(folder: Path, made: str, unsealed: Result) -> None:
    seal(folder, made=made)
    result = analyse(folder / "trial.yaml")
    assert result.seal.state == "late"
    assert [f.rule for f in result.findings if f.rule.startswith("seal")] == ["seal-late"]
    assert result.records("comparisons") == unsealed.records("comparisons")


def test_claims_changed_after_they_were_sealed_declare_nothing(folder: Path) -> None:
    (folder / "claims.yaml").write_text(CLAIMS)
    seal(folder, claims="claims.yaml")
    (folder / "claims.yaml").write_text(CLAIMS.replace("2200 rpm", "2500 rpm"))
    result = analyse(folder / "trial.yaml")
    assert (result.seal.state, result.seal.claims) == ("kept", "changed")
    assert [f.rule for f in result.findings if f.rule.startswith("seal")] == ["seal-changed"]
    declared = {row["quantity"] for row in result.records("comparisons") if row["declared"]}
    assert declared == {"speed", "economy"}


def test_a_set_point_that_was_not_sealed_is_found_afterwards(folder: Path) -> None:
    path = folder / "protocol.yaml"
    text = path.read_text("utf-8")
    assert "2500 rpm, 3000 rpm" in text
    path.write_text(text.replace("2500 rpm, 3000 rpm", "3000 rpm"), encoding="utf-8")
    seal(folder)
    rows = [
        row
        for row in analyse(folder / "trial.yaml").records("comparisons")
        if row["quantity"] == "speed"
    ]
    assert {row["at"] for row in rows if row["declared"] is False} == {"2500 rpm"}
    assert len([row for row in rows if row["declared"]]) == 7
    assert {row["family"] for row in rows if row["declared"]} == {7}


def test_speeds_that_the_protocol_names_were_declared(folder: Path) -> None:
    """Of five speeds that a trial compares at, the two that its sealed protocol names."""
    path = folder / "protocol.yaml"
    text = path.read_text("utf-8")
    path.write_text(
        text.replace("\nanalysis:\n", "\nanalysis:\n  speeds: [13 kn, 16 kn]\n"), "utf-8"
    )
    seal(folder)
    rows = analyse(folder / "trial.yaml").records("comparisons")
    at_speed = [row for row in rows if str(row["at"]).endswith(" kn")]
    declared = {row["at"] for row in at_speed if row["declared"]}
    assert declared == {"13 kn", "16 kn"}
    assert {row["at"] for row in at_speed} > declared


@pytest.mark.parametrize(
    ("pair", "declared"), [(("bare", "foil"), True), (("plate", "foil"), False)]
)
def test_which_of_more_letters_are_compared_no_protocol_says(
    pair: tuple[str, str], declared: bool
) -> None:
    """A is the baseline of every pair that an order declares."""
    protocol = Protocol.model_validate(
        {
            "protocol": "p",
            "runs": {"set_points": {"of": "engine_speed", "values": ["1000 rpm", "2000 rpm"]}},
            "measures": {"speed_over_ground": {"unit": "kn"}},
            "sessions": {"per_configuration": "2", "order": "ABCCBA"},
            "analysis": {"worthwhile": {"speed": "1 %"}},
        }
    )
    pairs = [
        ComparisonPair(baseline=one, modified=other)
        for one, other in (("bare", "plate"), ("bare", "foil"), ("plate", "foil"))
    ]
    trial: Any = SimpleNamespace(protocol=protocol, comparisons=pairs)
    kept: Any = SimpleNamespace(holds=True, claims=None)
    mask = declared_positions(
        trial,
        kept,
        ComparisonPair(baseline=pair[0], modified=pair[1]),
        table("speed", (1000.0, 2000.0), [[8.0, 9.0]] * 6),
    )
    assert mask is not None
    assert mask.tolist() == [declared, declared]
