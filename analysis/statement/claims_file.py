"""The statement as a file of claims, which `slackwater audit` holds against the trial."""

from __future__ import annotations

import os
from pathlib import Path

from slackwater import __version__
from slackwater.analysis.statement.contents import Statement

_HEAD = """\
# What the statement of this trial comes to, claim by claim; made by slackwater statement
# (slackwater {version}). Whoever prints less than this chooses; 'slackwater audit' tells what holds.
"""


def claims_text(statement: Statement, trial: str | Path, folder: str | Path) -> str:
    """The claims as YAML; empty where the trial carries none.

    Parameters
    ----------
    statement : Statement
    trial : str or Path
        The trial's file.
    folder : str or Path
        Where the file of claims will stand: the trial is named from there.
    """
    if not statement.claims:
        return ""
    import yaml

    data: dict[str, object] = {
        "title": f"Statement of the trial {statement.trial}",
        "trial": Path(os.path.relpath(trial, folder)).as_posix(),
        "behind_each_figure": {
            "sessions": statement.sessions,
            "double_runs": max(statement.double_runs, 1),
        },
        "claims": [
            {**entry, "says": str(entry["says"]).replace("\u00a0", " ")}
            for entry in statement.claims
        ],
    }
    text = yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=10_000)
    return _HEAD.format(version=__version__) + text
