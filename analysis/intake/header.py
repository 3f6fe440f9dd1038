"""Where the table starts: the heading row, whatever stands before it, and a row of units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from slackwater.analysis.intake.grid import Row, clean, plain, quoted
from slackwater.analysis.intake.headings import Column, Wanted, close_name
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.unknown_headings import Mapped, everyday_columns, own_words
from slackwater.protocol.units.quantity import QuantityError, normal_unit

LOOK_AT = 60  # rows among which the headings are looked for where none has a session


def find_header(rows: Sequence[Row], wanted: Wanted, problems: Problems) -> Row:
    """The heading row: the first one with a column for the session.

    Raises
    ------
    InputError
        When there is none; the row that comes nearest is shown.
    """
    for row in rows:
        if wanted.score([plain(c) for c in row.cells]):
            before = [r for r in rows if r.number < row.number and not r.blank]
            if before:
                problems.advice(
                    "rows-before-heading",
                    f"{len(before)} rows before the heading in row {row.number} were not read",
                    row=before[0],
                )
            return row
    row = likely_header(rows, wanted)
    mapped = _everyday(row, wanted)
    near = [c for c in map(plain, row.cells) if close_name(c, ["session"])]
    if "session" in wanted.columns:
        message = f"no row has the heading '{wanted.columns['session']}' that 'columns:' names"
    else:
        message = "no row has a heading 'session'"
    problems.error(
        "heading-missing",
        f"{message}; row {row.number} is shown",
        f"did you mean 'session' by {quoted(near[0])}? Rename it"
        if near
        else f"if this is what they hold, write it into the trial: {own_words(mapped)}; "
        f"'slackwater new trial --runs {problems.file}' proposes a whole trial"
        if "session" in mapped
        else "add a column 'session', which says for each run in which session it was made; "
        f"and write into the trial: {own_words(mapped)}"
        if len(mapped) > 1
        else "the first row names the columns: session, set_point [unit], direction, …; "
        'headings of your own are declared in the trial (columns: {session: "…"})',
        row=row,
    )
    problems.stop_on_errors()
    return row


def likely_header(rows: Sequence[Row], wanted: Wanted) -> Row:
    """The row with the most headings that are known or in everyday words, else the first one."""
    filled = [row for row in rows if not row.blank]

    def known(row: Row) -> int:
        names = {wanted.match(plain(c)) for c in row.cells[:500] if c} - {""}
        return len(names | _everyday(row, wanted).keys())

    return max(filled[:LOOK_AT], key=known)


def _everyday(row: Row, wanted: Wanted) -> Mapped:
    """What the cells of a row would stand for, were it the headings."""
    texts = [(i, plain(c)) for i, c in enumerate(row.cells[:500]) if isinstance(c, str) and c]
    known = {wanted.match(text) for _, text in texts}
    open_ = [name for name in wanted.names if name not in known and name not in wanted.columns]
    return everyday_columns([(i, t) for i, t in texts if not wanted.match(t)], open_, wanted)[0]


def is_units_row(row: Row, columns: Mapping[str, Column]) -> bool:
    """Whether a row holds units: at least two cells under numbers, and no number among them."""
    cells = [plain(row.cells[c.index]) for c in columns.values() if c.unit or c.name == "set_point"]
    texts = [clean(text).strip("[]()") for text in cells if text]
    if len(texts) < 2 or any(text[:1] in "+-.0123456789" for text in texts):
        return False
    return all(_is_unit(text) for text in texts)


def _is_unit(text: str) -> bool:
    try:
        normal_unit(text)
    except QuantityError:
        # Spelled in another case (KPH, Knots): still a unit, though not one that is read.
        return any(_known(form) for form in (text.lower(), text.upper()))
    return True


def _known(text: str) -> bool:
    try:
        normal_unit(text)
    except QuantityError:
        return False
    return True
