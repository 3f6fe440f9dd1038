"""The form that an author fills in and sends back: YAML with a question mark where an answer is wanted."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from slackwater.analysis.audit.outcome import AuditResult
from slackwater.analysis.audit.to_the_author import Question
from slackwater.analysis.wording.characters import printable
from slackwater.protocol.claims.reply import BLANK
from slackwater.protocol.files.yaml_edit import quoted, scalar

_HEAD = """\
# A reply to the letter about the figures named below.
#
# Any text editor will do. Write the answer in place of the question mark; leave the question mark where
# you do not know or would rather not say. The numbers in brackets are those of the letter's questions.
# Units go with the figures: 0.8 kn, 20 L, 0.5 %.
"""
#: What may be written at a place, in a word.
_HINTS = {
    "sessions": "a number, for each configuration",
    "double_runs": "a number; a run out and back is one",
    "directions": "both or one_way",
    "current": "the strongest along the course, such as 0.8 kn",
    "set_points": "a number, published or not",
    "chosen": "beforehand or afterwards",
    "fuel_reserve": "such as 10 % or 20 L",
    "runs": "the file of the table sent along, one row a run; see the letter for its columns",
    "at": "such as 3000 rpm or 16 kn",
    "stated": "the figures as measured, such as {baseline: 18.4 kn, modified: 19.2 kn}",
}


def form(result: AuditResult) -> str:
    """The form for an audit's questions, as text.

    It asks for no more than the letter does, and can be read as it stands: nothing is answered then.
    """
    digest = next((sha for role, _, sha in result.inputs if role == "claims"), "")
    lines = [_HEAD, "reply: 1", f"to: {_line(result.title)}", f"by: {quoted(BLANK)}"]
    lines += [f"claims_sha256: {digest}"] if digest else []
    tree: dict[str, Any] = {}
    for number, question in enumerate(result.asked, start=1):
        if question.key:
            _put(tree, question.key, number)
    lines += ["", *_branch(tree, 0)] if tree else []
    words = [(n, q) for n, q in enumerate(result.asked, start=1) if not q.key]
    lines += ["", *_in_words(words)]
    return "\n".join(lines) + "\n"


def _put(tree: dict[str, Any], key: str, number: int) -> None:
    """Enter a place of the form; the id of a claim may hold dots, and is the middle of its path."""
    first, _, rest = key.partition(".")
    steps = [first, *([rest] if first != "claims" else rest.rpartition(".")[::2])]
    holder = tree
    for step in steps[:-1]:
        holder = holder.setdefault(step, {})
    if steps[-1]:
        holder[steps[-1]] = number
    else:
        tree[first] = number


def _branch(tree: dict[str, Any], depth: int) -> Iterator[str]:
    lead = "  " * depth
    for key, value in tree.items():
        name = scalar(key)
        if isinstance(value, dict):
            yield f"{lead}{name}:"
            yield from _branch(value, depth + 1)
        else:
            hint = _HINTS.get(key, "standard uncertainty, such as 0.1 kn or 1 %")
            yield f"{lead}{name}: {quoted(BLANK)}  # [{value}] {hint}"


def _in_words(questions: list[tuple[int, Question]]) -> Iterator[str]:
    yield "answers:  # in words"
    for number, question in questions:
        yield f"  - question: {_line(f'[{number}] {question.text}')}"
        yield f"    answer: {quoted(BLANK)}"
    yield f"  - question: {quoted('Anything else that should be known?')}"
    yield f"    answer: {quoted(BLANK)}"


def _line(text: str) -> str:
    """A text from a file on one line, in quotes, without what a terminal would act on."""
    return quoted(printable(" ".join(text.split())))
