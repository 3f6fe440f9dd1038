"""A published table becomes claims, with its digits as they are printed."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from slackwater.analysis.cli import main
from slackwater.analysis.intake.claims_table import claims_yaml, read_claims_table
from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.claims.claims_file import load_claims
from slackwater.protocol.findings import InputError

TABLE = Path(__file__).parents[2] / "examples" / "published-article" / "table.csv"


def read(tmp_path: Path, text: str, **options: str) -> Claims:
    file = tmp_path / "table.csv"
    file.write_text(text, encoding="utf-8")
    return read_claims_table(file, **options)


def test_a_row_is_a_claim(tmp_path: Path) -> None:
    claims = read(
        tmp_path,
        "set point [rpm],baseline [kn],modified [kn],change [%]\n"
        "2200,13.90,14.73,+6.0\n"
        "2500,18.1,18.8,3.9 %\n",
    )
    first, second = claims.claims
    assert (first.quantity, str(first.at)) == ("speed", "2200 rpm")
    assert [str(f) for f in first.stated.figures.values()] == ["13.90 kn", "14.73 kn", "+6.0 %"]
    assert str(second.stated.change) == "3.9 %"


def test_headings_of_their_own_name_the_configurations(tmp_path: Path) -> None:
    claims = read(tmp_path, "rpm;bare [L/h];fitted [L/h]\n2200;25.3;24.8\n")
    claim = claims.claims[0]
    assert (claim.quantity, claim.baseline, claim.modified) == ("fuel_flow", "bare", "fitted")


def test_options_say_what_the_table_does_not(tmp_path: Path) -> None:
    claims = read(
        tmp_path,
        "at,change\n2200 rpm,about 30 %\n2500 rpm,13 to 15 %\n3000,–\n".replace("3000,–\n", ""),
        quantity="economy",
        baseline="bare",
        modified="fitted",
    )
    assert [c.quantity for c in claims.claims] == ["economy", "economy"]
    assert claims.claims[0].stated.change is not None
    assert claims.claims[0].stated.change.about


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("rpm,bare [kn],fitted [kn]\n2200,=1+1,14.7\n", "'=1+1' is not a quantity"),
        ("rpm,bare [kn],fitted [kn]\n2200,@A1,14.7\n", "'@A1' is not a quantity"),
        ("rpm,bare [kn],fitted [kn]\n2200,-3,14.7\n", "not above zero"),
        ("rpm,bare [kn],fitted [kn]\n2200,0,14.7\n", "not above zero"),
        ("rpm,bare [kn],fitted [kn]\n2200,1e99,14.7\n", "beyond anything"),
        ("rpm,bare [kn],fitted [kn],change\n2200,14,15,1200\n", "1,000 %"),
        ("rpm,bare [parsec],fitted [kn]\n2200,14,15\n", "not known"),
        ("rpm,bare [kn],fitted [L/h]\n2200,14,15\n", "the column 'bare' is not known"),
        ("configuration,rpm,speed [kn]\nbare,2200,14\n", "two are needed"),
        ("rpm,change\n2200,5\n", "cannot be told"),
        ("rpm,colour\n2200,red\n", "'colour'"),
        ("rpm,bare [kn],fitted [kn]\n", "no row"),
        ("rpm,bare [kn],fitted [kn]\n2200,,\n", "states no figure"),
        ("", "empty"),
    ],
)
def test_faults_are_told(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(InputError, match=re.escape(says)):
        read(tmp_path, text)


def test_a_line_that_cannot_be_read_is_told_with_its_cells_and_the_others_go_on(
    tmp_path: Path,
) -> None:
    claims = read(tmp_path, "rpm,bare [kn],fitted [kn]\n2200,14.0,14.7\n2500,=1+1,@x\n")
    assert [c.id for c in claims.claims] == ["T1"]
    [unread] = claims.unread
    assert unread.id == "T2"
    places = {(f.place.line, f.place.column) for f in unread.findings if f.place and f.place.line}
    assert places == {(3, 6), (3, 11)}


TWO = """set point [rpm],old speed [kn],new speed [kn],old fuel [L/h],new fuel [L/h],change [%]
2200,14.0,14.7,25.3,24.8,-2.0
2500,18.1,18.8,–,–,–
"""
SIDES = """rpm,bare [kn],fitted [kn],bare [L/h],fitted [L/h]
2200,14.0,14.7,25.3,24.8
2500,18.1,18.8,–,–
"""
STACKED = """propeller,rpm,speed [kn],fuel flow [L/h]
bare,2200,14.0,25.3
bare,2500,18.1,–
fitted,2200,14.7,24.8
fitted,2500,18.8,–
"""


@pytest.mark.parametrize("text", [TWO, SIDES, STACKED])
def test_several_quantities_in_either_layout(tmp_path: Path, text: str) -> None:
    claims = read(tmp_path, text)
    told = [
        (c.quantity, str(c.at), str(c.stated.baseline), str(c.stated.modified))
        for c in claims.claims
    ]
    assert sorted(told) == [
        ("fuel_flow", "2200 rpm", "25.3 L/h", "24.8 L/h"),
        ("speed", "2200 rpm", "14.0 kn", "14.7 kn"),
        ("speed", "2500 rpm", "18.1 kn", "18.8 kn"),
    ]
    names = {(c.baseline, c.modified) for c in claims.claims}
    assert len(names) == 1
    assert names < {("bare", "fitted"), ("old", "new")}


def test_more_than_two_configurations_are_each_compared_with_the_first(tmp_path: Path) -> None:
    claims = read(tmp_path, STACKED + "other,2200,14.9,25.0\n")
    pairs = [(c.baseline, c.modified) for c in claims.claims]
    assert pairs.count(("bare", "other")) == 2
    alone = read(tmp_path, STACKED + "other,2200,14.9,25.0\n", baseline="fitted", modified="other")
    assert {(c.baseline, c.modified) for c in alone.claims} == {("fitted", "other")}


def test_one_command_makes_a_file_that_reads_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "claims.yaml"
    assert main(["audit", str(TABLE), "--to-claims", str(target)]) == 0
    again = load_claims(target)
    direct = read_claims_table(TABLE)
    assert [c.model_dump() for c in again.claims] == [c.model_dump() for c in direct.claims]
    assert main(["audit", str(TABLE)]) == 1
    assert "All 6 claims are untestable." in capsys.readouterr().out


def test_markup_in_a_table_stays_text(tmp_path: Path) -> None:
    claims = read(
        tmp_path,
        'rpm,bare [kn],fitted [kn],note\n2200,14.0,14.7,"<b>: {x} # ""quoted"" \'y\'"\n',
    )
    file = tmp_path / "claims.yaml"
    file.write_text(claims_yaml(claims), encoding="utf-8")
    assert load_claims(file).claims[0].says == claims.claims[0].says == "<b>: {x} # \"quoted\" 'y'"


def test_a_workbook_does_not_keep_the_digits(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["rpm", "bare [kn]", "fitted [kn]"])
    sheet.append([2200, 14.0, 14.7])
    book.save(tmp_path / "table.xlsx")
    with pytest.raises(InputError, match="as they were printed"):
        read_claims_table(tmp_path / "table.xlsx")
