"""Tables of ratings: every row accounted for, every fault with its file, line and mend."""

from __future__ import annotations

from pathlib import Path

import pytest

from slackwater.analysis.intake.rating_table import RatingTable, read_rating_table
from slackwater.protocol.declared.ratings import Ratings
from slackwater.protocol.findings import InputError

ASKED = Ratings.model_validate(
    {
        "items": {
            "ride": {"title": "Ride", "points": "7", "anchors": {"1": "hard", "7": "soft"}},
            "noise_felt": {"points": "5", "lowest": "0", "anchors": {"0": "quiet", "4": "loud"}},
        }
    }
)
SESSIONS = {"S1": "old", "S2": "new"}
TITLES = {"old": "Old seats", "new": "New seats"}


def read(tmp_path: Path, text: str) -> RatingTable:
    path = tmp_path / "ratings.csv"
    path.write_text(text, encoding="utf-8")
    return read_rating_table(path, ASKED, SESSIONS, TITLES)


def refused(tmp_path: Path, text: str) -> list[tuple[str, int | None]]:
    with pytest.raises(InputError) as error:
        read(tmp_path, text)
    for finding in error.value.findings:
        assert finding.place is not None
        assert finding.place.file.endswith("ratings.csv")
        assert finding.fix
    return [(f.rule, f.place.line if f.place else None) for f in error.value.findings]


def test_rows_as_they_stand(tmp_path: Path) -> None:
    found = read(
        tmp_path,
        "session,item,rater,score,guess,set_aside,note\n"
        "S1,ride,AB,3,new,,\nS1,Ride,CD,5,?,,sat aft\nS2,noise_felt,AB,0,New seats,,\n"
        "S2,ride,AB,4,,was below,\nS2,ride,CD,,,fell asleep,\n",
    )
    assert [(each.item, each.rater, each.score) for each in found.used] == [
        ("ride", "AB", 3.0),
        ("ride", "CD", 5.0),
        ("noise_felt", "AB", 0.0),
    ]
    assert [each.guess for each in found.used] == ["new", "unsure", "new"]
    assert [each.configuration for each in found.used] == ["old", "old", "new"]
    assert [each.set_aside for each in found.ratings if each.set_aside] == [
        "was below",
        "fell asleep",
    ]
    assert found.raters == ("AB", "CD")


HEAD = "session,item,rater,score,guess\n"


@pytest.mark.parametrize(
    ("rows", "wrong"),
    [
        ("S9,ride,AB,3,\n", ("session-unknown", 2)),
        ("S1,rid,AB,3,\n", ("item-unknown", 2)),
        ("S1,ride,,3,\n", ("rater-missing", 2)),
        ("S1,ride,AB,,\n", ("score-missing", 2)),
        ("S1,ride,AB,8,\n", ("score-off-scale", 2)),
        ("S1,noise_felt,AB,5,\n", ("score-off-scale", 2)),
        ("S1,ride,AB,3.5,\n", ("score-off-scale", 2)),
        ("S1,ride,AB,soft,\n", ("cell-not-number", 2)),
        ("S1,ride,AB,3,blue\n", ("guess-unknown", 2)),
        ("S1,ride,AB,3,\nS1,ride,AB,4,\n", ("rating-repeated", 3)),
        ("S1,ride,AB,3,old\nS1,noise_felt,AB,4,new\n", ("guess-conflict", 3)),
        ("S1,ride,AB,3\n", ("ragged-row", 2)),
        ("mean,ride,AB,3,\n", ("summary-row", 2)),
        ("", ("no-ratings", 1)),
    ],
)
def test_a_fault_is_told_at_its_row(
    tmp_path: Path, rows: str, wrong: tuple[str, int | None]
) -> None:
    assert refused(tmp_path, HEAD + rows) == [wrong]


def test_all_faults_at_once(tmp_path: Path) -> None:
    found = refused(tmp_path, HEAD + "S1,ride,AB,9,\nS1,ride,CD,3,\nS2,comfort,AB,3,\n")
    assert found == [("score-off-scale", 2), ("item-unknown", 4)]


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("session,item,rater,scores\nS1,ride,AB,3\n", {"heading-unknown", "column-missing"}),
        ("session,item,score\nS1,ride,3\n", {"column-missing"}),
        ("rater,item,score\nAB,ride,3\n", {"heading-missing"}),
        ("", {"empty-file"}),
    ],
)
def test_headings(tmp_path: Path, text: str, wrong: set[str]) -> None:
    assert {rule for rule, _ in refused(tmp_path, text)} == wrong


def test_a_further_column_is_told(tmp_path: Path) -> None:
    found = read(tmp_path, "session,item,rater,score,mood\nS1,ride,AB,3,good\n")
    assert [each.rule for each in found.findings] == ["column-ignored"]
