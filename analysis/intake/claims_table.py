"""A published table becomes claims, its digits kept as they are printed.

Two layouts are read: a row a set point, with the configurations side by side in columns; and a row a
configuration and set point, with the configuration named in a column. Either may hold several quantities.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from slackwater.analysis.intake.claims_columns import (
    Columns,
    Field,
    Group,
    columns_of,
    of_unit,
    score,
)
from slackwater.analysis.intake.files import read_grid
from slackwater.analysis.intake.grid import Row, plain
from slackwater.analysis.intake.problems import Problems
from slackwater.protocol.claims.claim import Claims
from slackwater.protocol.claims.claims_file import build_readable
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.files.source import Document
from slackwater.protocol.findings import Finding, InputError
from slackwater.protocol.units.quantity import QuantityError, parse_any

_MISSING = ("", "-", "–", "—", "n/a", "na", ".")
_SIDES = ("baseline", "modified")


@dataclass(slots=True)
class _Entries:
    """The claims in the making, and what is wrong with those that cannot be read."""

    quantity: str
    names: Mapping[str, str]
    made: list[dict[str, Any]] = field(default_factory=list)
    told: dict[int, list[Finding]] = field(default_factory=dict)

    def add(self, entry: dict[str, Any], findings: tuple[Finding, ...]) -> None:
        if findings:
            self.told[len(self.made)] = list(findings)
        names = {key: name for key, name in self.names.items() if name}
        self.made.append({"id": f"T{len(self.made) + 1}", **names, **entry})


def read_claims_table(
    path: str | Path, *, quantity: str = "", baseline: str = "", modified: str = ""
) -> Claims:
    """Read a published table as claims.

    Parameters
    ----------
    path : str or Path
        A CSV file with columns such as `set point [rpm], baseline [kn], modified [kn],
        change [%]`. Two columns of one unit with headings of their own are taken for baseline and
        modified, and their headings for the names of the configurations. With a column
        `configuration` each row is one of them, and the first that is named is the baseline.
    quantity, baseline, modified : str
        What the table is of and what was fitted, where it does not say.

    Returns
    -------
    Claims
        A line that cannot be read is among their `unread`, with the reason.

    Raises
    ------
    InputError
        With everything that keeps the table from being used, and where.
    """
    problems = Problems(str(path))
    grid = read_grid(Path(path), score, problems)
    if grid.kind != "csv":
        problems.error(
            "not-as-printed",
            "a workbook does not keep figures as they were printed (17.10 becomes 17.1)",
            "save the table as CSV, with the digits as they stand in print",
        )
    problems.stop_on_errors()
    header = max(grid.rows[:20], key=lambda row: score([plain(c) for c in row.cells]))
    columns = columns_of(header, problems)
    problems.stop_on_errors()
    rows = [row for row in grid.rows if row.number > header.number and not row.blank]
    if not rows:
        fix = "write one row for each set point"
        problems.error("empty-table", "there is no row below the heading", fix, row=header)
        problems.stop_on_errors()
    entries = _Entries(quantity, {"baseline": baseline, "modified": modified})
    layout = _stacked if "configuration" in columns.once else _side_by_side
    layout(rows, columns, entries, problems)
    return _built(path, grid.sha256, entries)


def _built(path: str | Path, sha256: str, entries: _Entries) -> Claims:
    data = {"title": f"Table {Path(path).name}", "claims": entries.made}
    claims, findings = build_readable(Document(Path(path), "", sha256, data), entries.told)
    if claims is None:
        raise InputError(findings)
    if not claims.claims:
        raise InputError([finding for one in claims.unread for finding in one.findings])
    return claims


def _side_by_side(rows: list[Row], columns: Columns, entries: _Entries, problems: Problems) -> None:
    """A row a set point, the configurations in columns beside each other."""
    for row in rows:
        for group in columns.groups:
            told = _of_row(problems)
            stated = _stated(row, group.fields, told)
            if not stated and len(columns.groups) > 1 and not told.errors:
                continue  # this quantity was not measured here
            names = {
                side: group.fields[side].name
                for side in _SIDES
                if side in group.fields and group.fields[side].name and not entries.names[side]
            }
            entry = _entry(row, columns, group, stated, entries.quantity, told)
            entries.add({**names, **entry}, told.findings())


def _of_row(problems: Problems) -> Problems:
    told = Problems(problems.file)
    told.delimiter = problems.delimiter
    return told


def _stacked(rows: list[Row], columns: Columns, entries: _Entries, problems: Problems) -> None:
    """A row a configuration and set point: what stands at one set point is compared."""
    named: dict[str, list[Row]] = {}
    for row in rows:
        named.setdefault(_cell(row, columns.once["configuration"]), []).append(row)
    names = [name for name in named if name]
    baseline = entries.names["baseline"] or names[0]
    others = [n for n in names if n != baseline and entries.names["modified"] in ("", n)]
    if baseline not in named or not others:
        problems.error(
            "no-figures",
            f"the table names {', '.join(names) or 'no configuration'}; two are needed to compare",
            "name the configuration of each row in the column 'configuration'",
        )
        problems.stop_on_errors()
    for row in named[baseline]:
        at = _cell(row, columns.once.get("at"))
        for other in others:
            for second in named[other]:
                if _cell(second, columns.once.get("at")) == at:
                    _compared(row, second, columns, entries, problems, (baseline, other))


def _compared(
    row: Row,
    second: Row,
    columns: Columns,
    entries: _Entries,
    problems: Problems,
    names: tuple[str, str],
) -> None:
    for group in columns.groups:
        told = _of_row(problems)
        sides = zip(_SIDES, (row, second), names, strict=True)
        own = group.fields["baseline"]
        stated: dict[str, str] = {}
        for side, line, _ in sides:
            stated |= _stated(line, {side: own}, told)
        if not stated and not told.errors:
            continue
        entry = _entry(row, columns, group, stated, entries.quantity, told)
        entries.add({**dict(zip(_SIDES, names, strict=True)), **entry}, told.findings())


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


def _stated(row: Row, fields: Mapping[str, Field], problems: Problems) -> dict[str, str]:
    cells: Iterator[tuple[str, Field, str]] = (
        (key, fields[key], _cell(row, fields[key]))
        for key in ("baseline", "modified", "difference", "change")
        if key in fields
    )
    return {key: _figure(row, own, key, text, problems) for key, own, text in cells if text}


def _entry(
    row: Row,
    columns: Columns,
    group: Group,
    stated: dict[str, str],
    quantity: str,
    problems: Problems,
) -> dict[str, Any]:
    """One quantity of one row as the entry of a claims file."""
    found = _cell(row, columns.once.get("quantity")) or _quantity(group, stated, quantity, columns)
    if not found and not problems.errors:
        problems.error(
            "unknown-quantity",
            "what the table is of cannot be told from its units",
            "name it with --quantity, such as --quantity speed, or in a column 'quantity'",
            row=row,
        )
    entry: dict[str, Any] = {"quantity": found.strip().lower().replace(" ", "_")}
    at = _cell(row, columns.once.get("at"))
    if at:
        entry["at"] = _at(row, columns.once["at"], at, problems)
    says = _cell(row, columns.once.get("says"))
    if says:
        entry["says"] = says
    if not stated:
        fix = "take the row away, or fill it in"
        problems.error("no-figures", "the row states no figure", fix, row=row)
    entry["stated"] = stated
    return entry


def _quantity(group: Group, stated: Mapping[str, str], asked: str, columns: Columns) -> str:
    if asked and len(columns.groups) == 1:
        return asked
    if group.quantity:
        return group.quantity
    for key in ("baseline", "modified", "difference"):
        if key in stated:
            try:
                return of_unit(parse_figure(stated[key]).unit)
            except QuantityError:
                continue
    return ""


def _cell(row: Row, column: Field | None) -> str:
    if column is None or column.index >= len(row.cells):
        return ""
    text = plain(row.cells[column.index])
    return "" if text.lower() in _MISSING else text


def _figure(row: Row, column: Field, key: str, text: str, problems: Problems) -> str:
    unit = column.unit or ("%" if key == "change" else "")
    try:
        if unit and parse_figure(text).unit == "1":
            text = f"{text} {unit}"
        parse_figure(text)
    except QuantityError as error:
        problems.error("unfit-value", error.message, error.fix, row=row, index=column.index)
    return text


def _at(row: Row, column: Field, text: str, problems: Problems) -> str:
    try:
        place = parse_any(text)
        if place.unit == "1":
            text = f"{text} {column.unit or 'rpm'}"
            parse_any(text)
    except QuantityError as error:
        problems.error("unfit-value", error.message, error.fix, row=row, index=column.index)
    return text
