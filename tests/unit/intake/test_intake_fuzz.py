"""Whatever the bytes: a table or an InputError, nothing else, and no row lost."""

from __future__ import annotations

import io
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slackwater.analysis.intake.run_table import RunTable
from slackwater.protocol.findings import InputError, Severity

DATA = Path(os.environ.get("SLACKWATER_DATA", Path(__file__).parents[4] / "shared" / "data"))

shared = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    deadline=None,
    max_examples=120,
)
few = settings(shared, max_examples=40)


def check_findings(error: InputError) -> None:
    """An error, a way out of it, and no character that a terminal would act on."""
    errors = [f for f in error.findings if f.severity is Severity.ERROR]
    assert errors
    for finding in error.findings:
        assert finding.message
        assert finding.fix or finding not in errors
        assert finding.render().replace("\n", "").replace("\t", "").isprintable()


def survives(bench: Any, content: bytes, name: str = "runs.csv") -> RunTable | None:
    """Read a table; None when it is refused with an error that says where and what to do."""
    try:
        table: RunTable = bench.read(content, name)
    except InputError as error:
        check_findings(error)
        return None
    used = table.frame[table.frame["set_aside"] == ""]
    assert not used.empty
    measured = used[["speed_over_ground", "engine_speed", "fuel_flow"]]
    assert measured.notna().any(axis=1).all()
    assert (measured.isna() | (measured > 0) & np.isfinite(measured)).all(axis=None)
    assert used["set_point"].notna().all()
    assert used["direction"].isin(["out", "back"]).all()
    assert (used["double_run"] >= 1).all()
    assert all(f.severity is not Severity.ERROR for f in table.findings)
    return table


@shared
@given(content=st.binary(max_size=400), suffix=st.sampled_from(["csv", "xlsx", "parquet"]))
def test_any_bytes(bench: Any, content: bytes, suffix: str) -> None:
    for start in (b"", {"csv": b"", "xlsx": b"PK\x03\x04", "parquet": b"PAR1"}[suffix]):
        survives(bench, start + content, f"runs.{suffix}")


@shared
@given(text=st.text(alphabet='session,;\t|"\r\n[]() 0123456789.-kn', max_size=300))
def test_any_text_below_a_heading(bench: Any, text: str) -> None:
    survives(bench, (bench.text().splitlines()[0] + "\n" + text).encode())


CELLS = st.one_of(
    st.sampled_from(["", "-", "nan", "inf", "1e400", "8,31", "1.299,99", "#REF!", "mean", "S1"]),
    st.sampled_from(["2026-05-04T09:00:00", "06/02/15", "out", "back", "8.31 mph", '"', "\x00"]),
    st.floats().map(repr),
    st.text(max_size=12),
)


@shared
@given(
    changes=st.dictionaries(
        st.tuples(st.integers(1, 9), st.integers(0, 10)), CELLS, min_size=1, max_size=4
    ),
    delimiter=st.sampled_from(",;\t|"),
)
def test_changed_cells(bench: Any, changes: dict[tuple[int, int], str], delimiter: str) -> None:
    rows = bench.rows()
    for (row, column), cell in changes.items():
        rows[row - 1][column] = cell
    content = "\n".join(delimiter.join(row) for row in rows)
    survives(bench, content.encode("utf-8", "surrogatepass"))


@shared
@given(
    drop=st.lists(st.tuples(st.integers(0, 8), st.integers(0, 8)), min_size=1, max_size=3),
    delimiter=st.sampled_from(",;\t|"),
)
def test_dropped_cells(bench: Any, drop: list[tuple[int, int]], delimiter: str) -> None:
    rows = bench.rows()
    for row, column in drop:
        del rows[row][column]
    assert survives(bench, "\n".join(delimiter.join(row) for row in rows).encode()) is None


@shared
@given(row=st.integers(1, 8), swapped=st.sampled_from(";\t|"))
def test_another_delimiter_in_one_row(bench: Any, row: int, swapped: str) -> None:
    lines = bench.text().splitlines()
    lines[row] = lines[row].replace(",", swapped)
    assert survives(bench, "\n".join(lines).encode()) is None


@shared
@given(
    at=st.integers(0, 10_000),
    inserted=st.binary(min_size=1, max_size=8),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"]),
)
def test_inserted_bytes(bench: Any, at: int, inserted: bytes, encoding: str) -> None:
    content = bench.text().encode(encoding)
    at %= len(content)
    survives(bench, content[:at] + inserted + content[at:])


@shared
@given(order=st.permutations(range(1, 9)), aside=st.sets(st.integers(2, 9), max_size=7))
def test_no_row_is_lost_or_moved(bench: Any, order: list[int], aside: set[int]) -> None:
    lines = bench.text({(n, "set_aside"): "wake" for n in aside}).splitlines()
    table = bench.read("\n".join([lines[0], *(lines[n] for n in order)]))
    frame = table.frame
    assert frame["row"].tolist() == list(range(2, 10))
    assert (frame["set_aside"] != "").sum() == len(aside)
    speeds = [float(lines[n].split(",")[6]) for n in order]
    assert frame["speed_over_ground"].tolist() == speeds


@pytest.fixture(scope="module")
def binary_tables() -> dict[str, bytes]:
    """A workbook and a Parquet file, to be damaged."""
    import openpyxl
    import pandas as pd

    rows = [
        ["session", "set_point [rpm]", "direction", "speed_over_ground [kn]"],
        ["S1", 1000, "out", 8.31],
        ["S1", 1000, "back", 7.62],
    ]
    book, workbook, parquet = openpyxl.Workbook(), io.BytesIO(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(workbook)
    pd.DataFrame(rows[1:], columns=rows[0]).to_parquet(parquet)
    return {"xlsx": workbook.getvalue(), "parquet": parquet.getvalue()}


@few
@given(
    kind=st.sampled_from(["xlsx", "parquet"]),
    at=st.integers(4, 10_000),
    changed=st.binary(max_size=6),
    cut=st.booleans(),
)
def test_damaged_binary_files(
    bench: Any, binary_tables: dict[str, bytes], kind: str, at: int, changed: bytes, cut: bool
) -> None:
    content = binary_tables[kind]
    at = 4 + at % (len(content) - 4)
    rest = b"" if cut else content[at + len(changed) :]
    survives(bench, content[:at] + changed + rest, f"runs.{kind}")


def real_tables() -> list[Path]:
    """Tables that other programs wrote, none of them a run table; see SOURCE.md beside them."""
    return sorted(p for p in DATA.rglob("*.csv") if p.stat().st_size < 300_000)[:25]


@pytest.mark.skipif(not DATA.is_dir(), reason="needs the open data, SLACKWATER_DATA")
def test_real_files_of_other_kinds_are_refused(bench: Any) -> None:
    paths = real_tables()
    assert paths
    for path in paths:
        findings = bench.refused(path.read_bytes())
        assert "heading-missing" in {f.rule for f in findings}, path.name
