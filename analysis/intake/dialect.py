"""Text tables: bytes to text, text to rows of cells, whatever program wrote them."""

from __future__ import annotations

import codecs
import contextlib
import csv
import io
from collections.abc import Callable, Iterator, Sequence
from itertools import zip_longest

from slackwater.analysis.intake.grid import Row, is_blank, plain, quoted, visible
from slackwater.analysis.intake.problems import Problems
from slackwater.analysis.intake.table_limits import LINE_LIMIT, ROW_LIMIT, Decoded

DELIMITERS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
LOOK_AHEAD = 200  # lines in which the heading is looked for while the delimiter is open

Score = Callable[[Sequence[str]], int]


def decode(data: bytes, problems: Problems) -> str:
    """The text of a file that is UTF-8, UTF-16 with a byte order mark, or else Windows-1252.

    Raises
    ------
    InputError
        When the bytes are no text in any of these.
    """
    text = _decode(data, problems)
    nul = text.find("\0")
    if nul >= 0:
        line = text.count("\n", 0, nul) + 1
        problems.error(
            "nul-bytes",
            f"line {line} holds a NUL byte, so this is not (only) text: a file cut off while it "
            "was written, a binary file, or UTF-16 without its mark",
            "export the table again, as CSV in UTF-8",
            row=Row(line, (), visible(text.splitlines()[line - 1]) if line == 1 else ""),
        )
        problems.stop_on_errors()
    return text


def _decode(data: bytes, problems: Problems) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        try:
            return data.decode("utf-16")
        except UnicodeDecodeError as error:
            problems.error(
                "encoding",
                f"the file starts as UTF-16 and stops being it at byte {error.start}",
                "export the table again, as CSV in UTF-8",
            )
            problems.stop_on_errors()
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = error.start
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        problems.error(
            "encoding",
            f"the file is text neither in UTF-8 (byte {start} is not) nor in Windows-1252",
            "export the table again, as CSV in UTF-8",
        )
        problems.stop_on_errors()
        raise
    line = data.count(b"\n", 0, start) + 1
    problems.advice(
        "encoding",
        f"the file is not UTF-8 (line {line}); it was read as Windows-1252",
        "check letters with accents and degree signs, or save it in UTF-8",
    )
    return text


def split_rows(text: str, score: Score, problems: Problems) -> tuple[tuple[Row, ...], str]:
    """Split text into rows of cells.

    Parameters
    ----------
    text : str
        Lines may end in LF, CRLF or CR, also mixed.
    score : callable
        How much a row of cells looks like the heading of a run table; 0 when it does not.
    problems : Problems
        Takes what is wrong.

    Returns
    -------
    rows, delimiter

    Raises
    ------
    InputError
        When quotation marks do not pair up: where one row ends is then anybody's guess.
    """
    decoded = Decoded(problems)
    lines = _lines(text, decoded)
    delimiter = detect_delimiter(lines, score)
    problems.delimiter = delimiter
    rows: list[Row] = []
    reader = csv.reader(lines, delimiter=delimiter, strict=True, skipinitialspace=True)
    start = 1
    try:
        for fields in reader:
            end = reader.line_num
            first = lines[start - 1].rstrip("\r\n")
            if end - start > 0:
                first = " ".join(line.rstrip("\r\n") for line in lines[start - 1 : end])
            decoded.row(start, len(fields))
            rows.append(Row(start, tuple(fields), first))
            start = end + 1
    except csv.Error as error:
        _stop_on_quotes(error, lines, start, problems)
    return tuple(rows), delimiter


def _lines(text: str, decoded: Decoded) -> list[str]:
    """The lines of a text, counted before they are made: line ends alone can be millions."""
    ends = text.count("\n") + text.count("\r") - text.count("\r\n")
    if ends > 2 * ROW_LIMIT:
        decoded.stop(f"there are {ends} lines; the limit is {2 * ROW_LIMIT}, blank ones included")
    lines = list(io.StringIO(text, newline=""))
    longest = max(range(len(lines)), key=lambda at: len(lines[at]), default=0)
    if lines and len(lines[longest]) > LINE_LIMIT:
        decoded.stop(
            f"line {longest + 1} has {len(lines[longest])} characters; the limit is {LINE_LIMIT}"
        )
    return lines


def _stop_on_quotes(error: csv.Error, lines: list[str], start: int, problems: Problems) -> None:
    text = lines[start - 1].rstrip("\r\n") if start <= len(lines) else ""
    row = Row(start, (), text)
    if "field limit" in str(error):
        message = f"a cell of row {start} holds more than {csv.field_size_limit()} characters"
    elif "unexpected end" in str(error):
        message = f"a quotation mark opened in row {start} is never closed"
    else:
        message = f"the quotation marks of row {start} do not pair up"
    problems.error(
        "quotes",
        message,
        'close the quotation mark, or leave it out; a mark inside a quoted cell is doubled ("")',
        row=row,
    )
    problems.stop_on_errors()


def detect_delimiter(lines: Sequence[str], score: Score) -> str:
    """Find what separates the cells: whatever makes the best heading, else the most cells."""
    widest = dict.fromkeys(DELIMITERS, 0)
    readers = [_lenient_rows(lines[:LOOK_AHEAD], delimiter) for delimiter in DELIMITERS]
    for rows in zip_longest(*readers, fillvalue=()):
        by_delimiter = dict(zip(DELIMITERS, rows, strict=True))
        scores = {delimiter: score(row) for delimiter, row in by_delimiter.items()}
        if any(scores.values()):
            return max(scores, key=lambda d: (scores[d], len(by_delimiter[d])))
        for delimiter, row in by_delimiter.items():
            widest[delimiter] = max(widest[delimiter], len(row))
    return max(widest, key=lambda delimiter: widest[delimiter])


def _lenient_rows(lines: Sequence[str], delimiter: str) -> Iterator[Sequence[str]]:
    """Rows of cells up to the first that is malformed: that is told when all of it is read."""
    with contextlib.suppress(csv.Error):
        yield from csv.reader(lines, delimiter=delimiter, skipinitialspace=True)


def ragged(row: Row, header: Row, delimiter: str, problems: Problems) -> bool:
    """Tell a row that has more or fewer cells than the heading.

    Blank cells at its end may stay only where the heading has them too, as a trailing separator
    makes them. Anywhere else they may come from a cell more before them (a decimal comma between
    commas) or one less in the heading, and every value behind it would stand in a wrong column.
    """
    need, got = len(header.cells), len(row.cells)
    if got == need:
        return False
    named = max(n for n, cell in enumerate(header.cells, 1) if not is_blank(cell))
    if named <= got < need and all(map(is_blank, row.cells[named:])):
        return False
    name = DELIMITERS[delimiter]
    cells = "cell" if got == 1 else "cells"
    message = f"row {row.number} has {got} {cells}, the heading in row {header.number} has {need}"
    words = any(c.isalpha() for cell in row.cells[need:] for c in str(cell))
    pair = _split_number(row) if delimiter == "," and got > need and not words else ""
    if pair:
        problems.error(
            "decimal-comma",
            f"{message}; it looks like decimal commas ({pair}) in a file that also separates its "
            "cells by commas, so where one number ends cannot be told",
            "write decimal points, or export again with semicolons between the cells",
            row=row,
        )
    else:
        problems.error(
            "ragged-row",
            f"{message} (cells are separated by {name})",
            f"give the row {need} cells, blank ones too; text that holds one of the {name} "
            'goes in quotation marks ("...")'
            if got > need
            else f"give the row {need} cells: a blank one is written as nothing between {name}",
            row=row,
        )
    return True


def _split_number(row: Row) -> str:
    """The last two neighbouring cells that would make a number with a decimal comma, or ""."""
    # The last, since whole numbers (a set point, the double run) stand before the speeds.
    found = ""
    for left, right in zip(row.cells, row.cells[1:], strict=False):
        head, tail = str(left).strip(), str(right).strip()
        if head.lstrip("+-").isdecimal() and tail.isdecimal() and len(tail) <= 3:
            found = f"{head},{tail}"
    return found


def repeated_heading(row: Row, header: Row, problems: Problems) -> bool:
    """Tell a row that is the heading again: a second table, or files pasted together."""
    if plain(row.cells[0] if row.cells else None) != plain(header.cells[0]):
        return False  # most rows are told by their first cell
    if [str(c).strip().casefold() for c in row.cells if c] != [
        str(c).strip().casefold() for c in header.cells if c
    ]:
        return False
    problems.error(
        "second-heading",
        f"row {row.number} repeats the heading of row {header.number}: {quoted(row.text)}; "
        "one file holds one table",
        "delete the repeated heading, or keep each table in its own file",
        row=row,
    )
    return True
