"""What a YAML parser objects to, in plain words and at the place where the eye should look."""

from __future__ import annotations

import re
from dataclasses import dataclass

import yaml

# YAML's line breaks, as PyYAML counts lines.
LINE_BREAK = re.compile("\r\n|[\r\n\x85\u2028\u2029]")

COLON_FIX = "write each as 'key: value', with a space after the colon"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong with the YAML itself, and where; line and column count from 1."""

    rule: str
    message: str
    fix: str
    line: int
    column: int


# Part of the parser's message, in either of its two wordings -> what to say, what to do.
_QUOTE = "put a text that holds ': ' or starts with one of @ ` % & * ! | > [ { in quotes"
_SYNTAX: tuple[tuple[str, str, str], ...] = (
    (
        "mapping values are not allowed",
        "a ':' that cannot stand here",
        "check that keys of one level start in one column; put a text that holds ': ' in quotes",
    ),
    ("could not find expected ':'", "a line without 'key: value'", COLON_FIX),
    (
        "sequence entries are not allowed",
        "a '- ' that cannot stand here",
        "start each '- ' on a line of its own",
    ),
    (
        "',' or '}'",
        "a '{' that is not closed, or a comma missing",
        "write {key: value, key: value}",
    ),
    ("',' or ']'", "a '[' that is not closed, or a comma missing", "write [first, second]"),
    ("cannot start any token", "a value that starts with a sign YAML keeps for itself", _QUOTE),
    ("unexpected end of stream", "a quote that is not closed", "close the quote"),
    (
        "unknown escape character",
        "a '\\' that YAML takes for an escape",
        "put the text in single quotes",
    ),
    (
        "'-' indicator",
        "a line that is neither a list entry nor indented under one",
        "start list entries with '- ' in one column",
    ),
    (
        "<block end>",
        "a line indented differently from the lines above it",
        "start keys of one level in one column",
    ),
    (
        "expected key",
        "a line indented differently from the lines above it",
        "start keys of one level in one column",
    ),
    (
        "node content",
        "a value is missing before this sign",
        "write the value, or close the bracket",
    ),
    ("alphabetic or numeric", "a '&' or '*' without a name", _QUOTE),
    ("tag", "a value that starts with '!'", _QUOTE),
    ("URI", "a value that starts with '!'", _QUOTE),
    ("directive", "a line that starts with '%'", "take the line out"),
    ("incompatible YAML", "a %YAML line for another version of YAML", "take the line out"),
    ("document start", "text after the end of what was opened", "look for a bracket too many"),
    ("nesting", "nested too deep", "look for a bracket left open"),
    ("comment or line break", "text right after '|' or '>'", _QUOTE),
    ("chomping", "text right after '|' or '>'", _QUOTE),
)


def syntax_fault(error: yaml.MarkedYAMLError, text: str) -> Fault:
    """A parser's error as a fault, worded anew."""
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    problem = error.problem or "not YAML"
    lines = LINE_BREAK.split(text)
    here = lines[line] if line < len(lines) else ""
    lead = here[: len(here) - len(here.lstrip())]
    if "\t" in lead and column <= len(lead) + 1:
        return Fault(
            "yaml-tab",
            "a tab in the indentation",
            "indent with spaces",
            line + 1,
            lead.index("\t") + 1,
        )
    message, fix = f"not YAML: {problem}", "check the line and the one above it"
    for part, words, mend in _SYNTAX:
        if part in problem:
            message, fix = words, mend
            break
    opened = error.context_mark
    if opened and opened.line != line and ("{" in message or "[" in message or "quote" in message):
        message += f"; it was opened on line {opened.line + 1}, column {opened.column + 1}"
        if line >= len(lines) or not here.strip():  # point at what is open, not at the end
            line, column = opened.line, opened.column
    return Fault("yaml-syntax", message, fix, line + 1, column + 1)
