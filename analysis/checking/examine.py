"""A file looked over: what kind it is, its faults, and what the rules find in it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater.analysis.checking.applying import (
    check_method,
    check_protocol,
    deviations,
)
from slackwater.analysis.checking.identity import Identity, of_protocol, of_trial, seal_finding
from slackwater.analysis.checking.record import Record, record_of
from slackwater.analysis.checking.registry import protocol_rules, run_rules
from slackwater.protocol.declared.invented import invented_findings
from slackwater.protocol.files.kinds import kind_of
from slackwater.protocol.files.reading import is_file, is_there
from slackwater.protocol.files.source import Document, scan_document
from slackwater.protocol.findings import Finding, InputError, Place, Severity
from slackwater.protocol.rules import trial_rules
from slackwater.protocol.rules._applied import Checked, partly_applied, sift, unseen

if TYPE_CHECKING:
    from slackwater.analysis.intake.run_table import RunTable
    from slackwater.protocol.declared.protocol_parts import Waiver
    from slackwater.protocol.declared.trial import Trial


_LOOKED_AT = 1 << 14  # [bytes] of a text that may be a log


@dataclass(frozen=True, slots=True)
class Examined:
    """What was found in a file.

    Parameters
    ----------
    checked : Checked
    waivers : tuple of (file, Waiver)
        Every waiver declared, whether it silences anything or not.
    usable : bool
        False where the file cannot be read at all, or is of no kind known here.
    file : str
        As it was given.
    identity : Identity, optional
        Of a protocol or a trial that could be used.
    """

    checked: Checked
    waivers: tuple[tuple[str, Waiver], ...] = ()
    usable: bool = True
    file: str = ""
    identity: Identity | None = None

    @property
    def record(self) -> Record:
        """What came of every rule."""
        return record_of(self.file, self.identity, self.checked)


def examine(file: str) -> Examined:
    """Look a protocol, a trial, a pool, a file of claims or a seal over: its faults, and what the rules find."""
    return replace(_examined(file), file=file)


def _examined(file: str) -> Examined:
    table = _table_of_runs(file)
    if table is not None:
        return Examined(Checked((table,)), usable=False)
    document, faults = scan_document(file)
    if document is None:
        return Examined(Checked(tuple(faults)), usable=False)
    kind = kind_of(document)
    if kind == "seal":
        found = _seal(file)
    elif kind == "reply":
        found = _reply(file)
    elif kind == "pool":
        found = _pool(document)
    elif kind == "claims":
        found = _claims(file)
    elif kind == "trial":
        found = _trial(document)
    elif kind == "protocol":
        found = _protocol(document)
    else:
        found = Examined(Checked((_neither(file),) if not faults else ()), usable=False)
    return replace(
        found, checked=Checked(tuple(faults)) + found.checked, usable=found.usable and not faults
    )


def _table_of_runs(file: str) -> Finding | None:
    """What to say of a run table, which is looked over with its trial and not by itself."""
    if Path(file).suffix.lower() in (".yaml", ".yml") or not is_file(file):
        return None
    from slackwater.analysis.intake.readers import by_content, by_suffix

    reader = by_suffix(file)
    if reader is None:
        from slackwater.protocol.files.reading import first_bytes

        reader = by_content(first_bytes(file, 8))
        if reader.textual:
            return _log(file)  # a text without a known ending may be YAML, which tells itself
    return Finding(
        "run-table",
        Severity.ERROR,
        f"this is {reader.title}; a run table is checked with the trial that names it",
        "name the trial's YAML file; its runs are read along with it",
        Place(file),
    )


def _pool(document: Document) -> Examined:
    """A pool's own keys; its trials are checked by their own names."""
    from slackwater.protocol.declared.pool import build_pool

    _, faults = build_pool(document)
    return Examined(Checked(tuple(faults)), usable=not faults)


def _log(file: str) -> Finding | None:
    """What to say of what an instrument wrote; None for another text."""
    from slackwater.analysis.logs.forms import recognised
    from slackwater.protocol.files.reading import first_bytes

    form = recognised(first_bytes(file, _LOOKED_AT))
    if form is None:
        return None
    return Finding(
        "log-given",
        Severity.ERROR,
        f"this is a log ({form.name}); runs are cut from it, and checked with the trial that names it",
        "name the trial's YAML file, with the log under 'logs:'; 'slackwater logs FILE' tells what is in it",
        Place(file),
    )


def _protocol(document: Document) -> Examined:
    from slackwater.protocol.declared.protocol import build_protocol

    protocol, faults = build_protocol(document)
    if protocol is None:
        return Examined(Checked(tuple(faults)) + partly_applied(document, protocol_rules()))
    waivers = tuple((str(document.path), waiver) for waiver in protocol.waive)
    identity = of_protocol(protocol)
    sealed = Checked(tuple(seal_finding(identity, document.place())))
    return Examined(sealed + check_protocol(protocol), waivers, identity=identity)


def _trial(document: Document) -> Examined:
    from slackwater.protocol.declared.trial import build_trial

    trial, faults = build_trial(document)
    if trial is None:
        return Examined(Checked(tuple(faults)) + _of_a_faulty_trial(document))
    runs, unread = _runs(trial)
    read = unread if runs is None else (*runs.findings, *_not_found(trial, runs))
    read = (*read, *_of_ratings(trial), *_of_tries(trial))
    identity = of_trial(trial, runs)
    place = trial.document.place(("protocol",))
    read = (*read, *seal_finding(identity, place))
    checked = (
        check_method(trial)
        + deviations(trial, runs)
        + sift((*read, *invented_findings(trial)), trial.waivers)
    )
    own = str(trial.protocol.document.path)
    waivers = [(own, waiver) for waiver in trial.protocol.waive]
    waivers += [(str(document.path), waiver) for waiver in trial.waive]
    return Examined(checked, tuple(waivers), identity=identity)


def _of_a_faulty_trial(document: Document) -> Checked:
    """What can be said of a trial with faults: its protocol, where that stands in the file."""
    rest = unseen([*trial_rules(), *run_rules()], "the trial has faults", "mend the faults")
    if isinstance(document.data.get("protocol"), dict):
        return partly_applied(document.part("protocol"), protocol_rules()) + rest
    return unseen(protocol_rules(), "the trial has faults", "mend the faults") + rest


def _runs(trial: Trial) -> tuple[RunTable | None, tuple[Finding, ...]]:
    """The runs; or None and why, which before the trial is only that there are none yet."""
    from slackwater.analysis.steady.trial_runs import sources_key, sources_of, without_runs

    key, named = sources_key(trial), ", ".join(f"'{each}'" for each in trial.logs or [trial.runs])
    advice = Finding(
        "no-runs-yet",
        Severity.ADVICE,
        f"there are no runs in {named} yet, so only what is declared was looked at",
        f"before the trial nothing; after it, check the name under '{key}:'",
        trial.document.place((key,)),
    )
    alone = without_runs(trial) and any(
        is_there(trial.folder / each) for each in trial.beside.values()
    )
    if not alone and not any(is_there(each) for each in sources_of(trial)):
        return None, (advice,)
    try:
        return _runs_or_none(trial), ()
    except InputError as error:
        begun = trial.sessions or any(each.rule != "no-runs" for each in error.findings)
        return None, error.findings if begun else (advice,)


def _runs_or_none(trial: Trial) -> RunTable:
    """The runs; no run where the logs hold tries of manoeuvres alone."""
    from slackwater.analysis.handling.tries_read import runs_beside, tried_table
    from slackwater.analysis.steady.trial_runs import runs_of

    if not (trial.logs and trial.protocol.manoeuvres):
        return runs_of(trial)
    return runs_beside(trial, tried_table(trial))


def _not_found(trial: Trial, runs: RunTable) -> Iterator[Finding]:
    """Planned runs that are not among those cut from logs, with why, and pairs over other water."""
    if runs.provenance is not None:
        from slackwater.analysis.steady.not_found import missing_findings
        from slackwater.analysis.steady.other_water import order_findings
        from slackwater.analysis.steady.trial_runs import sources_key

        place = trial.document.place((sources_key(trial),))
        yield from missing_findings(runs.provenance, place)
        yield from order_findings(runs.provenance, place)


def _of_ratings(trial: Trial) -> tuple[Finding, ...]:
    """What reading the ratings finds; that there are none yet where the table is not there."""
    from slackwater.analysis.intake.rating_table import read_ratings

    if trial.protocol.ratings is None or trial.ratings is None:
        return ()
    if not is_there(trial.folder / trial.ratings):
        advice = Finding(
            "no-ratings-yet",
            Severity.ADVICE,
            f"there are no ratings in '{trial.ratings}' yet",
            "before the trial nothing; after it, check the name under 'ratings:'",
            trial.document.place(("ratings",)),
        )
        return (advice,)
    try:
        read = read_ratings(trial)
    except InputError as error:
        return error.findings
    return () if read is None else read.findings


def _of_tries(trial: Trial) -> tuple[Finding, ...]:
    """What reading the tries finds; that there are none yet where the table is not there."""
    from slackwater.analysis.handling.tries_read import tried_table

    if not trial.protocol.manoeuvres or (trial.manoeuvres is None and not trial.logs):
        return ()
    if trial.manoeuvres is None and not any(is_there(trial.folder / each) for each in trial.logs):
        return ()  # that there is no log yet is told of the runs
    if trial.manoeuvres is not None and not is_there(trial.folder / trial.manoeuvres):
        advice = Finding(
            "no-tries-yet",
            Severity.ADVICE,
            f"there are no tries of manoeuvres in '{trial.manoeuvres}' yet",
            "before the trial nothing; after it, check the name under 'manoeuvres:'",
            trial.document.place(("manoeuvres",)),
        )
        return (advice,)
    try:
        read = tried_table(trial)
    except InputError as error:
        return error.findings
    return () if read is None else read.findings


def _claims(file: str) -> Examined:
    from slackwater.protocol.claims.claims_file import load_claims

    try:
        load_claims(file)
    except InputError as error:
        return Examined(Checked(error.findings))
    return Examined(Checked())


def _reply(file: str) -> Examined:
    from slackwater.protocol.claims.reply import load_reply

    try:
        load_reply(file)
    except InputError as error:
        return Examined(Checked(error.findings))
    return Examined(Checked())


def _seal(file: str) -> Examined:
    from slackwater.protocol.sealing.seal import load_seal, seal_findings

    try:
        return Examined(Checked(tuple(seal_findings(load_seal(file)))))
    except InputError as error:
        return Examined(Checked(error.findings))


def _neither(file: str) -> Finding:
    return Finding(
        "unknown-document",
        Severity.ERROR,
        "this is neither a protocol nor a trial nor claims: it has no key 'protocol', 'trial' or "
        "'claims' at the top",
        "begin the file with 'protocol: NAME' or with 'trial: NAME'",
        Place(file, 1, 1),
    )
