"""Jobs given to workers, a few at a time, and taken back as they are done.

No more are under way than keep the workers busy, so that memory does not grow with the number of
trials. A worker that dies takes its jobs with it: they are given out again, one at a time, and a job
that a worker dies of when it is alone is recorded as such.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    wait,
)

from slackwater import __version__
from slackwater.analysis.archive.columns import rows_to_table
from slackwater.analysis.archive.kept import Job, Kept, keep
from slackwater.analysis.archive.setting import named
from slackwater.analysis.archive.workers import Workers
from slackwater.protocol.findings import Finding, InputError, Severity

AHEAD = 2  # jobs that wait for each worker
QUIET = 30.0  # [s] without an answer, after which the workers are looked at
LOST = 4  # times quiet with nobody there, after which the work is broken off
_DIED = (
    "the process that analysed this ended without an answer, twice: most likely it ran out of "
    "memory; it is tried again at the next pass"
)


def run(jobs: Iterable[Job], workers: Workers) -> Iterator[Kept]:
    """Every job done, in the order of their ends.

    Raises
    ------
    InputError
        When there is nobody left to work.
    """
    left = iter(jobs)
    while True:
        lost: list[Job] = []
        yield from _round(left, workers, workers.count * (1 + AHEAD), lost)
        if not lost:
            return
        for job in lost:
            again: list[Job] = []
            yield from _round(iter([job]), workers, 1, again)
            if again:
                yield died(job)


def died(job: Job) -> Kept:
    """What is kept of a trial that no worker survived; the next pass tries it again."""
    head = {"path": job.path, "setting": named(job.setting)}
    row = {
        **head,
        "state": "broken",
        "present": True,
        "tool": __version__,
        "inputs": "",
        "message": _DIED,
    }
    return Kept(
        job.path, head["setting"], "broken", {"trials": rows_to_table("trials", [row])}, __version__
    )


def _round(jobs: Iterator[Job], workers: Workers, most: int, lost: list[Job]) -> Iterator[Kept]:
    """Jobs done until there are no more, or a worker died; then what was under way is in `lost`."""
    with workers.executor() as executor:
        under_way: dict[Future[Kept], Job] = {}
        while True:
            if not lost:
                _fill(executor, jobs, under_way, most, lost)
            if not under_way:
                return
            for future in _done(under_way, workers):
                job = under_way.pop(future)
                try:
                    kept = future.result()
                except (BrokenExecutor, CancelledError) as error:
                    if workers.client is not None and isinstance(error, CancelledError):
                        raise _nobody() from error
                    lost.append(job)
                except Exception as error:
                    if type(error).__name__ != "KilledWorker":
                        raise
                    yield died(job)  # Dask has tried it several times itself
                else:
                    yield kept


def _fill(
    executor: Executor,
    jobs: Iterator[Job],
    under_way: dict[Future[Kept], Job],
    most: int,
    lost: list[Job],
) -> None:
    while len(under_way) < most:
        job = next(jobs, None)
        if job is None:
            return
        try:
            under_way[executor.submit(keep, job)] = job
        except BrokenExecutor:
            lost.append(job)
            return


def _done(under_way: dict[Future[Kept], Job], workers: Workers) -> set[Future[Kept]]:
    """The next that are done; bounded waiting where nobody is there any more."""
    alone = 0
    while True:
        done, _ = wait(under_way, timeout=QUIET, return_when=FIRST_COMPLETED)
        if done:
            return done
        alone = 0 if workers.alive() else alone + 1
        if alone >= LOST:
            raise _nobody()


def _nobody() -> InputError:
    return InputError(
        [
            Finding(
                "workers-lost",
                Severity.ERROR,
                "the cluster has no workers any more, or its scheduler has gone",
                "start it again and repeat the command: what was done is kept",
            )
        ]
    )
