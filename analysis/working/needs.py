"""What an archive and a cluster need beside the rest: DuckDB, and Dask."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from slackwater.protocol.findings import Finding, InputError, Severity

_NAMES = {"duckdb": "an archive needs DuckDB", "distributed": "a cluster needs Dask"}


def needed(module: str) -> Any:
    """A library of the extra `archive`.

    Raises
    ------
    InputError
        When it is not installed.
    """
    try:
        return import_module(module)
    except ModuleNotFoundError as error:
        if error.name != module:
            raise
        raise InputError(
            [
                Finding(
                    "library-missing",
                    Severity.ERROR,
                    f"{_NAMES[module]}, which is not installed",
                    "pip install 'slackwater[archive]'",
                )
            ]
        ) from None
