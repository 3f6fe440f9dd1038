"""Seals: what fits them, when they count, and the command that makes and verifies them."""

from __future__ import annotations

import hashlib
import json
import shutil
from datetime import date, datetime
from pathlib import Path

import pytest
from sealed_by_hand import BEFORE, CLAIMS, EXAMPLE, seal

from slackwater.analysis.cli import main
from slackwater.protocol.declared.protocol import load_protocol
from slackwater.protocol.declared.trial import load_trial
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
