"""The sources of a quantity that each engine has its own of, in the order of the columns that the trial gives them."""

from __future__ import annotations

import re
from collections.abc import Sequence

from slackwater.protocol.findings import Finding, InputError, Severity

_NUMBER = re.compile(r"no\. (\d+)")  # as readers name the engines of a bus


def engines_in_order(quantity: str, sources: Sequence[str], columns: Sequence[str]) -> list[str]:
    """A source for each column: those headed like the columns in that order, else by the engine's number.

    Raises
    ------
    InputError
        When there are not as many sources as columns.
    """
    if len(sources) != len(columns):
        raise InputError([_unequal(quantity, sources, columns)])
    headed = {source.partition("[")[0].partition("(")[0].strip(): source for source in sources}
    if set(headed) == set(columns):
        return [headed[column] for column in columns]
    return sorted(sources, key=_by_number)


def _by_number(source: str) -> tuple[int, str]:
    found = _NUMBER.search(source)
    return (int(found[1]) if found else 0), source


def _unequal(quantity: str, sources: Sequence[str], columns: Sequence[str]) -> Finding:
    there = ", ".join(f"'{source}'" for source in sources)
    return Finding(
        "columns-several",
        Severity.ERROR,
        f"the trial gives {quantity} the {len(columns)} columns {', '.join(columns)}, and the logs have "
        f"{len(sources)} source{'s' if len(sources) > 1 else ''} of it: {there}",
        f"name the source of each engine, in the order of the columns, under 'cut:': sources: {{{quantity}: "
        f"[{', '.join(f'source of {column}' for column in columns)}]}}; or give it as many columns as there are sources",
    )
