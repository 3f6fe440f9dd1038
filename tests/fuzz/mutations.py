"""Changes where it hurts: in the lines of YAML, in the rows of a table, in bytes."""

from __future__ import annotations

import csv
import io
import random
import re
from collections.abc import Callable

HOSTILE = (
    "", " ", "0", "-1", "-0.0", "1e-300", "1e300", "1e999", "nan", "inf", "-inf", "NaN", "null",
    "true", "no", "~", "045", "1_000", "1,5", "1.299,99", "12:30", "2026-13-45", "9999-12-31",
    "=1+1", "@SUM(A1)", "{{7*7}}", "<b>&amp;</b>", "\x1b[31m", "\u202e", "\ufeff", "💥", "\x00",
    "a" * 300, "9" * 400, "../../etc/passwd", "/dev/zero", "%s%n", "'", '"', "[", "{", "*a", "&a b",
    "!!python/object:os.system", "- -", "? :", "1 kn", "1 kn ± 1e200 kn", "-5 kn", "8 m/s",
    "100 %", "1e5 %", "0 %", "1 kg", "1 furlong", "rpm", "2026-05-04", "09:00", "S1", "bare",
    "ABBA", "AAAA", "ABCABC", "A" * 400, "speed", "economy", "economy at equal speed", "range",
    "slip", "top_speed", "planing_threshold", "one_way", "none", "day", "linear", "double_run",
)  # fmt: skip
NUMBERS = (
    "0", "-1", "1e-9", "0.01", "0.1", "1", "2.5", "8.4", "16.9", "253.97", "299", "301", "1e6", "1e100",
    "12,5", "7 kn", "--", "n/a", "#DIV/0!", "", "inf", "1e400", "0.0001", "999", "60",
)  # fmt: skip

# --- lines of YAML ---------------------------------------------------------------------------------

_SCALAR = re.compile(r"(?<=[:,\[] )[^,\]\}\[\{\n]+")


def replace_scalar(text: str, dice: random.Random) -> str:
    found = list(_SCALAR.finditer(text))
    if not found:
        return text
    at = dice.choice(found)
    other = dice.choice(found)[0] if dice.random() < 0.3 else dice.choice(HOSTILE)
    return text[: at.start()] + other + text[at.end() :]


def scale_number(text: str, dice: random.Random) -> str:
    found = list(re.finditer(r"(?<![\w.-])\d+(?:\.\d+)?(?![\w.-])", text))
    if not found:
        return text
    at = dice.choice(found)
    factor = dice.choice((0, 1e-12, 0.01, 0.1, 0.5, 2, 10, 1000, 1e9, -1))
    return f"{text[: at.start()]}{float(at[0]) * factor:.12g}{text[at.end() :]}"


def drop_line(text: str, dice: random.Random) -> str:
    lines = text.split("\n")
    del lines[dice.randrange(len(lines))]
    return "\n".join(lines)


def double_line(text: str, dice: random.Random) -> str:
    lines = text.split("\n")
    lines.insert(dice.randrange(len(lines)), dice.choice(lines))
    return "\n".join(lines)


def swap_lines(text: str, dice: random.Random) -> str:
    lines = text.split("\n")
    a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]
    return "\n".join(lines)


def indent(text: str, dice: random.Random) -> str:
    lines = text.split("\n")
    at = dice.randrange(len(lines))
    lines[at] = dice.choice(("  ", "\t", "")) + lines[at].lstrip()
    return "\n".join(lines)


def put_in(text: str, dice: random.Random) -> str:
    at = dice.randrange(len(text) + 1)
    return text[:at] + dice.choice(HOSTILE) + text[at:]


def cut(text: str, dice: random.Random) -> str:
    return text[: dice.randrange(len(text) + 1)]


def many_sessions(text: str, dice: random.Random) -> str:
    more = "".join(f"  - {{id: X{n}, configuration: bare}}\n" for n in range(dice.choice((3, 60))))
    return text.replace("sessions:\n", "sessions:\n" + more)


LINES: tuple[Callable[[str, random.Random], str], ...] = (
    replace_scalar, replace_scalar, replace_scalar, scale_number, scale_number, drop_line,
    double_line, swap_lines, indent, put_in, cut, many_sessions,
)  # fmt: skip

# --- rows of a table -------------------------------------------------------------------------------


def rows_of(text: str) -> list[list[str]]:
    try:
        return list(csv.reader(io.StringIO(text, newline=""))) or [[""]]
    except csv.Error:  # what an earlier change made of it is no table any more
        return [[text]]


def _text(rows: list[list[str]], delimiter: str = ",") -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n", delimiter=delimiter).writerows(rows)
    return out.getvalue()


def _cell(rows: list[list[str]], dice: random.Random) -> tuple[int, int]:
    row = dice.randrange(len(rows))
    return row, dice.randrange(max(len(rows[row]), 1))


def hostile_cell(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    row, column = _cell(rows, dice)
    if column < len(rows[row]):
        rows[row][column] = dice.choice(HOSTILE + NUMBERS)
    return _text(rows)


def wild_number(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    row, column = _cell(rows, dice)
    try:
        value = float(rows[row][column])
    except (ValueError, IndexError):
        return text
    rows[row][column] = f"{value * dice.choice((-1, 0, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 10, 30)):.6g}"
    return _text(rows)


def wild_column(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    column = dice.randrange(max(len(rows[0]), 1))
    how = dice.choice(("same", "blank", "scaled", "zero", "scrambled"))
    values = [row[column] for row in rows[1:] if column < len(row)]
    dice.shuffle(values)
    for number, row in enumerate(rows[1:]):
        if column >= len(row):
            continue
        if how == "scrambled":
            row[column] = values[number % len(values)]
        elif how == "scaled":
            try:
                row[column] = f"{float(row[column]) * 1e-3:.6g}"
            except ValueError:
                continue
        else:
            row[column] = {"same": next(iter(rows[1][column : column + 1]), ""), "zero": "0"}.get(
                how, ""
            )
    return _text(rows)


def drop_rows(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    part = dice.random()
    return _text([row for n, row in enumerate(rows) if n == 0 or dice.random() < part])


def only_some(text: str, dice: random.Random) -> str:
    """Rows of one session, or each session at set points of its own."""
    rows = rows_of(text)
    if len(rows) < 3 or len(rows[0]) < 2:
        return text
    sessions = sorted({row[0] for row in rows[1:] if row})
    points = sorted({row[1] for row in rows[1:] if len(row) > 1})
    keep = {(s, dice.choice(points)) for s in sessions if dice.random() < 0.8}
    return _text([rows[0], *(row for row in rows[1:] if tuple(row[:2]) in keep)])


def double_rows(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    rows += [list(dice.choice(rows)) for _ in range(dice.choice((1, 2, 30)))]
    return _text(rows)


def shuffle_rows(text: str, dice: random.Random) -> str:
    head, *rows = rows_of(text)
    dice.shuffle(rows)
    return _text([head, *rows])


def change_columns(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    column = dice.randrange(max(len(rows[0]), 1))
    how = dice.choice(("drop", "double", "rename"))
    for n, row in enumerate(rows):
        if column >= len(row):
            continue
        if how == "drop":
            del row[column]
        elif how == "double":
            row.append(row[column])
        elif n == 0:
            row[column] = dice.choice(
                (*HOSTILE, "speed", "Speed [mph]", "torque [N*m]", "trim [deg]")
            )
    return _text(rows)


def another_dialect(text: str, dice: random.Random) -> str:
    rows = rows_of(text)
    if dice.random() < 0.5:
        rows = [rows[0], *([cell.replace(".", ",") for cell in row] for row in rows[1:])]
    return _text(rows, dice.choice(";\t|,")).replace("\n", dice.choice(("\n", "\r\n", "\r")))


ROWS: tuple[Callable[[str, random.Random], str], ...] = (
    hostile_cell, hostile_cell, wild_number, wild_number, wild_number, wild_column, drop_rows,
    only_some, double_rows, shuffle_rows, change_columns, another_dialect, cut, put_in,
)  # fmt: skip

# --- bytes -----------------------------------------------------------------------------------------


def flip(data: bytes, dice: random.Random) -> bytes:
    out = bytearray(data or b"x")
    for _ in range(dice.choice((1, 4, 40))):
        out[dice.randrange(len(out))] = dice.randrange(256)
    return bytes(out)


def truncate(data: bytes, dice: random.Random) -> bytes:
    return data[: dice.randrange(len(data) + 1)]


def utf_16(data: bytes, dice: random.Random) -> bytes:
    return data.decode("utf-8", "replace").encode("utf-16")


def marked(data: bytes, dice: random.Random) -> bytes:
    return b"\xef\xbb\xbf" + data


BYTES: tuple[Callable[[bytes, random.Random], bytes], ...] = (flip, truncate, utf_16, marked)
