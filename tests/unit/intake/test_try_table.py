"""Tables of tries: read in all forms and units, every row accounted for, every slip told with its place."""

from __future__ import annotations

from pathlib import Path

import pytest
from invented_tries import HEAD, lay
from numpy.testing import assert_allclose

from slackwater.analysis.intake.tries import TryTable
from slackwater.analysis.intake.try_table import read_tries
from slackwater.protocol.declared.trial import load_trial
from slackwater.protocol.findings import Finding, InputError

ROW = "S1,acceleration,out,1,5.2,10.4,,,A,,"


def read(folder: Path, *rows: str, head: str = HEAD, trial: str = "") -> TryTable:
    path = lay(folder, lambda _: "\n".join([head, *rows]) + "\n", lambda text: text + trial)
    found = read_tries(load_trial(path))
    assert found is not None
    return found


def faults(folder: Path, *rows: str, head: str = HEAD) -> list[Finding]:
    with pytest.raises(InputError) as caught:
        read(folder, *rows, head=head)
    return list(caught.value.findings)


def test_every_row_is_accounted_for(tmp_path: Path) -> None:
    table = read(
        tmp_path, ROW, "S1,acceleration,back,1,,,,,A,missed the mark,", "S2,turn,p,1,,,70,,B,,wide"
    )
    assert [each.row for each in table.tries] == [2, 3, 4]
    assert [each.set_aside for each in table.tries] == ["", "missed the mark", ""]
    assert table.tries[0].values == {"time_to_plane": 5.2, "time_to_20_kn": 10.4}
    assert (table.tries[2].direction, table.tries[2].helmsman) == ("port", "B")
    assert table.of("tactical_diameter") == (table.tries[2],)


def test_units_of_headings_are_converted(tmp_path: Path) -> None:
    head = HEAD.replace("tactical_diameter [m]", "tactical_diameter [ft]").replace(
        "time_to_plane [s]", "time_to_plane (min)"
    )
    table = read(
        tmp_path, "S1,acceleration,out,1,0.1,,,,A,,", "S1,turn,port,1,,,100,,A,,", head=head
    )
    assert_allclose(table.tries[0].values["time_to_plane"], 6.0)
    assert_allclose(table.tries[1].values["tactical_diameter"], 30.48)  # foot: 0.3048 m, exact


def test_units_of_the_trial_and_its_words_for_directions(tmp_path: Path) -> None:
    head = HEAD.replace("time_to_plane [s]", "time_to_plane")
    table = read(
        tmp_path,
        ROW.replace(",out,", ",N,"),
        head=head,
        trial="units: {time_to_plane: min}\ndirections: {N: out, S: back}\n",
    )
    assert table.tries[0].direction == "out"
    assert_allclose(table.tries[0].values["time_to_plane"], 312.0)


def test_decimal_commas_and_semicolons(tmp_path: Path) -> None:
    table = read(
        tmp_path,
        "S1;acceleration;out;1;5,2;10,4;;;A;;",
        "S1;acceleration;back;1;5,9;10,9;;;A;;",
        head=HEAD.replace(",", ";"),
    )
    assert [each.values["time_to_plane"] for each in table.tries] == [5.2, 5.9]


@pytest.mark.parametrize(
    ("row", "rule"),
    [
        (ROW.replace("S1", "S9"), "session-unknown"),
        (ROW.replace("acceleration", "accelleration"), "manoeuvre-unknown"),
        (ROW.replace(",out,", ",port,"), "direction-unknown"),
        (ROW.replace(",out,", ",,"), "direction-missing"),
        (ROW.replace(",1,5.2", ",,5.2"), "try-number"),
        (ROW.replace(",1,5.2", ",1.5,5.2"), "try-number"),
        (ROW.replace("5.2", "fast"), "cell-not-number"),
        (ROW.replace("5.2", "0"), "value-not-positive"),
        (ROW.replace("5.2", "-5.2"), "value-not-positive"),
        (ROW.replace("5.2", "99999"), "cell-impossible"),
        (ROW.replace("5.2", "inf"), "cell-not-finite"),
        (ROW.replace("5.2", "00:05.2"), "cell-clock"),
        (ROW.replace("5.2,10.4,,", "5.2,10.4,60,"), "value-of-another"),
        (ROW.replace("5.2,10.4", ","), "try-empty"),
        (ROW.replace("A,,", "A,x,"), "set-aside-reason"),
        ("mean,acceleration,out,1,5.2,10.4,,,A,,", "summary-row"),
        (ROW + "\n" + ROW, "try-repeated"),
    ],
)
def test_a_slip_is_told_with_its_row(tmp_path: Path, row: str, rule: str) -> None:
    found = faults(tmp_path, "S1,acceleration,back,2,5.1,10.2,,,A,,", row)
    assert [each.rule for each in found] == [rule]
    place = found[0].place
    assert place is not None
    assert place.line == (4 if rule == "try-repeated" else 3)
    assert found[0].fix


def test_a_try_set_aside_needs_neither_number_nor_direction(tmp_path: Path) -> None:
    table = read(tmp_path, ROW, "S1,acceleration,,,,,,,A,a ferry came by,")
    assert (table.tries[1].number, table.tries[1].direction) == (0, "")
    assert [each.row for each in table.used] == [2]


def test_what_is_wrong_in_a_try_set_aside_is_told_and_left_unread(tmp_path: Path) -> None:
    table = read(tmp_path, ROW, "S1,acceleration,out,2,fast,10.4,,,A,false start,")
    assert table.tries[1].values == {"time_to_20_kn": 10.4}
    assert [each.rule for each in table.findings] == ["set-aside-unread"]


@pytest.mark.parametrize(
    ("head", "rule"),
    [
        (HEAD.replace("session,", "when,"), "heading-missing"),
        (HEAD.replace("direction", "wind"), "column-missing"),
        (HEAD.replace("time_to_plane [s]", "time_to_plane"), "unit-missing"),
        (HEAD.replace("time_to_plane [s]", "time_to_plane [m]"), "unit-unfit"),
        (HEAD.replace("time_to_plane [s]", "time_to_plain [s]"), "heading-unknown"),
    ],
)
def test_headings_that_cannot_be_used(tmp_path: Path, head: str, rule: str) -> None:
    assert rule in [each.rule for each in faults(tmp_path, ROW, head=head)]


def test_a_table_without_any_value_is_refused(tmp_path: Path) -> None:
    found = faults(tmp_path, "S1,acceleration,out,1", head="session,manoeuvre,direction,try")
    assert [each.rule for each in found] == ["column-missing"]


def test_a_table_without_a_try_is_refused(tmp_path: Path) -> None:
    assert [each.rule for each in faults(tmp_path)] == ["no-tries"]


def test_made_up_rows_are_refused_in_a_trial_that_does_not_say_so(tmp_path: Path) -> None:
    path = lay(
        tmp_path,
        lambda _: f"{HEAD}\n{ROW}INVENTED\n",
        lambda text: text.replace("invented: true\n", ""),
    )
    with pytest.raises(InputError) as caught:
        read_tries(load_trial(path))
    assert [each.rule for each in caught.value.findings] == ["row-invented"]


def test_workbooks_are_read_as_text_files_are(tmp_path: Path) -> None:
    from openpyxl import Workbook

    path = lay(tmp_path, trial=lambda text: text.replace("tries.csv", "tries.xlsx"))
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(HEAD.split(","))
    sheet.append(["S1", "acceleration", "out", 1, 5.2, 10.4])
    book.save(tmp_path / "tries.xlsx")
    found = read_tries(load_trial(path))
    assert found is not None
    assert found.tries[0].values == {"time_to_plane": 5.2, "time_to_20_kn": 10.4}
