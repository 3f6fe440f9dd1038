"""The archive of trials: what is found, kept, done again, and told of it."""

from __future__ import annotations

import json
import shutil
from collections.abc import Sequence
from pathlib import Path

import pandas as pd
import pytest
from fleet_trials import BROKEN, fleet

import slackwater
from slackwater.analysis.archive import archiving, kept
from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.archive.kept import Kept
from slackwater.analysis.archive.names import key_of, path_of
from slackwater.analysis.archive.store import Store, store_beside
from slackwater.analysis.cli import main
from slackwater.protocol.findings import InputError


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two trials, archived once."""
    folder = tmp_path_factory.mktemp("laid") / "trials"
    fleet(folder, 2, first=2)
    slackwater.archive(folder)
    return folder


@pytest.fixture
def folder(laid: Path, tmp_path: Path) -> Path:
    """The same with its store, to be changed."""
    for each in (laid, store_beside(laid)):
        (shutil.copytree if each.is_dir() else shutil.copy)(each, tmp_path / each.name)
    return tmp_path / "trials"


def _counts(result: ArchiveResult) -> dict[str, int]:
    return result.to_dict()["counts"]  # type: ignore[no-any-return]


def _one(folder: Path) -> Path:
    """The trial with a change in it."""
    return next(folder.glob("*/*-0*4.yaml"))


def test_nothing_is_done_twice(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(archiving, "keep", None)  # it would raise
    counts = _counts(slackwater.archive(folder))
    assert counts == {
        "trials": 2, "new": 0, "changed": 0, "unchanged": 2, "gone": 0, "broken": 0
    }  # fmt: skip


def test_what_is_kept_is_what_analyse_says(folder: Path) -> None:
    trial = _one(folder)
    result = slackwater.analyse(trial)
    name = key_of(trial.relative_to(folder))
    frame = slackwater.archived(
        store_beside(folder), f"SELECT * FROM comparisons WHERE path = '{name}'"
    )
    assert len(frame) == len(result.comparisons) > 20
    for told in ("verdict", "change", "p_value", "noise_floor", "low", "high", "at"):
        assert frame[told].astype(str).tolist() == result.comparisons[told].astype(str).tolist()


@pytest.mark.parametrize("which", ["trial", "runs", "protocol"])
def test_whatever_a_trial_reads_is_looked_at(folder: Path, which: str) -> None:
    trial = _one(folder)
    file = {
        "trial": trial,
        "runs": trial.with_suffix(".csv"),
        "protocol": folder / "change.yaml",
    }[which]
    file.write_text(file.read_text("utf-8") + "\n", encoding="utf-8")
    assert _counts(slackwater.archive(folder))["changed"] == 1
    assert _counts(slackwater.archive(folder))["changed"] == 0


def test_a_seal_laid_beside_is_an_input(folder: Path) -> None:
    assert main(["seal", str(folder / "change.yaml")]) == 0
    result = slackwater.archive(folder)
    assert _counts(result)["changed"] >= 1
    assert {"late"} <= {each.seal for each in result.trials}
    assert _counts(slackwater.archive(folder))["changed"] == 0


def test_a_broken_trial_stops_nothing_and_is_taken_up_when_mended(folder: Path) -> None:
    (folder / "x.yaml").write_text(BROKEN, encoding="utf-8")
    (folder / "y.yaml").write_text("trial: [\nprotocol: x\n", encoding="utf-8")
    result = slackwater.archive(folder)
    assert [each.path for each in result.broken] == ["x.yaml", "y.yaml"]
    assert result.broken[0].message == "none.csv: there is no such file"
    assert result.broken[1].message.startswith("y.yaml:")
    assert _counts(slackwater.archive(folder))["changed"] == 0
    shutil.copy(_one(folder).with_suffix(".csv"), folder / "none.csv")
    assert _counts(slackwater.archive(folder))["changed"] == 1  # what it missed is there


def test_a_fault_of_the_program_stops_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(job: kept.Job) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr(kept, "_analysed", fails)
    result = slackwater.archive(folder, again=True, workers=1)
    assert len(result.broken) == 2
    assert "ZeroDivisionError: by nought" in result.broken[0].message


def test_a_trial_that_has_gone_is_kept_and_not_counted(folder: Path) -> None:
    path = _one(folder)
    text = path.read_bytes()
    path.unlink()
    result = slackwater.archive(folder)
    assert (_counts(result)["gone"], len(result.trials)) == (1, 1)
    path.write_bytes(text)
    assert _counts(slackwater.archive(folder)) | {"gone": 0} == {
        "trials": 2, "new": 0, "changed": 0, "unchanged": 2, "gone": 0, "broken": 0
    }  # fmt: skip


def test_the_same_runs_under_two_names_count_once(folder: Path) -> None:
    before = slackwater.archive(folder)
    path = _one(folder)
    shutil.copy(path, path.with_name("second-entry.yaml"))
    after = slackwater.archive(folder)
    assert len(after.trials) == 3
    assert [each.paths for each in after.entered_twice] == [
        tuple(
            key_of(each.relative_to(folder)) for each in (path, path.with_name("second-entry.yaml"))
        )
    ]
    assert after.verdicts == before.verdicts


def test_another_setting_tells_what_would_differ(folder: Path) -> None:
    result = slackwater.archive(folder, setting={"analysis.confidence": "60 %"})
    assert result.setting == "analysis.confidence=60 %"
    assert result.differing
    for each in result.differing:
        assert each.old_verdict != each.new_verdict
        assert (each.old_confidence, each.new_confidence) == (0.95, 0.6)
        assert "declared confidence" in each.reason
        assert each.why == "setting"
    declared = slackwater.archive(folder)
    assert declared.differing == ()
    assert {each.confidence for each in slackwater.analyse(_one(folder)).compared} == {0.95}
    kept_now = slackwater.archived(store_beside(folder), "SELECT DISTINCT setting FROM comparisons")
    assert sorted(kept_now["setting"]) == ["", "analysis.confidence=60 %"]


@pytest.mark.parametrize(
    ("word", "told"),
    [
        ("analysis.confidnce=99", "confidence"),
        ("runs.double_runs=2", "cannot be set"),
        ("analysis", "no setting"),
        ("analysis.confidence=", "no setting"),
    ],
)
def test_a_setting_that_none_has_is_refused(
    folder: Path, word: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["archive", str(folder), "--set", word]) == 2
    assert told in capsys.readouterr().err


def test_a_setting_given_twice_is_refused(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ["--set", "analysis.confidence=99", "--set", "analysis.confidence=90"]
    assert main(["archive", str(folder), *words]) == 2
    assert "set twice" in capsys.readouterr().err


def test_a_new_version_does_all_again_and_tells_why(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A version that takes a fifth off every p-value stands for a change of method."""
    from slackwater.analysis.archive import store
    from slackwater.analysis.result.result import Result

    true = Result.records

    def other(self: Result, name: str) -> list[dict[str, object]]:
        rows = true(self, name)
        if name == "comparisons":
            for row in rows:
                row["verdict"] = "gain" if row["verdict"] == "within noise" else row["verdict"]
        return rows

    monkeypatch.setattr(Result, "records", other)
    for module in (archiving, store, kept):
        monkeypatch.setattr(module, "__version__", "9.9")
    result = slackwater.archive(folder)
    assert _counts(result)["changed"] == 2
    assert {(each.old_verdict, each.new_verdict) for each in result.differing} == {
        ("within noise", "gain")
    }
    assert {(each.old_tool, each.new_tool, each.why) for each in result.differing} == {
        (slackwater.__version__, "9.9", "version")
    }
    assert {each.reason.split(":")[0] for each in result.differing} == {
        "the rule that puts figures into words"
    }


def test_again_without_any_change_differs_in_nothing(folder: Path) -> None:
    result = slackwater.archive(folder, again=True)
    assert (_counts(result)["changed"], result.differing) == (2, ())


def test_a_batch_that_takes_more_room_is_given_more(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = slackwater.archived(store_beside(folder), "SELECT * EXCLUDE (passed) FROM trials")
    wanted: list[str] = []
    once = Store._put

    def put(store: Store, batch: Sequence[Kept], passed: str) -> None:
        room = store.frame("SELECT current_setting('memory_limit') AS room")["room"][0]
        wanted.append(room)
        if len(wanted) == 1:  # what no batch can do with; the library itself refuses
            store.frame("SET memory_limit = '1MB'")
        once(store, batch, passed)

    monkeypatch.setattr(Store, "_put", put)
    slackwater.archive(folder, again=True)
    after = slackwater.archived(store_beside(folder), "SELECT * EXCLUDE (passed) FROM trials")
    assert len(wanted) == 2
    pd.testing.assert_frame_equal(after, before)


def test_the_three_forms(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["archive", str(folder)]) == 0
    text = capsys.readouterr().out
    assert text.startswith("2 trials below trials: 2 unchanged. 2 are analysed.")
    assert main(["archive", str(folder), "--format", "json"]) == 0
    first = capsys.readouterr().out
    assert json.loads(first)["counts"]["trials"] == 2
    assert main(["archive", str(folder), "--format", "json"]) == 0
    assert capsys.readouterr().out == first
    assert main(["archive", str(folder), "--format", "html"]) == 0
    page = capsys.readouterr().out
    assert page.index("2 trials below trials") < page.index("Verdicts by quantity")
    assert "<script" not in page


def test_a_query_reads(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    query = "SELECT count(*) AS number, 'a=b' AS word FROM trials"
    assert main(["archive", str(folder), "--sql", query, "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out) == [{"number": 2, "word": "a=b"}]
    assert main(["archive", str(folder), "--sql", query]) == 0
    assert capsys.readouterr().out.splitlines()[-1].split() == ["2", "a=b"]


@pytest.mark.parametrize(
    "query",
    [
        "DELETE FROM trials",
        "SELECT * FROM nowhere",
        "COPY trials TO 'stolen.csv'",
        "SELECT * FROM read_csv('runs.csv')",
        "ATTACH 'other.duckdb'",
        "SELEC",
    ],
)
def test_a_query_reads_nothing_but_the_store(
    folder: Path, query: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    before = store_beside(folder).read_bytes()
    assert main(["archive", str(folder), "--sql", query]) == 2
    assert "the store does not answer this" in capsys.readouterr().err
    assert store_beside(folder).read_bytes() == before
    assert not (folder / "stolen.csv").exists()


@pytest.mark.parametrize("content", [b"", b"x" * 40, b"12345678DUCK"])
def test_a_file_that_is_no_store_is_left(folder: Path, content: bytes) -> None:
    other = folder / "notes.duckdb"
    other.write_bytes(content)
    if content:
        with pytest.raises(InputError):
            slackwater.archive(folder, store=other)
        assert other.read_bytes() == content
    else:
        assert _counts(slackwater.archive(folder, store=other))["new"] == 2


def test_a_database_of_something_else_is_left(folder: Path) -> None:
    import duckdb

    other = folder / "other.duckdb"
    with duckdb.connect(str(other)) as connection:
        connection.execute("CREATE TABLE birds (name TEXT)")
    with pytest.raises(InputError, match="holds other tables"):
        slackwater.archive(folder, store=other)
    with duckdb.connect(str(other)) as connection:
        assert connection.execute("SHOW TABLES").fetchall() == [("birds",)]


def test_a_folder_or_store_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        slackwater.archive(tmp_path / "none")
    with pytest.raises(InputError, match="there is no store here"):
        slackwater.archived(tmp_path / "none.duckdb", "SELECT 1")
    with pytest.raises(InputError, match="does not exist"):
        slackwater.archive(tmp_path, store=tmp_path / "no" / "store.duckdb")


def test_an_empty_folder(tmp_path: Path) -> None:
    (tmp_path / "trials").mkdir()
    result = slackwater.archive(tmp_path / "trials")
    assert str(result).startswith("There is no trial below trials.")
    assert "There is no trial" in result.to_html()


@pytest.mark.parametrize("name", ["a/b.yaml", "é/ü.yaml", "b\\x5c.yaml", "\udcff\udc80.yaml"])
def test_a_name_is_found_again(name: str) -> None:
    key = key_of(name)
    key.encode("utf-8")
    assert path_of(key) == Path(name)


@pytest.mark.parametrize("module", ["duckdb", "distributed"])
def test_a_library_that_is_missing_is_one_clear_line(
    module: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import sys

    monkeypatch.setitem(sys.modules, module, None)
    assert main(["archive", str(folder), "--scheduler", "tcp://127.0.0.1:1"]) == 2
    said = capsys.readouterr().err
    assert "pip install 'slackwater[archive]'" in said
    assert said.count("error:") == 1
