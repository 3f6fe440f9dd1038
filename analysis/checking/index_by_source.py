"""The rules in the order of what they rest on: work by work, clause by clause."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby
from typing import Any

from slackwater.protocol.rules._rule import Rule
from slackwater.protocol.rules._sources import WORKS, Clause, by_work

_Rows = list[tuple[Clause, Rule]]


def as_text(rules: Iterable[Rule]) -> str:
    """The index as plain text: kinds of works, works, clauses, rules."""
    works = by_work(rules)
    width = max(len(rule.id) for rows in works.values() for _, rule in rows)
    lines: list[str] = []
    for kind, group in groupby(sorted(works, key=_kind_order), key=lambda work: WORKS[work]):
        lines += [kind.value, ""]
        for work in group:
            lines += [f"  {work}", *_lines(works[work], width), ""]
    count = len({rule.id for rows in works.values() for _, rule in rows})
    lines.append(
        f"{count} rules on {len(works)} works; a rule that rests on several stands under each"
    )
    return "\n".join(lines) + "\n"


def _lines(rows: _Rows, width: int) -> Iterator[str]:
    margin = max(len(clause.at) for clause, _ in rows)
    for clause, rule in rows:
        yield f"    {clause.at:<{margin}}{'  ' if margin else ''}{rule.id:<{width}}  {clause.says}".rstrip()


def _kind_order(work: str) -> tuple[int, int]:
    kinds = list(dict.fromkeys(WORKS.values()))
    return kinds.index(WORKS[work]), list(WORKS).index(work)


def as_data(rules: Iterable[Rule]) -> list[dict[str, Any]]:
    """The index as JSON carries it."""
    return [
        {
            "work": work,
            "kind": WORKS[work].value,
            "rules": [
                {"clause": clause.at or None, "says": clause.says or None, "rule": rule.id}
                for clause, rule in rows
            ],
        }
        for work, rows in by_work(rules).items()
    ]
