"""What is computed: runs to double runs to session values to comparison to verdict."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.report.writers import register

if TYPE_CHECKING:
    from slackwater.analysis.api import analyse as analyse

__all__ = ["analyse"]

register()  # loads no renderer


def __getattr__(name: str) -> object:
    # Loaded on first use, so that commands which compute nothing start at once.
    if name == "analyse":
        from slackwater.analysis.api import analyse

        return analyse
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
