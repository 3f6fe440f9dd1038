"""slackwater: a statistical validator for on-water performance trials of boats."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from slackwater.analysis.api import analyse as analyse
    from slackwater.analysis.api import archive as archive
    from slackwater.analysis.api import archived as archived
    from slackwater.analysis.api import audit as audit
    from slackwater.analysis.api import check as check
    from slackwater.analysis.api import cut as cut
    from slackwater.analysis.api import logs as logs
    from slackwater.analysis.api import method as method
    from slackwater.analysis.api import noise as noise
    from slackwater.analysis.api import plan as plan
    from slackwater.analysis.api import pool as pool
    from slackwater.analysis.api import since as since
    from slackwater.analysis.api import statement as statement
    from slackwater.analysis.api import tries as tries
    from slackwater.analysis.result.result import Result as Result
    from slackwater.protocol.declared.protocol import load_protocol as load_protocol
    from slackwater.protocol.declared.trial import load_trial as load_trial
    from slackwater.protocol.findings import InputError as InputError

__version__ = "0.1.0"

# In a checkout the packages stand at its top; installed, they stand beside this file.
_CHECKOUT = Path(__file__).parents[3] if len(Path(__file__).parents) > 3 else Path()
if (_CHECKOUT / "protocol" / "_root" / "slackwater" / "__init__.py").is_file():
    __path__.append(str(_CHECKOUT))

# Loaded on first use, so that commands which compute nothing start at once.
_FROM = {
    "analyse": "slackwater.analysis.api",
    "archive": "slackwater.analysis.api",
    "archived": "slackwater.analysis.api",
    "audit": "slackwater.analysis.api",
    "check": "slackwater.analysis.api",
    "cut": "slackwater.analysis.api",
    "logs": "slackwater.analysis.api",
    "method": "slackwater.analysis.api",
    "noise": "slackwater.analysis.api",
    "plan": "slackwater.analysis.api",
    "pool": "slackwater.analysis.api",
    "since": "slackwater.analysis.api",
    "statement": "slackwater.analysis.api",
    "tries": "slackwater.analysis.api",
    "Result": "slackwater.analysis.result.result",
    "load_protocol": "slackwater.protocol.declared.protocol",
    "load_trial": "slackwater.protocol.declared.trial",
    "InputError": "slackwater.protocol.findings",
}

__all__ = [
    "InputError",
    "Result",
    "analyse",
    "archive",
    "archived",
    "audit",
    "check",
    "cut",
    "load_protocol",
    "load_trial",
    "logs",
    "method",
    "noise",
    "plan",
    "pool",
    "since",
    "statement",
    "tries",
]


def __getattr__(name: str) -> object:
    if name in _FROM:
        from importlib import import_module

        return getattr(import_module(_FROM[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted([*globals(), *_FROM])
