"""Inputs that know what they are: files of a sound trial, changed where it hurts."""

from __future__ import annotations

import csv
import io
import random
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
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

HEAD = (
    "session,set_point [rpm],double_run,direction,start,duration [s],speed_over_ground [kn],"
    "engine_speed [rpm],fuel_flow [L/h],set_aside,note"
)
SMALL = """\
trial: small
protocol: protocol.yaml
boat: {title: Invented, waterline_length: 9.1 m, fuel_capacity: 700 L, fuel_density: 0.84 kg/L}
configurations:
  bare: {title: As delivered, propeller_pitch: 24 in, gear_ratio: 1.75}
  fitted: {title: Fitted, propeller_pitch: 24 in, gear_ratio: 1.75}
comparisons:
  - {baseline: bare, modified: fitted}
sessions:
  - {id: S1, configuration: bare, date: 2026-05-04, displacement: 6210 kg, wind_speed: 5 kn}
  - {id: S2, configuration: fitted, date: 2026-05-05, displacement: 6220 kg, wind_speed: 4 kn}
  - {id: S3, configuration: fitted, date: 2026-05-06, displacement: 6190 kg, wind_speed: 3 kn}
  - {id: S4, configuration: bare, date: 2026-05-07, displacement: 6200 kg, wind_speed: 5 kn}
speeds: [7 kn, 8 kn]
runs: runs.csv
"""
PROTOCOL = """\
protocol: small
version: "1.0"
title: Invented
sources: [Common practice]
cautions: [The skipper may call off any run.]
loading: {displacement: {within: 1 %}}
conditions: {wind_speed: {at_most: 8 kn}}
runs:
  set_points: {of: engine_speed, values: [1500 rpm, 2000 rpm, 2500 rpm], hold: 1 %}
  directions: reciprocal
  double_runs: 1
sessions: {order: ABBA}
measures:
  speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}
  engine_speed: {unit: rpm, standard_uncertainty: 5 rpm, shared: true}
  fuel_flow: {unit: L/h, standard_uncertainty: 1 %, shared: true}
analysis:
  decides: speed
  current: tide_fit
  confidence: 95 %
  family: set_points
  worthwhile: {speed: 1 %, economy: 3 %}
noise:
  speed: {between_sessions: 0.6 %, sessions: 12, within_session: 0.4 %}
"""
NOISE = """\
noise:
  speed: {between_sessions: 0.6 %, sessions: 12, within_session: 0.4 %}
  economy: {between_sessions: 1 %, sessions: 12, within_session: 0.8 %}
"""
CLAIMS = """\
trial: trial.yaml
behind_each_figure: {sessions: 1, double_runs: 1}
claims:
  - {id: C1, quantity: speed, baseline: bare, modified: fitted, at: 2000 rpm,
     stated: {baseline: 8.3 kn, modified: 8.6 kn, difference: 0.3 kn, change: +3.6 %}}
  - {id: C2, quantity: economy, baseline: bare, modified: fitted, at: 2500 rpm,
     stated: {change: up to 20 %}}
"""


def small_runs(dice: random.Random) -> str:
    """A few runs of an invented boat."""
    rows = [HEAD]
    for day, (session, gain) in enumerate(
        (("S1", 1.0), ("S2", 1.03), ("S3", 1.03), ("S4", 1.0)), 4
    ):
        minute = 0
        for point in (1500, 2000, 2500):
            for way, sign in (("out", 1), ("back", -1)):
                speed = point / 250 * gain * dice.gauss(1, 0.004) + 0.5 * sign
                rows.append(
                    f"{session},{point},1,{way},2026-05-{day:02d}T09:{minute:02d}:00,60,{speed:.2f},"
                    f"{point + dice.randint(-3, 3)},{point / 90 + dice.gauss(0, 0.1):.1f},,"
                )
                minute += 3
    return "\n".join(rows) + "\n"


@dataclass(slots=True)
class Case:
    """Files in a folder, and the command that is run there."""

    files: dict[str, bytes] = field(default_factory=dict)
    words: list[str] = field(default_factory=list)
    changes: list[str] = field(default_factory=list)


def case_of(seed: int, number: int) -> Case:
    """The input with this number; the same every time."""
    dice = random.Random(f"{seed}/{number}")
    files = {
        "trial.yaml": SMALL,
        "protocol.yaml": PROTOCOL,
        "noise.yaml": NOISE,
        "claims.yaml": CLAIMS,
        "runs.csv": small_runs(dice),
    }
    if dice.random() < 0.1:
        folder = dice.choice(sorted(p for p in EXAMPLES.iterdir() if (p / "trial.yaml").exists()))
        files |= {
            path.name: path.read_text("utf-8")
            for path in folder.iterdir()
            if path.suffix in (".yaml", ".csv")
        }
    case = Case(words=_command(dice))
    for _ in range(dice.choice((0, 1, 1, 1, 2, 3, 6))):
        name = dice.choice(("runs.csv", "runs.csv", "trial.yaml", "protocol.yaml", *sorted(files)))
        change = dice.choice(ROWS if name.endswith(".csv") else LINES)
        case.changes.append(f"{name}: {change.__name__}")
        files[name] = change(files[name], dice)
    case.files = {name: text.encode("utf-8", "surrogatepass") for name, text in files.items()}
    if dice.random() < 0.05:
        name = dice.choice(sorted(case.files))
        change_bytes = dice.choice(BYTES)
        case.changes.append(f"{name}: {change_bytes.__name__}")
        case.files[name] = change_bytes(case.files[name], dice)
    if dice.random() < 0.06:
        _as_another_kind(case, dice)
    return case


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


def _rows(text: str) -> list[list[str]]:
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
    rows = _rows(text)
    row, column = _cell(rows, dice)
    if column < len(rows[row]):
        rows[row][column] = dice.choice(HOSTILE + NUMBERS)
    return _text(rows)


def wild_number(text: str, dice: random.Random) -> str:
    rows = _rows(text)
    row, column = _cell(rows, dice)
    try:
        value = float(rows[row][column])
    except (ValueError, IndexError):
        return text
    rows[row][column] = f"{value * dice.choice((-1, 0, 0.01, 0.1, 0.5, 0.9, 1.1, 2, 10, 30)):.6g}"
    return _text(rows)


def wild_column(text: str, dice: random.Random) -> str:
    rows = _rows(text)
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
            row[column] = {"same": rows[1][column] if len(rows) > 1 else "", "zero": "0"}.get(
                how, ""
            )
    return _text(rows)


def drop_rows(text: str, dice: random.Random) -> str:
    rows = _rows(text)
    part = dice.random()
    return _text([row for n, row in enumerate(rows) if n == 0 or dice.random() < part])


def only_some(text: str, dice: random.Random) -> str:
    """Rows of one session, or each session at set points of its own."""
    rows = _rows(text)
    if len(rows) < 3 or len(rows[0]) < 2:
        return text
    sessions = sorted({row[0] for row in rows[1:] if row})
    points = sorted({row[1] for row in rows[1:] if len(row) > 1})
    keep = {(s, dice.choice(points)) for s in sessions if dice.random() < 0.8}
    return _text([rows[0], *(row for row in rows[1:] if tuple(row[:2]) in keep)])


def double_rows(text: str, dice: random.Random) -> str:
    rows = _rows(text)
    rows += [list(dice.choice(rows)) for _ in range(dice.choice((1, 2, 30)))]
    return _text(rows)


def shuffle_rows(text: str, dice: random.Random) -> str:
    head, *rows = _rows(text)
    dice.shuffle(rows)
    return _text([head, *rows])


def change_columns(text: str, dice: random.Random) -> str:
    rows = _rows(text)
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
    rows = _rows(text)
    if dice.random() < 0.5:
        rows = [rows[0], *([cell.replace(".", ",") for cell in row] for row in rows[1:])]
    return _text(rows, dice.choice(";\t|,")).replace("\n", dice.choice(("\n", "\r\n", "\r")))


ROWS: tuple[Callable[[str, random.Random], str], ...] = (
    hostile_cell, hostile_cell, wild_number, wild_number, wild_number, wild_column, drop_rows,
    only_some, double_rows, shuffle_rows, change_columns, another_dialect, cut, put_in,
)  # fmt: skip

# --- bytes and kinds -------------------------------------------------------------------------------


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


def _as_another_kind(case: Case, dice: random.Random) -> None:
    """The runs as a workbook or a Parquet file, sometimes damaged."""
    rows = _rows(case.files["runs.csv"].decode("utf-8", "replace"))
    kind = dice.choice(("xlsx", "parquet"))
    try:
        data = _workbook(rows) if kind == "xlsx" else _parquet(rows)
    except Exception:  # noqa: BLE001 - texts that such files cannot hold
        return
    if dice.random() < 0.4:
        data = dice.choice((flip, truncate))(data, dice)
    case.files[f"runs.{kind}"] = data
    case.files["trial.yaml"] = case.files["trial.yaml"].replace(
        b"runs.csv", f"runs.{kind}".encode()
    )
    case.changes.append(f"runs as {kind}")


def _number(text: str) -> object:
    try:
        return float(text)
    except ValueError:
        return text


def _workbook(rows: list[list[str]]) -> bytes:
    import openpyxl

    book, out = openpyxl.Workbook(), io.BytesIO()
    for row in rows:
        book.active.append([_number(cell) for cell in row])
    book.save(out)
    return out.getvalue()


def _parquet(rows: list[list[str]]) -> bytes:
    import pyarrow as pa
    import pyarrow.parquet as pq

    out = io.BytesIO()
    columns = {
        name: [row[n] if n < len(row) else None for row in rows[1:]]
        for n, name in enumerate(rows[0])
    }
    pq.write_table(pa.table(columns), out)
    return out.getvalue()


# --- commands --------------------------------------------------------------------------------------


def _command(dice: random.Random) -> list[str]:
    commands = (
        *(["analyse", "trial.yaml", "--format", form] for form in ("json", "json", "json", "text")),
        *(["check", "trial.yaml", "--format", form] for form in ("json", "text", "sarif")),
        ["check", "protocol.yaml", "claims.yaml", "--format", "json"],
        ["noise", "trial.yaml", "--format", dice.choice(("json", "text", "yaml"))],
        ["audit", "claims.yaml", "--format", dice.choice(("json", "text", "csv"))],
        ["audit", "claims.yaml", "--noise", "noise.yaml", "--between", dice.choice(HOSTILE)],
        ["sheet", dice.choice(("trial.yaml", "protocol.yaml")), "--format",
         dice.choice(("json", "text", "csv"))],
        ["sheet", "protocol.yaml", dice.choice(SHEET), dice.choice(HOSTILE)],
        ["seal", "protocol.yaml"],
        ["seal", "--verify", dice.choice(("protocol.yaml", "runs.csv", "claims.yaml"))],
        ["new", dice.choice(("protocol", "trial")), dice.choice(NEW), dice.choice(HOSTILE)],
        ["explain", dice.choice(HOSTILE)],
    )  # fmt: skip
    found = list(dice.choice(commands))
    if dice.random() < 0.03:
        found = ["analyse", "trial.yaml", "--format", "html"]
    if dice.random() < 0.03:
        found = ["plan", "protocol.yaml", "--quantity", "speed", dice.choice(PLAN),
                 dice.choice(HOSTILE), "--sessions", "2-3", "--double-runs", "1-2"]  # fmt: skip
    return found


SHEET = (
    "--seed", "--first-day", "--daylight", "--change-time", "--turn-time", "--course", "--fuel-flow",
    "--displacement", "--order",
)  # fmt: skip
NEW = (
    "--id",
    "--title",
    "--configurations",
    "--sessions",
    "--set-points",
    "--worthwhile",
    "--from",
)
PLAN = (
    "--effect", "--power", "--max-hours", "--max-fuel", "--between", "--within", "--speed",
    "--fuel-flow", "--turn", "--transit", "--change", "--seed", "--sessions-known",
)  # fmt: skip
