"""Make the pages of docs/ that follow from the code: `python docs/make.py` writes them anew.

The page on Python is made from the docstrings, that on file formats from the JSON Schemas and the
catalogue. A test compares what is written with what the code says today.
"""

from __future__ import annotations

import inspect
import json
import re
from collections.abc import Iterator, Mapping
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from typing import Any

import slackwater
from slackwater.analysis.intake import table_limits
from slackwater.analysis.logs import opening as logs
from slackwater.analysis.result.fields import TABLES
from slackwater.analysis.sheet.aboard import aboard_schema
from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING, MEASURES, Measure
from slackwater.protocol.files.dates import FIRST_YEAR, LAST_YEAR
from slackwater.protocol.files.source import MAX_BYTES
from slackwater.protocol.units.possible import ANY, POSSIBLE, SMALLEST

HERE = Path(__file__).parent
NOTE = "<!-- Made by `python docs/make.py`; edit the code, not this page. -->\n"
FILES = {"protocol": "Protocol", "trial": "Trial", "claims": "Claims", "pool": "Pool"}
CALLS = (
    "analyse",
    "statement",
    "check",
    "plan",
    "audit",
    "noise",
    "method",
    "pool",
    "logs",
    "cut",
    "tries",
    "load_protocol",
    "load_trial",
)
ANSWERS = (
    "slackwater.analysis.result.result.Result",
    "slackwater.analysis.verdict.compared.Compared",
    "slackwater.analysis.statement.contents.Statement",
    "slackwater.analysis.checking.check_result.CheckResult",
    "slackwater.analysis.planning.plan_model.Plan",
    "slackwater.analysis.audit.outcome.AuditResult",
    "slackwater.analysis.planning.noise_result.NoiseResult",
    "slackwater.analysis.many.pool_result.PoolResult",
    "slackwater.analysis.many.method_result.MethodResult",
    "slackwater.analysis.logs.logs_result.LogsResult",
    "slackwater.analysis.steady.cut_result.CutResult",
    "slackwater.analysis.handling.tries_result.TriesResult",
)


def text_of(thing: Any) -> str:
    """A docstring as Markdown: the sentence, then its sections as lists."""
    lines = inspect.getdoc(thing) or ""
    out: list[str] = []
    rows = lines.split("\n")
    i = 0
    while i < len(rows):
        if i + 1 < len(rows) and rows[i + 1].strip() and set(rows[i + 1].strip()) == {"-"}:
            out += ["", f"**{rows[i]}**", ""]
            i += 2
            while i < len(rows) and not (
                i + 1 < len(rows) and rows[i + 1].strip() and set(rows[i + 1].strip()) == {"-"}
            ):
                line = rows[i]
                if line and not line.startswith(" "):
                    out.append(f"- `{line}`")
                elif line.strip():
                    out.append(f"  {line.strip()}")
                i += 1
            continue
        out.append(rows[i])
        i += 1
    return re.sub(r"\n{3,}", "\n\n", "\n".join(out)).strip()


def python_page() -> str:
    """The calls and the answers in Python."""
    out = [
        NOTE,
        "# In Python\n",
        (
            "Each call answers one question. An answer prints itself, shows itself in a notebook, and has "
            "`table` (a DataFrame), `summary` (a line), `to_dict()`, `to_json()` and, where there is a "
            "page, `to_html()`. What is wrong with a file is an `InputError`, whose `findings` name file, "
            "line, column and the mend.\n"
        ),
        (
            "```python\nimport slackwater\n\n"
            'result = slackwater.analyse("examples/workboat-interceptors/trial.yaml")\n'
            "print(result.summary)\n"
            'for row in result.compared:\n    if row.verdict == "gain":\n'
            "        print(row.quantity, row.at, row.change)\n```\n"
        ),
        "`examples/notebook.py` goes the whole way, from a protocol to an audit.\n",
        "## Calls\n",
    ]
    for name in CALLS:
        call = getattr(slackwater, name)
        signature = re.sub(r"'", "", str(inspect.signature(call)))
        out.append(f"### `{name}{signature}`\n\n{text_of(call)}\n")
    out.append("## Answers\n")
    for dotted in ANSWERS:
        module, _, name = dotted.rpartition(".")
        out.append(f"### `{name}`\n\n{text_of(getattr(import_module(module), name))}\n")
    return "\n".join(out)


def _kind(field: Mapping[str, Any]) -> str:
    if "$ref" in field:
        name = field["$ref"].rsplit("/", 1)[-1]
        return f"[{name}](#{name.lower()})"
    if "enum" in field:
        return ", ".join(f"`{value}`" for value in field["enum"])
    if field.get("type") == "array":
        return f"list of {_kind(field.get('items', {})) or 'values'}"
    if "anyOf" in field:
        found = [each for each in map(_kind, field["anyOf"]) if each != "null"]
        return " or ".join(dict.fromkeys(found))
    kind = field.get("type", "")
    return " or ".join(kind) if isinstance(kind, list) else str(kind)


def _cell(text: object) -> str:
    return str(text).replace("|", "\\|").replace("\n", " ")


def _rows(schema: Mapping[str, Any]) -> Iterator[str]:
    needed = set(schema.get("required", ()))
    yield "| key | what it holds | form | without it |"
    yield "| --- | --- | --- | --- |"
    for key, field in schema.get("properties", {}).items():
        default = "needed" if key in needed else json.dumps(field.get("default", ""))
        default = "" if default in ('""', "null", "[]", "{}") else default
        example = field.get("examples", [""])[0]
        about = field.get("description", "")
        about += f" For example `{json.dumps(example, ensure_ascii=False)}`." if example else ""
        yield f"| `{key}` | {_cell(about)} | {_cell(_kind(field))} | {_cell(default.strip(chr(34)))} |"


def _aboard() -> list[str]:
    """The file that a tablet hands back."""
    schema = aboard_schema()
    parts = {**schema["$defs"], "Aboard": schema}
    out = [
        "## What a tablet hands back\n",
        (
            "JSON of the page that `sheet --for tablet` or `--for raters` writes; `sheet --merge` reads it, strictly. Or a text "
            "file with the lines of its QR codes, one a line in any order: `SLACKWATER`, four digits that all "
            "codes of a set share, number/of how many, and a part of the same JSON (raw DEFLATE, RFC 1951, in "
            "Base64, RFC 4648).\n"
        ),
    ]
    for name in ("Aboard", *schema["$defs"]):
        part = parts[name]
        out += [f"### {name}\n", f"{part['description']}\n", *_rows(part), ""]
    return out


def formats_page() -> str:
    """The files, key by key."""
    out = [
        NOTE,
        "# File formats\n",
        (
            "All YAML is read strictly: a repeated or unknown key, a quantity without its unit, a value "
            "that could be read two ways are errors with their place. Quantities are written with their "
            "unit: `8 kn`, `1 %`, `6200 ± 40 kg`.\n"
        ),
        "- [Protocol](#protocol-file), [trial](#trial-file), [claims](#claims-file), [pool](#pool-file)",
        "- [Run table](#run-table), or [logs](logs.md) in its place",
        "- [Quantities](#quantities), [conditions and loading](#conditions-and-loading)",
        "- [What a tablet hands back](#what-a-tablet-hands-back)",
        "- [Result](#result)\n",
    ]
    told: set[str] = set()
    schemas = files("slackwater.protocol.schemas")
    for name, title in FILES.items():
        schema = json.loads((schemas / f"{name}.schema.json").read_text(encoding="utf-8"))
        out += [f"## {title} file\n", f"{schema['description']}\n", *_rows(schema), ""]
        for part, inner in schema.get("$defs", {}).items():
            if part not in told and "properties" in inner:
                told.add(part)
                out += [f"### {part}\n", f"{inner.get('description', '')}\n", *_rows(inner), ""]
    out += [
        "## Run table\n",
        "A CSV, XLSX or Parquet file, one row a run, the unit in brackets in the heading:\n",
        (
            "`session, set_point [rpm], double_run, direction, start, duration [s], "
            "speed_over_ground [kn], engine_speed [rpm], fuel_flow [L/h], set_aside, note`\n"
        ),
        (
            "`direction` is `out` or `back`; a column `heading [deg]` may stand in its place. `start` is "
            "ISO 8601. `double_run` counts from 1 within session and set point. `set_aside` holds the "
            "reason for leaving a run out, else nothing. Any measure that the protocol declares is a "
            "column; the columns of several engines are named in the trial's `columns`.\n"
        ),
        *_aboard(),
        "## Quantities\n",
        "| name | what it is | unit | better | measured, or made of |",
        "| --- | --- | --- | --- | --- |",
        *(_quantity(each) for each in MEASURES.values()),
        "",
        "## Conditions and loading\n",
        "| name | unit | limited under |",
        "| --- | --- | --- |",
        *(f"| `{name}` | {', '.join(unit)} | `conditions` |" for name, unit in CONDITIONS.items()),
        *(f"| `{name}` | {', '.join(unit)} | `loading` |" for name, unit in LOADING.items()),
        "",
        "## Result\n",
        (
            "What `--format json` writes. `null` stands for what cannot be computed, never NaN. Each "
            "table is also a DataFrame of the result in Python.\n"
        ),
    ]
    for name, fields in TABLES.items():
        out += [f"### `{name}`\n", "| column | what it is |", "| --- | --- |"]
        out += [f"| `{each.name}` | {_cell(each.about)} |" for each in fields]
        out.append("")
    return "\n".join(out)


def _quantity(measure: Measure) -> str:
    made = []
    for each in measure.made_of:
        parts = [f"{name}^{power:g}" if power != 1 else name for name, power in each.parts.items()]
        parts += [f"the {need.replace('_', ' ')}" for need in each.needs]
        made.append(" · ".join(parts))
    told = "; or ".join(made) if made else "measured"
    return (
        f"| `{measure.name}` | {measure.title} | {measure.unit} | {measure.better or ''} | {told} |"
    )


def limits_page() -> str:
    """How large files may be, what values are possible, how files are written."""
    sizes = [
        ("a YAML file", f"{MAX_BYTES // 1_000_000} MB"),
        ("a run table's file", f"{table_limits.SIZE_LIMIT // 1_000_000} MB"),
        ("the parts of a workbook, unpacked", f"{table_limits.UNPACKED_LIMIT // 1_000_000} MB"),
        ("rows", f"{table_limits.ROW_LIMIT:,}"),
        ("columns", f"{table_limits.COLUMN_LIMIT:,}"),
        ("rows times columns", f"{table_limits.CELL_LIMIT:,} cells"),
        ("text of all cells", f"{table_limits.TEXT_LIMIT // 1_000_000} million characters"),
        ("empty cells of a workbook", f"{table_limits.EMPTY_LIMIT // 1_000_000} million"),
        ("one line of a text table", f"{table_limits.LINE_LIMIT:,} characters"),
        ("time to decode one table", f"{table_limits.TIME_LIMIT:g} s"),
        ("a log, unpacked", f"{logs.MOST >> 20:,} MiB"),
        ("logs in one archive", f"{logs.MOST_MEMBERS}"),
    ]
    out = [
        NOTE,
        "# Limits\n",
        "## Files that are read\n",
        (
            "Regular files alone: no device, no pipe, no socket. What goes beyond a limit is refused with "
            "a message; nothing is cut off in silence.\n"
        ),
        "| what | at most |",
        "| --- | --- |",
        *(f"| {what} | {most} |" for what, most in sizes),
        "",
        "## Files that are written\n",
        (
            "A file is written beside its target, flushed to the disk, and takes the name in one step: "
            "whoever is stopped on the way leaves the old file or the new one. A process that is killed "
            "outright may leave a `.slackwater-….part` beside it, which can be deleted.\n"
        ),
        (
            "No command writes over a file that it read, be it named on the command line or in another "
            "file, by whatever path or link, nor over a seal. Pages, JSON and SARIF that slackwater wrote "
            "are replaced; everything else is replaced with `--replace` alone, tables that may have "
            "been filled in among it. JSON, SARIF, HTML, CSV and YAML are UTF-8 whatever the terminal "
            "is set to; text on a terminal is in the terminal's encoding.\n"
        ),
        "## Values that are possible\n",
        (
            "Beyond these a value is an error, with its line. Within them, what is far from the rest of "
            "a trial is found by the rules on runs. A reason that begins 'from memory' was not looked "
            "up; its ends lie well beyond what is remembered.\n"
        ),
        "| quantity | from | to | unit | why |",
        "| --- | --- | --- | --- | --- |",
        *(
            f"| `{name}` | {row.low:g} | {row.high:g} | {row.unit} | {row.source} |"
            for name, row in POSSIBLE.items()
        ),
        "",
        "Whatever has no row of its own is bounded by its dimension:\n",
        "| dimension | from | to | unit | why |",
        "| --- | --- | --- | --- | --- |",
        *(
            f"| {name} | {row.low:g} | {row.high:g} | {row.unit} | {row.source} |"
            for name, row in ANY
        ),
        "",
        (
            f"A value other than nought is no smaller than {SMALLEST:g} of the unit named. Dates lie "
            f"from {FIRST_YEAR} to {LAST_YEAR}.\n"
        ),
    ]
    return "\n".join(out)


PAGES = {"python.md": python_page, "formats.md": formats_page, "limits.md": limits_page}


def main() -> None:
    """Write the pages."""
    for name, make in PAGES.items():
        (HERE / name).write_text(make(), encoding="utf-8", newline="\n")
        print(HERE / name)


if __name__ == "__main__":
    main()
