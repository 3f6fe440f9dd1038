"""The front door in Python: one call for each question, each giving an answer that prints itself."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd
    from distributed import Client

    from slackwater.analysis.archive.answer import ArchiveResult
    from slackwater.analysis.audit.outcome import AuditResult
    from slackwater.analysis.checking.check_result import CheckResult
    from slackwater.analysis.handling.tries_result import TriesResult
    from slackwater.analysis.logs.logs_result import LogsResult
    from slackwater.analysis.many.method_result import MethodResult
    from slackwater.analysis.many.pool_result import PoolResult
    from slackwater.analysis.planning.noise_result import NoiseResult
    from slackwater.analysis.planning.plan_model import Plan
    from slackwater.analysis.result.result import Result
    from slackwater.analysis.statement.contents import Statement
    from slackwater.analysis.steady.cut_result import CutResult
    from slackwater.analysis.versions.since import SinceResult
    from slackwater.protocol.claims.claim import Claims
    from slackwater.protocol.declared.protocol import Protocol

Named = str | Path


def analyse(trial: Named, *, cross_check: bool = False) -> Result:
    """Which differences of a trial are real?

    Parameters
    ----------
    trial : str or Path
        The trial's YAML file.
    cross_check : bool
        Also put the session values through a mixed model and t-tests of other libraries.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.pipeline import analyse as run

    return run(trial, cross_check=cross_check)


def statement(trial: Named) -> Statement:
    """What may be printed of a trial?

    Parameters
    ----------
    trial : str or Path
        The trial's YAML file.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.statement.contents import statement_of

    return statement_of(analyse(trial))


def check(*files: Named) -> CheckResult:
    """Can a method work, and was a trial run so?

    Parameters
    ----------
    *files : str or Path
        Protocols, trials, claims and seals. What is wrong with a file is a finding, never an
        exception.
    """
    from slackwater.analysis.checking.check_result import checked_files
    from slackwater.analysis.checking.examine import examine

    return checked_files([examine(str(file)) for file in dict.fromkeys(files)])


def since(new: Named, old: Named, *trials: Named) -> SinceResult:
    """What changed from one version of a protocol to another, and which trials satisfy the newer?

    Parameters
    ----------
    new, old : str or Path
        The two versions' YAML files, or the id of one that is shipped.
    *trials : str or Path
        Trials run to the older version.

    Raises
    ------
    InputError
        With everything that keeps a file from being used.
    """
    from slackwater.analysis.versions.since import since as run

    return run(str(new), str(old), [str(trial) for trial in trials])


def plan(
    protocol: Named | Protocol,
    *,
    seed: int | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    client: Client | None = None,
    **wanted: Any,
) -> Plan:
    """How many sessions and repeats, at what cost?

    Parameters
    ----------
    protocol : str, Path or Protocol
        Its YAML file, the id of one that is shipped, or one that is loaded.
    seed : int, optional
        Of the simulated trials.
    workers : int, optional
        Processes that simulate; this one alone when not given. The plan is the same.
    scheduler : str, optional
        Address of a Dask scheduler whose workers simulate.
    client : distributed.Client, optional
        The same, where a program has one.
    **wanted
        What the options of `slackwater plan` say, under the same names: `quantity="economy"`,
        `effect="3 %"`, `power="90 %"`, `between="0.6 %"`, `sessions=(2, 6)` and so on; see
        `slackwater.analysis.planning.wanted.Wanted`.

    Raises
    ------
    InputError
        When the protocol or what is wanted cannot be used, or a cluster cannot be reached.
    TypeError
        For a name that is none of `Wanted`.
    """
    from slackwater.analysis.planning.planning import make_plan
    from slackwater.analysis.planning.power import SEED
    from slackwater.analysis.planning.question import question_of
    from slackwater.analysis.planning.surface import LOADS
    from slackwater.analysis.planning.wanted import Wanted
    from slackwater.analysis.working.workers import hired_if_asked
    from slackwater.protocol.declared.protocol import Protocol as Loaded
    from slackwater.protocol.declared.protocol import load_protocol
    from slackwater.protocol.sealing.said import seal_said

    loaded = protocol if isinstance(protocol, Loaded) else load_protocol(protocol)
    question = question_of(loaded, Wanted(**wanted))
    with hired_if_asked(workers, scheduler, client, LOADS) as helpers:
        made = make_plan(
            question,
            SEED if seed is None else seed,
            protocol=f"{loaded.protocol} {loaded.version}",
            workers=helpers,
        )
    return replace(made, seal=seal_said(loaded.document))


def audit(
    claims: Named | Claims,
    *,
    noise: Named | None = None,
    between: str | None = None,
    reply: Named | None = None,
    pool: Named | None = None,
) -> AuditResult:
    """Does a published figure hold?

    Parameters
    ----------
    claims : str, Path or Claims
        The claims' YAML file, or claims made in Python.
    noise : str or Path, optional
        A file of noise, as `slackwater noise` writes it.
    between : str, optional
        Standard deviation between sessions to reckon with, such as '0.6 %' or '0.4 to 1 %'.
    reply : str or Path, optional
        The form that came with a letter, filled in by the author.
    pool : str or Path, optional
        A pool file, which the claims are held against in place of a trial.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.audit.auditing import audit as run

    return run(claims, noise=noise, between=between, reply=reply, pool=pool)


def noise(*trials: Named, quantity: str | None = None) -> NoiseResult:
    """What is the scatter of trials made of?

    Parameters
    ----------
    *trials : str or Path
        Past trials' YAML files.
    quantity : str, optional
        This one alone, such as "speed".

    Raises
    ------
    InputError
        When a trial cannot be used, with what is wrong with each; or when the trials give nothing
        of the quantity.
    """
    from slackwater.analysis.planning.noise_trials import noise_of_trials

    return noise_of_trials(trials, quantity=quantity)


def method(
    *trials: Named, by: str | None = None, reference: str | None = None, quantity: str = "speed"
) -> MethodResult:
    """How good is the method that trials were run by?

    Parameters
    ----------
    *trials : str or Path
        Past trials' YAML files.
    by : str, optional
        What noise is grouped by: "boat", "sea", "season" or "crew".
    reference : str, optional
        Title of a boat that was left as she is, for a control chart.
    quantity : str
        That she is watched in.

    Raises
    ------
    InputError
        When a trial cannot be used, with what is wrong with each, or `by` is none of these.
    """
    from slackwater.analysis.many.method_trials import method_of_trials

    return method_of_trials(trials, by=by, reference=reference, quantity=quantity)


def pool(
    *trials: Named,
    align: str | None = None,
    at: Sequence[float] | None = None,
    heterogeneity: str | None = None,
) -> PoolResult:
    """What do trials of the same change on several boats come to together?

    Parameters
    ----------
    *trials : str or Path
        Trials' YAML files, or one pool file.
    align : str, optional
        What makes places on different boats the same: "set points", "froude" or "top speed".
    at : sequence of float, optional
        Froude numbers, or parts of the top speed, to compare at.
    heterogeneity : str, optional
        "paule-mandel" or "reml".

    Raises
    ------
    InputError
        When the pool cannot be read or no trial is left. A trial that cannot be used is told and
        does not stop the rest.
    """
    from slackwater.analysis.many.pooled_trials import pool_trials

    return pool_trials(trials, align=align, at=at, heterogeneity=heterogeneity)


def archive(
    folder: Named,
    *,
    store: Named | None = None,
    again: bool = False,
    setting: Mapping[str, str] | None = None,
    reference: str = "",
    workers: int | None = None,
    client: Client | None = None,
) -> ArchiveResult:
    """What do all the trials below a folder say, and what changed?

    What is new or changed is analysed; what was found is kept and can be asked (`ArchiveResult.sql`,
    `archived`). Processes are started for it: a script calls it below `if __name__ == "__main__":`.

    Parameters
    ----------
    folder : str or Path
    store : str or Path, optional
        Where the results are kept; else beside the folder.
    again : bool
        Analyse every trial, and tell which verdicts differ.
    setting : mapping, optional
        Keys of the protocol set otherwise, such as {"analysis.confidence": "99 %"}.
    reference : str
        Title of the boat that is left as she is, for control charts and precision.
    workers : int, optional
        Processes; one for each processor when left out.
    client : distributed.Client, optional
        Of a Dask cluster whose workers see the same files.

    Raises
    ------
    InputError
        When the folder or the store cannot be used; trials that cannot are told in the answer.
    """
    from slackwater.analysis.archive.archiving import Wanted
    from slackwater.analysis.archive.archiving import archive as run

    place = None if store is None else Path(store)
    wanted = Wanted(place, again, dict(setting or {}), workers, client=client, reference=reference)
    return run(folder, wanted)


def archived(store: Named, query: str) -> pd.DataFrame:
    """What does the store of an archive answer to a query in SQL?

    Parameters
    ----------
    store : str or Path
        The file beside the folder, or where it was told to be.
    query : str
        As DuckDB takes it; it can read and nothing else.

    Raises
    ------
    InputError
        When the store cannot be read, or the query is none that reads.
    """
    from slackwater.analysis.archive.store import asked

    return asked(Path(store), query)


def logs(*files: Named) -> LogsResult:
    """What did the instruments write?

    Parameters
    ----------
    *files : str or Path
        Logs as instrument or logger wrote them, also as gzip or zip. Their form is seen from their
        content.

    Raises
    ------
    InputError
        When a file cannot be used, with what is wrong with each.
    """
    from slackwater.analysis.logs.forms import read_logs
    from slackwater.analysis.logs.logs_result import LogsResult

    return LogsResult(tuple(read_logs(*files)))


def cut(
    trial: Named,
    *logs: Named,
    plan: Named | None = None,
    sources: Mapping[str, Sequence[str]] | None = None,
    ahead_of_utc: timedelta | None = None,
) -> CutResult:
    """Which runs of a trial are in its logs?

    Parameters
    ----------
    trial : str or Path
        The trial's YAML file; its run table need not be there.
    *logs : str or Path
        As for `logs`; without any, those that the trial names.
    plan : str or Path, optional
        The prepared run table, which tells the order of the runs where nothing held was recorded.
    sources : mapping, optional
        Sources to take, by quantity; several are several engines.
    ahead_of_utc : timedelta, optional
        Of the clock that the trial is told by. This and the two above are the trial's own, where they
        are not given.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.steady.trial_runs import cut_own
    from slackwater.protocol.declared.trial import load_trial

    return cut_own(load_trial(trial), logs, plan=plan, sources=sources, ahead_of_utc=ahead_of_utc)


def tries(
    trial: Named,
    *logs: Named,
    sources: Mapping[str, Sequence[str]] | None = None,
    ahead_of_utc: timedelta | None = None,
) -> TriesResult:
    """Which tries of a trial's manoeuvres are in its logs, and what did each give?

    Parameters
    ----------
    trial : str or Path
        The trial's YAML file, whose protocol has manoeuvres; its tables need not be there.
    *logs : str or Path
        As for `logs`; without any, those that the trial names.
    sources : mapping, optional
        Sources to take, by quantity.
    ahead_of_utc : timedelta, optional
        Of the clock that the trial is told by. This and the one above are the trial's own, where they
        are not given.

    Raises
    ------
    InputError
        With everything that keeps the input from being used.
    """
    from slackwater.analysis.handling.trial_tries import tries_in
    from slackwater.protocol.declared.trial import load_trial

    return tries_in(load_trial(trial), logs, sources=sources, ahead_of_utc=ahead_of_utc)
