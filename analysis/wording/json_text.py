"""JSON out: the same data gives the same bytes, and NaN is refused."""

from __future__ import annotations

import json
from typing import Any

from slackwater import __version__


def head(schema: int = 1) -> dict[str, Any]:
    """The first keys of every answer: the version of its description, and what wrote it."""
    return {"schema": schema, "tool": {"name": "slackwater", "version": __version__}}


def to_json(data: Any) -> str:
    """JSON text with keys in the order given, two spaces of indent and one line end at the close.

    Raises
    ------
    ValueError
        When a number is not finite: those have to be None before they come here.
    """
    return json.dumps(data, ensure_ascii=False, allow_nan=False, indent=2) + "\n"
