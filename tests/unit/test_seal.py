"""Seals: what fits them, when they count, and how they part the comparisons of a trial."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
from datetime import date, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from sweep_tables import table

from slackwater.analysis import analyse
from slackwater.analysis.cli import main
from slackwater.analysis.report.trial.terminal import render
from slackwater.analysis.result.result import Result
from slackwater.analysis.verdict.sealed_families import declared_positions
from slackwater.protocol.claims.claims_file import load_claims
from slackwater.protocol.declared.protocol import Protocol, load_protocol
from slackwater.protocol.declared.trial import ComparisonPair, load_trial
from slackwater.protocol.files.source import document_of, read_document
from slackwater.protocol.findings import InputError
from slackwater.protocol.library import shipped
from slackwater.protocol.sealing.seal import (
    load_seal,
    made_before,
    moment,
    seal_path,
    seal_status,
    sealed_claims,
)
from slackwater.protocol.sealing.seal_making import seal_text

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "workboat-interceptors"
BEFORE = "2026-05-01T18:30:12+02:00"  # the example's first run is of 2026-05-04
CLAIMS = """\
claims:
  - {id: C1, quantity: fuel_flow, baseline: bare, modified: fitted, at: 2200 rpm,
     stated: {change: -2 %}}
  - {id: C2, quantity: top_speed, baseline: bare, modified: fitted, stated: {change: +1 %}}
"""


def seal(folder: Path, name: str = "protocol.yaml", made: str = BEFORE, claims: str = "") -> Path:
    """Seal a protocol file at a time of one's own choosing, as anyone can."""
    protocol = load_protocol(folder / name)
    target = seal_path(folder / name)
    declared = load_claims(folder / claims) if claims else None
    text = seal_text(protocol, declared, target, datetime.fromisoformat(made), "0.0")
    target.write_text(text, encoding="utf-8")
    return target


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(EXAMPLE, tmp_path / "trial")
    return tmp_path / "trial"


# --- the file ------------------------------------------------------------------------------------


def test_a_seal_holds_the_hash_of_the_bytes(folder: Path) -> None:
    found = load_seal(seal(folder))
    # Against the hash of the standard library, over the bytes on disk.
    assert (
        found.protocol.sha256 == hashlib.sha256((folder / "protocol.yaml").read_bytes()).hexdigest()
    )
    assert str(found.protocol.file) == "protocol.yaml"
    assert found.protocol.id == load_protocol(folder / "protocol.yaml").protocol
    assert found.made.isoformat() == BEFORE
    assert found.claims is None


def test_it_says_in_words_what_it_does_not_prove(folder: Path) -> None:
    text = " ".join(seal(folder).read_text("utf-8").replace("#", "").split())
    assert "it does not prove when that was" in text
    assert "the clock is the maker's own" in text
    assert "lodged with a third party" in text
    assert "Declared for comparison: speed and economy." in text


def test_what_was_sealed_is_what_is_there(folder: Path) -> None:
    path = folder / "protocol.yaml"
    assert seal_status(read_document(path)).state == "none"
    seal(folder)
    status = seal_status(read_document(path))
    assert (status.state, status.kept, status.path) == ("kept", True, seal_path(path))
    path.write_bytes(path.read_bytes() + b"\n")
    status = seal_status(read_document(path))
    assert status.state == "changed"
    assert (
        status.message == "the file protocol.yaml is not what was sealed on 2026-05-01 18:30 +02:00"
    )
    assert "a new seal" in status.fix


def test_one_character_is_a_change(folder: Path) -> None:
    path = folder / "protocol.yaml"
    seal(folder)
    text = path.read_text("utf-8")
    assert text.count("speed: 1 %,") == 1
    path.write_text(text.replace("speed: 1 %,", "speed: 2 %,"), encoding="utf-8")
    assert seal_status(read_document(path)).state == "changed"


def test_line_ends_are_named_where_they_alone_differ(folder: Path) -> None:
    path = folder / "protocol.yaml"
    seal(folder)
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    status = seal_status(read_document(path))
    assert status.state == "changed"
    assert "only its line ends differ" in status.message
    assert ".gitattributes" in status.fix
    path.write_bytes(path.read_bytes() + b"# more\r\n")
    assert "line ends" not in seal_status(read_document(path)).message


def test_a_file_that_was_renamed_still_fits(folder: Path) -> None:
    seal(folder)
    (folder / "protocol.yaml").rename(folder / "method.yaml")
    assert seal_status(read_document(folder / "method.yaml")).state == "kept"


def test_of_several_seals_the_earliest_that_fits_counts(folder: Path) -> None:
    first = seal(folder)
    first.rename(folder / "a.seal.yaml")
    seal(folder, made="2026-04-01T08:00:00+00:00").rename(folder / "b.seal.yaml")
    status = seal_status(read_document(folder / "protocol.yaml"))
    assert status.made == datetime.fromisoformat("2026-04-01T08:00:00+00:00")
    # One of an older text does not speak against the one that fits.
    text = (folder / "a.seal.yaml").read_text("utf-8")
    digest = status.seal.protocol.sha256 if status.seal else ""
    (folder / "b.seal.yaml").write_text(text.replace(digest, "0" * 64), encoding="utf-8")
    status = seal_status(read_document(folder / "protocol.yaml"))
    assert (status.state, status.path) == ("kept", folder / "a.seal.yaml")


def test_a_shipped_protocol_is_sealed_where_the_trial_is(tmp_path: Path) -> None:
    protocol = load_protocol("one-day-abba")
    target = tmp_path / "one-day-abba.seal.yaml"
    now = datetime.fromisoformat(BEFORE)
    target.write_text(seal_text(protocol, None, target, now, "0.0"), encoding="utf-8")
    assert seal_status(protocol.document).state == "none"
    assert seal_status(protocol.document, tmp_path).state == "kept"
    found = load_seal(target)
    assert found.path_of(found.protocol) == shipped()["one-day-abba"]


def test_a_protocol_inside_a_trial_has_no_bytes_of_its_own(tmp_path: Path) -> None:
    shutil.copytree(EXAMPLE.parent / "one-morning-each", tmp_path / "t")
    protocol = load_trial(tmp_path / "t" / "trial.yaml").protocol
    with pytest.raises(InputError, match="put the protocol into a file of its own"):
        seal_text(protocol, None, tmp_path / "x", datetime.fromisoformat(BEFORE), "0.0")
    assert seal_status(protocol.document).state == "none"
    assert seal_status(document_of({})).state == "none"


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("made: " + BEFORE, "made: 2026-05-01T18:30:12", "its offset"),
        ("made: " + BEFORE, "made: 18:30", "its offset"),
        ("made: " + BEFORE, "", "'made' is missing"),
        ("seal: 1", "seal: 2", "seal"),
        ("protocol:\n", "protcol:\n", "did you mean 'protocol'?"),
        ('sha256: "', 'sha256: "zz', "64 hexadecimal digits"),
    ],
)
def test_a_seal_that_was_tampered_with_into_nonsense(
    folder: Path, old: str, new: str, said: str
) -> None:
    target = seal(folder)
    text = target.read_text("utf-8")
    assert old in text
    target.write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_seal(target)
    assert said in str(caught.value)
    status = seal_status(read_document(folder / "protocol.yaml"))
    assert (status.state, status.seal) == ("unreadable", None)


@pytest.mark.parametrize(
    ("first", "before"),
    [
        ("2026-05-01T18:30:13", True),  # a second later, on the maker's own clock
        ("2026-05-01T18:30:12", False),
        ("2026-05-01T18:30:13+02:00", True),
        ("2026-05-01T16:30:13+00:00", True),
        ("2026-05-01T16:30:12+00:00", False),  # the same moment
        ("2026-05-01T18:30:13+03:00", False),
    ],
)
def test_before_the_first_run(first: str, before: bool) -> None:
    made = datetime.fromisoformat(BEFORE)
    assert made_before(made, datetime.fromisoformat(first)) is before


def test_before_a_day_and_before_nothing() -> None:
    made = datetime.fromisoformat(BEFORE)
    assert made_before(made, date(2026, 5, 2))
    assert not made_before(made, date(2026, 5, 1))  # that day's runs may be earlier
    assert not made_before(made, None)


def test_times_as_reports_give_them() -> None:
    assert moment(datetime.fromisoformat(BEFORE)) == "2026-05-01 18:30 +02:00"
    west = datetime.fromisoformat("2026-05-01T18:30:12-03:30")
    assert moment(west) == "2026-05-01 18:30 -03:30"


def test_claims_are_sealed_along(folder: Path) -> None:
    (folder / "claims.yaml").write_text(CLAIMS)
    found = load_seal(seal(folder, claims="claims.yaml"))
    assert seal_status(read_document(folder / "claims.yaml")).state == "kept"
    claims, status = sealed_claims(found)
    assert claims is not None
    assert status is not None
    assert [claim.id for claim in claims.claims] == ["C1", "C2"]
    assert status.kept
    (folder / "claims.yaml").write_text(CLAIMS.replace("-2 %", "-3 %"))
    claims, status = sealed_claims(found)
    assert claims is None
    assert status is not None
    assert status.state == "changed"
    assert seal_status(read_document(folder / "claims.yaml")).state == "changed"
    assert seal_status(read_document(folder / "protocol.yaml")).state == "kept"
    (folder / "claims.yaml").unlink()
    assert sealed_claims(found)[0] is None


# --- the command ---------------------------------------------------------------------------------


def test_seal_and_verify(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "protocol.yaml"
    before = datetime.now().astimezone().replace(microsecond=0)
    assert main(["seal", str(path)]) == 0
    said = capsys.readouterr()
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert digest in said.out
    mark = hashlib.sha256((folder / "protocol.seal.yaml").read_bytes()).hexdigest()
    assert mark in said.out
    assert "not prove when it was made" in said.out
    assert before <= load_seal(folder / "protocol.seal.yaml").made <= datetime.now().astimezone()
    for named in ("protocol.yaml", "protocol.seal.yaml"):
        assert main(["seal", "--verify", str(folder / named)]) == 0
        assert "protocol.yaml  as sealed" in capsys.readouterr().out
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    assert main(["seal", "--verify", str(path)]) == 1
    assert "protocol.yaml  CHANGED; only its line ends differ" in capsys.readouterr().out
    path.unlink()
    assert main(["seal", "--verify", str(folder / "protocol.seal.yaml"), "--format", "json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert data["kept"] is False
    assert data["files"][0]["state"] == "missing"


def test_a_seal_is_never_made_anew(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = seal(folder)
    old = target.read_bytes()
    assert main(["seal", str(folder / "protocol.yaml")]) == 2
    said = capsys.readouterr().err
    assert "there is a seal already, made on 2026-05-01 18:30 +02:00 [output-exists]" in said
    assert target.read_bytes() == old
    other = folder / "second.seal.yaml"
    assert main(["seal", str(folder / "protocol.yaml"), "--output", str(other)]) == 0
    assert load_seal(other).protocol.sha256 == load_seal(target).protocol.sha256


def test_a_shipped_one_is_sealed_in_the_folder_one_is_in(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["seal", "two-way-sweep", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["file"] == "two-way-sweep.seal.yaml"
    assert data["seal"]["protocol"]["file"] == "two-way-sweep.yaml"
    assert main(["seal", "--verify", "two-way-sweep.seal.yaml"]) == 0
    assert not seal_path(shipped()["two-way-sweep"]).exists()


def test_what_whoever_seals_is_told(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "protocol.yaml"
    text = path.read_text("utf-8")
    assert "  worthwhile: {speed: 1 %, economy: 3 %}\n" in text
    path.write_text(text.replace("  worthwhile: {speed: 1 %, economy: 3 %}\n", ""))
    assert main(["seal", str(path)]) == 0
    said = capsys.readouterr().err
    assert "every comparison will count as found afterwards" in said
    assert "has 1 thing to say of it; mend it before you run" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "no protocol is named"),
        (["trial.yaml"], "a trial, whose bytes change with every session"),
        (["protocol.yaml", "--verify", "x"], "--verify takes the file of a seal"),
        (["--verify", "protocol.yaml"], "there is no seal protocol.seal.yaml beside it"),
        (["--verify", "gone.seal.yaml"], "there is no such file"),
        (["protocol.yaml", "--claims", "gone.yaml"], "there is no such file"),
        (["protocol.yaml", "--output", "x.yaml"], "end the name of a seal in .seal.yaml"),
    ],
)
def test_what_cannot_be_sealed(
    folder: Path,
    words: list[str],
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(folder)
    assert main(["seal", *words]) == 2
    assert said in capsys.readouterr().err
    assert not list(folder.glob("*.seal.yaml"))


def test_check_looks_a_seal_over_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "claims.yaml").write_text(CLAIMS)
    target = seal(folder, claims="claims.yaml")
    assert main(["check", str(target)]) == 0
    assert "nothing found" in capsys.readouterr().out
    (folder / "claims.yaml").unlink()
    path = folder / "protocol.yaml"
    path.write_bytes(path.read_bytes() + b"\n")
    assert main(["check", str(target)]) == 1
    said = capsys.readouterr().out
    assert "the file protocol.yaml is not what was sealed [seal-changed]" in said
    assert "the file claims.yaml is not there [seal-missing]" in said
    target.write_text("seal: 1\n")
    assert main(["check", str(target)]) == 1
    assert "'made' is missing" in capsys.readouterr().out


# --- the trial -----------------------------------------------------------------------------------


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
