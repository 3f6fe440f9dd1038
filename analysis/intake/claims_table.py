"""A published table becomes claims: one row of it, one claim, its digits kept as they are printed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Row, plain, quoted
from slackwater.analysis.intake.headings import split_heading, squash
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.catalogue.measures import MEASURES
from slackwater.protocol.claims.claim import Claims, build_claims
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.files.source import Document
from slackwater.protocol.findings import InputError
from slackwater.protocol.units.quantity import QuantityError, normal_unit, parse_any, same_dimension

#: Headings that are known, without case, spaces and strokes.
_KNOWN = {
    "at": ("at", "setpoint", "rpm", "enginespeed", "revs", "speedsetting", "throttle"),
    "baseline": ("baseline", "before", "old", "original", "standard", "without"),
    "modified": ("modified", "after", "new", "with", "fitted"),
    "difference": ("difference", "diff", "gainabsolute", "delta"),
    "change": (
        "change",
        "changepercent",
        "gain",
        "improvement",
        "statedchange",
        "percent",
        "change%",
    ),
    "quantity": ("quantity", "measure"),
    "says": ("says", "text", "note", "remark"),
}
_BY_NAME = {name: key for key, names in _KNOWN.items() for name in names}
#: The quantity that a unit stands for, when none is named.
_BY_UNIT = {
    "kn": "speed",
    "L/h": "fuel_flow",
    "nmi/L": "economy",
    "L/nmi": "fuel_per_distance",
    "nmi": "range",
}
_MISSING = ("", "-", "–", "—", "n/a", "na", ".")


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of the table: what it holds, and the unit in its heading."""

    key: str
    index: int
    unit: str
    name: str = ""


def read_claims_table(
    path: str | Path, *, quantity: str = "", baseline: str = "", modified: str = ""
) -> Claims:
    """Read a published table as claims.

    Parameters
    ----------
    path : str or Path
        A CSV file with columns such as `set point [rpm], baseline [kn], modified [kn],
        change [%]`. Two columns of one unit with headings of their own are taken for baseline and
        modified, and their headings for the names of the configurations.
    quantity, baseline, modified : str
        What the table is of and what was fitted, where it does not say.

    Raises
    ------
    InputError
        With everything that keeps it from being used, and where.
    """
    problems = Problems(str(path))
    grid = read_grid(Path(path), _score, problems)
    if grid.kind != "csv":
        problems.error(
            "not-as-printed",
            "a workbook does not keep figures as they were printed (17.10 becomes 17.1)",
            "save the table as CSV, with the digits as they stand in print",
        )
    problems.stop_on_errors()
    header = max(grid.rows[:20], key=lambda row: _score([plain(c) for c in row.cells]))
    columns = _columns(header, problems)
    problems.stop_on_errors()
    names = {
        "baseline": baseline or columns["baseline"].name if "baseline" in columns else baseline,
        "modified": modified or columns["modified"].name if "modified" in columns else modified,
    }
    entries: list[dict[str, Any]] = []
    for row in grid.rows:
        if row.number > header.number and not row.blank:
            entry = _claim(row, columns, names, quantity, problems, len(entries) + 1)
            entries.append(entry)
    if not entries:
        problems.error(
            "empty-table",
            "there is no row below the heading",
            "write one row for each set point",
            row=header,
        )
    problems.stop_on_errors()
    data = {"title": f"Table {Path(path).name}", "claims": entries}
    claims, findings = build_claims(Document(Path(path), "", grid.sha256, data))
    if claims is None:
        raise InputError(findings)
    return claims


def claims_yaml(claims: Claims) -> str:
    """The claims as the text of a YAML file, to be completed by hand."""
    import yaml

    body = yaml.safe_dump(
        claims.document.data,
        sort_keys=False,
        allow_unicode=True,
        width=100,
        default_flow_style=None,
    )
    return (
        "# Claims made from a published table. Worth adding, where it is known: the trial behind it\n"
        "# (trial: FILE), the sentence of each claim (says:), and how the figures were got\n"
        "# (behind_each_figure: {sessions: 1, double_runs: 1, directions: both}).\n" + body
    )


def _score(cells: Sequence[str]) -> int:
    """How much a row looks like the heading of a published table."""
    known = sum(squash(split_heading(cell)[0]) in _BY_NAME for cell in cells)
    units = sum(split_heading(cell)[1] is not None for cell in cells)
    return 2 * known + units


def _columns(header: Row, problems: Problems) -> dict[str, _Column]:
    columns: dict[str, _Column] = {}
    others: list[_Column] = []
    for index, cell in enumerate(header.cells):
        heading, unit_text = split_heading(plain(cell))
        unit = _unit(unit_text or "", header, index, problems)
        key = _BY_NAME.get(squash(heading), "")
        if not heading:
            continue
        if key in columns or (not key and not unit):
            problems.error(
                "unknown-column",
                f"the column {quoted(cell)} is "
                + ("there twice" if key in columns else "not known, and has no unit"),
                f"known are {', '.join(k.replace('_', ' ') for k in _KNOWN)}, each with its unit in "
                "brackets: 'baseline [kn]'",
                row=header,
                index=index,
            )
        elif key:
            own = heading if squash(heading) != key else ""
            columns[key] = _Column(key, index, unit, own)
        else:
            others.append(_Column("", index, unit, heading))
    _fill(columns, others, header, problems)
    if not columns.keys() & {"baseline", "modified", "difference", "change"}:
        problems.error(
            "no-figures",
            "no column holds a figure that could be audited",
            "name the columns 'baseline [kn]', 'modified [kn]', 'change [%]'",
            row=header,
        )
    return columns


def _unit(text: str, header: Row, index: int, problems: Problems) -> str:
    if not text:
        return ""
    try:
        return normal_unit(text)
    except QuantityError as error:
        problems.error("unknown-unit", error.message, error.fix, row=header, index=index)
        return ""


def _fill(
    columns: dict[str, _Column], others: list[_Column], header: Row, problems: Problems
) -> None:
    """Columns with names of their own: the set point, and the two configurations."""
    if "at" not in columns and others and others[0].unit in ("rpm", "%"):
        first = others.pop(0)
        columns["at"] = _Column("at", first.index, first.unit)
    missing = [key for key in ("baseline", "modified") if key not in columns]
    if len(others) == len(missing):
        for key in missing:
            column = others.pop(0)
            columns[key] = _Column(key, column.index, column.unit, column.name)
    for column in others:
        problems.error(
            "unknown-column",
            f"the column '{column.name}' is not known",
            "take it away, or name it baseline, modified, difference or change",
            row=header,
            index=column.index,
        )


def _claim(
    row: Row,
    columns: Mapping[str, _Column],
    names: Mapping[str, str],
    quantity: str,
    problems: Problems,
    number: int,
) -> dict[str, Any]:
    """One row as the entry of a claims file."""
    before = problems.errors
    stated: dict[str, str] = {}
    for key in ("baseline", "modified", "difference", "change"):
        text = _cell(row, columns.get(key))
        if text:
            stated[key] = _figure(row, columns[key], text, problems)
    entry: dict[str, Any] = {"id": f"T{number}"}
    found = _cell(row, columns.get("quantity")) or quantity or _by_unit(stated)
    if not found and problems.errors == before:
        problems.error(
            "unknown-quantity",
            "what the table is of cannot be told from its units",
            "name it with --quantity, such as --quantity speed, or in a column 'quantity'",
            row=row,
        )
    entry["quantity"] = found.strip().lower().replace(" ", "_")
    entry |= {key: name for key, name in names.items() if name}
    at = _cell(row, columns.get("at"))
    if at:
        entry["at"] = _place(row, columns["at"], at, problems)
    says = _cell(row, columns.get("says"))
    if says:
        entry["says"] = says
    if not stated:
        problems.error(
            "no-figures", "the row states no figure", "take the row away, or fill it in", row=row
        )
    entry["stated"] = stated
    return entry


def _cell(row: Row, column: _Column | None) -> str:
    if column is None or column.index >= len(row.cells):
        return ""
    text = plain(row.cells[column.index])
    return "" if text.lower() in _MISSING else text


def _figure(row: Row, column: _Column, text: str, problems: Problems) -> str:
    unit = column.unit or ("%" if column.key == "change" else "")
    try:
        if unit and parse_figure(text).unit == "1":
            text = f"{text} {unit}"
        parse_figure(text)
    except QuantityError as error:
        problems.error("unfit-value", error.message, error.fix, row=row, index=column.index)
    return text


def _place(row: Row, column: _Column, text: str, problems: Problems) -> str:
    try:
        place = parse_any(text)
        if place.unit == "1":
            text = f"{text} {column.unit or 'rpm'}"
            parse_any(text)
    except QuantityError as error:
        problems.error("unfit-value", error.message, error.fix, row=row, index=column.index)
    return text


def _by_unit(stated: Mapping[str, str]) -> str:
    for key in ("baseline", "modified", "difference"):
        if key not in stated:
            continue
        try:
            unit = parse_figure(stated[key]).unit
        except QuantityError:
            continue
        for like, quantity in _BY_UNIT.items():
            if same_dimension(unit, like):
                return quantity if quantity in MEASURES else ""
    return ""
