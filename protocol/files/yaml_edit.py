"""Changing single values in the text of a YAML file, with all its comments left as they are."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import yaml

from slackwater.protocol.files.source import Document, Loc

_PLAIN = re.compile(r"[A-Za-z(][^:#\n\[\]{},\"'&*!|>%@`\\]*")
_TRUTHS = re.compile("(?i:y|n|yes|no|on|off|true|false|null)")


class EditError(ValueError):
    """A value that cannot be changed in place."""


@dataclass(frozen=True, slots=True)
class Edit:
    """A value to be put in place of another.

    Parameters
    ----------
    loc : tuple
        Keys and positions that lead to the value.
    text : str
        As YAML has it, with its brackets or quotes.
    comment : str or None
        To stand in place of the comment at the end of the line, where nothing else follows the
        value there; None leaves that alone.
    """

    loc: Loc
    text: str
    comment: str | None = None


def scalar(text: str) -> str:
    """A text as YAML: plain where no reader of YAML can take it for anything else, else in quotes."""
    if _PLAIN.fullmatch(text) and text == text.strip() and not _TRUTHS.fullmatch(text):
        return text
    return quoted(text)


def quoted(text: str) -> str:
    """A text in quotes, which every reader of YAML takes as text."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def edited(document: Document, edits: Iterable[Edit]) -> str:
    """The text of a file with some of its values changed.

    Raises
    ------
    EditError
        When a value is not there, or is written over several lines with dashes.
    """
    text = document.text
    spans = _spans(text)
    found = []
    for edit in edits:
        start, end = _span(document, spans, edit)
        new = edit.text
        if edit.comment is not None:
            stop = text.find("\n", end)
            rest = text[end : stop if stop >= 0 else len(text)]
            if re.fullmatch(r"\s*(#.*)?", rest):  # else more of the file follows on the line
                end += len(rest.rstrip("\r"))
                new = f"{new}   # {edit.comment}"
        found.append((start, end, new))
    for start, end, new in sorted(found, reverse=True):
        text = text[:start] + new + text[end:]
    return text


def _span(
    document: Document, spans: dict[tuple[int, int], tuple[int, int]], edit: Edit
) -> tuple[int, int]:
    path = ".".join(str(step) for step in edit.loc)
    holder: object = document.data
    for step in edit.loc:
        if isinstance(holder, dict):
            holder = holder.get(str(step))
        elif isinstance(holder, Sequence) and isinstance(step, int) and step < len(holder):
            holder = holder[step]
        else:
            holder = None
    if holder is None:
        raise EditError(f"there is no '{path}' in {document.path.name}")
    place = document.place(edit.loc)
    span = spans.get((place.line or 0, place.column or 0))
    if span is None:
        raise EditError(f"'{path}' in {document.path.name} is not written in a line")
    return span


def _spans(text: str) -> dict[tuple[int, int], tuple[int, int]]:
    """From line and column of every scalar and bracket to where its text starts and ends."""
    spans: dict[tuple[int, int], tuple[int, int]] = {}
    opened: list[tuple[tuple[int, int], int]] = []
    keys = False
    for token in yaml.scan(text, Loader=yaml.BaseLoader):
        at = (token.start_mark.line + 1, token.start_mark.column + 1)
        if isinstance(token, (yaml.FlowSequenceStartToken, yaml.FlowMappingStartToken)):
            opened.append((at, token.start_mark.index))
        elif isinstance(token, (yaml.FlowSequenceEndToken, yaml.FlowMappingEndToken)):
            start, index = opened.pop()
            spans[start] = (index, token.end_mark.index)
        elif isinstance(token, yaml.ScalarToken) and not keys:
            spans[at] = (token.start_mark.index, token.end_mark.index)
        keys = isinstance(token, yaml.KeyToken)
    return spans
