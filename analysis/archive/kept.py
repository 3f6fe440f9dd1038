"""One trial analysed, as the store keeps it. This is what a worker runs, on whatever machine it is."""

from __future__ import annotations

import gc
import hashlib
import json
import os
import threading
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.archive.columns import OF_A_RESULT, rows_to_table
from slackwater.analysis.archive.names import clean, key_of, path_of
from slackwater.analysis.archive.setting import named, with_setting
from slackwater.protocol.files.reading import ABSENT, UNREAD, Trace, hash_of, traced
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    import pyarrow as pa

    from slackwater.analysis.result.result import Result

#: Where a protocol that the package ships stands, in place of the folder it is installed in.
SHIPPED = "shipped:"
SEALS = "seals in "

_NEEDED = (
    "pandas",
    "pyarrow",
    "slackwater.analysis.many.outcome_making",
    "slackwater.analysis.pipeline",
    "slackwater.analysis.result.assembly",
)
# What the arithmetic warns of is watched for the whole process: threads of one would mix it up.
_ONE_AT_A_TIME = threading.Lock()


@dataclass(frozen=True, slots=True)
class Job:
    """A trial to be analysed.

    Attributes
    ----------
    folder : str
        Of the archive, absolute.
    path : str
        The trial's file, from the folder, as `names.key_of` has it.
    setting : dict of str
        Keys of the protocol set otherwise.
    """

    folder: str
    path: str
    setting: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Kept:
    """What the store keeps of a trial.

    Attributes
    ----------
    path, setting : str
        As in the store.
    state : str
        "analysed" or "broken".
    tables : dict of pyarrow.Table
        By the names of the store's tables; those without rows are left out.
    tool : str
        Version of slackwater that made it.
    trial_read : bool
        Whether the trial's own file could be read where it was analysed.
    """

    path: str
    setting: str
    state: str
    tables: dict[str, pa.Table]
    tool: str
    trial_read: bool = True


def keep(job: Job) -> Kept:
    """Analyse a trial; what keeps it from being analysed is kept as its message."""
    with _ONE_AT_A_TIME, traced() as trace:
        rows, state = _rows(job)
    path = Path(job.folder) / path_of(job.path)
    inputs = inputs_of(trace, path, Path(job.folder))
    head = {"path": job.path, "setting": named(job.setting)}
    rows["trials"][0] |= {"inputs": digest_of(inputs), "present": True, "state": state}
    rows["inputs"] = [{"file": file, "sha256": sha256} for file, sha256 in inputs.items()]
    for row in rows["findings"]:
        row["file"] = row["file"] and _input_key(Path(row["file"]), Path(job.folder))
    name = rows["trials"][0].get("trial")
    tables = {
        table: rows_to_table(table, [{"trial": name, **_clean(row), **head} for row in found])
        for table, found in rows.items()
        if found
    }
    read = inputs.get(job.path) != ABSENT
    return Kept(job.path, head["setting"], state, tables, __version__, trial_read=read)


def warm() -> None:
    """Load what an analysis needs, and leave it out of every collection to come."""
    for module in _NEEDED:
        import_module(module)
    gc.collect()
    gc.freeze()


def inputs_of(trace: Trace, trial: Path, folder: Path) -> dict[str, str]:
    """Every file that an analysis read or looked for, with its hash, and the seals beside them."""
    found = {}
    folders = {trial.parent}
    for path, sha256 in trace.items():
        key = _input_key(path, folder)
        found[key] = hash_of(path) if sha256 == UNREAD else sha256
        if not key.startswith(SHIPPED) and path.suffix.lower() in (".yaml", ".yml"):
            folders.add(path.parent)
    for each in folders:
        key = SEALS + _input_key(each, folder)
        found[key] = _seals(each)
    return dict(sorted(found.items()))


def hash_now(file: str, folder: Path) -> str:
    """The hash of an input as it is now, by its name in the store."""
    if file.startswith(SEALS):
        return _seals(_input_path(file.removeprefix(SEALS), folder))
    return hash_of(_input_path(file, folder))


def digest_of(inputs: Mapping[str, str]) -> str:
    """One hash over all inputs."""
    lines = "\n".join(f"{sha256} {file}" for file, sha256 in sorted(inputs.items()))
    return hashlib.sha256(lines.encode("utf-8")).hexdigest()


def _seals(folder: Path) -> str:
    """The names of the seals in a folder: one that is laid beside changes what is told."""
    try:
        with os.scandir(folder) as entries:
            names = sorted(each.name for each in entries if each.name.endswith(".seal.yaml"))
    except OSError:
        return UNREAD
    return hashlib.sha256("\n".join(names).encode("utf-8", "backslashreplace")).hexdigest()


def _library() -> Path:
    from slackwater.protocol.library import shipped

    return next(iter(shipped().values())).parent


def _input_key(path: Path, folder: Path) -> str:
    if path.parent == _library():
        return f"{SHIPPED}{path.name}"
    return key_of(os.path.relpath(path, folder))


def _input_path(file: str, folder: Path) -> Path:
    if file.startswith(SHIPPED):
        return _library() / file.removeprefix(SHIPPED)
    return folder / path_of(file)


def _rows(job: Job) -> tuple[dict[str, list[dict[str, Any]]], str]:
    """The rows of every table, and the trial's state."""
    from slackwater.analysis.wording.arithmetic import watched

    try:
        with watched() as arithmetic:
            rows = _analysed(job)
    except InputError as error:
        return _broken(error.findings), "broken"
    except Exception as error:  # noqa: BLE001 - the other trials are still to be done
        message = (
            f"a fault of the program, not of the trial: {type(error).__name__}: {error}; "
            "'slackwater analyse' of this trial alone says more"
        )
        return _broken([Finding("program-fault", Severity.ERROR, message)]), "broken"
    rows["findings"] += _told("finding", arithmetic.findings())
    return rows, "analysed"


def _analysed(job: Job) -> dict[str, list[dict[str, Any]]]:
    from slackwater.analysis.many.outcome_making import outcome_of
    from slackwater.analysis.pipeline import compute
    from slackwater.analysis.result.assembly import assemble
    from slackwater.protocol.declared.trial import load_trial

    trial = load_trial(Path(job.folder) / path_of(job.path))
    analysed = compute(with_setting(trial, job.setting))
    result, outcome = assemble(analysed), outcome_of(analysed)
    row = _of_the_trial(result) | {
        "content": outcome.content,
        "first_day": outcome.first_day,
        "last_day": outcome.last_day,
        "invented": outcome.invented,
        "outcome": json.dumps(whole := outcome.to_dict(), allow_nan=False),
        "noise_outcome": json.dumps({**whole, "changes": [], "levels": []}, allow_nan=False),
    }
    return {
        "trials": [row],
        **{name: result.records(name) for name in OF_A_RESULT},
        "findings": [
            *_told("deviation", result.deviations),
            *_told("finding", result.findings),
        ],
    }


def _of_the_trial(result: Result) -> dict[str, Any]:
    return {
        "trial": result.trial,
        "title": result.title,
        "boat": result.boat,
        "protocol": result.protocol.id,
        "version": result.protocol.version,
        "protocol_sha256": result.protocol.sha256,
        "tool": __version__,
        "runs_read": result.runs.read,
        "runs_used": result.runs.used,
        "runs_set_aside": result.runs.set_aside,
        "seal": result.seal.state,
        "message": "",
    }


def _broken(findings: Sequence[Finding]) -> dict[str, list[dict[str, Any]]]:
    first = findings[0] if findings else Finding("nothing-told", Severity.ERROR, "nothing is told")
    more = f" (and {len(findings) - 1} more)" if len(findings) > 1 else ""
    return {
        "trials": [{"tool": __version__, "message": f"{_placed(first)}{first.message}{more}"}],
        "findings": _told("fault", findings),
    }


def _placed(finding: Finding) -> str:
    """File and line in front of a message, without the folders."""
    place = finding.place
    if place is None:
        return ""
    return f"{Place(Path(place.file).name, place.line, place.column)}: "


def _told(kind: str, findings: Sequence[Finding]) -> list[dict[str, Any]]:
    return [{"kind": kind, **finding.to_dict()} for finding in findings]


def _clean(row: Mapping[str, Any]) -> dict[str, Any]:
    return {name: clean(value) if isinstance(value, str) else value for name, value in row.items()}
