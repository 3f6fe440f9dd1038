"""Jobs given to workers, a few at a time, and taken back as they are done.

No more are under way than keep the workers busy, so that memory does not grow with the number of
jobs. A worker that dies takes its jobs with it: they are given out again, one at a time, so that the
one that a worker dies of is found.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    wait,
)
from dataclasses import dataclass, field
from typing import Generic, TypeVar

from slackwater.analysis.working.workers import Workers
from slackwater.protocol.findings import Finding, InputError, Severity

AHEAD = 2  # jobs that wait for each worker
QUIET = 30.0  # [s] without an answer, after which the workers are looked at
LOST = 4  # times quiet with nobody there, after which the work is broken off

Job = TypeVar("Job")
Made = TypeVar("Made")
_Numbered = tuple[int, Job]


def given_out(
    work: Callable[[Job], Made],
    jobs: Iterable[Job],
    workers: Workers,
    died: Callable[[Job], Made] | None = None,
) -> Iterator[tuple[int, Made]]:
    """Every job done, in the order of their ends, with its number from nought.

    Parameters
    ----------
    work : callable
        That workers can be sent: a function of a module that they have.
    jobs : iterable
    workers : Workers
    died : callable, optional
        What stands for a job that a worker died of, alone as well; the work is broken off where
        nothing does.

    Raises
    ------
    InputError
        When there is nobody left to work.
    """
    giving = _Giving(work, workers, died)
    left = iter(enumerate(jobs))
    while True:
        yield from giving.round(left, workers.count * (1 + AHEAD))
        if not giving.lost:
            return
        lost, giving.lost = giving.lost, []
        for number, job in lost:
            yield from giving.round(iter([(number, job)]), 1)
            if giving.lost:
                giving.lost = []
                yield number, giving.in_place_of(job)


def in_order(
    work: Callable[[Job], Made],
    jobs: Iterable[Job],
    workers: Workers | None,
    tell: Callable[[int], None] | None = None,
) -> Iterator[Made]:
    """Every job done, in the order of the jobs: the same whoever works, and however many.

    Parameters
    ----------
    work, jobs
        As of `given_out`. A job that draws at random has its seed with it.
    workers : Workers or None
        None for this process.
    tell : callable, optional
        Told how many are done, after each.

    Raises
    ------
    InputError
        As `given_out`; or when a worker dies of a job.
    """
    if workers is None:
        done: Iterable[tuple[int, Made]] = ((n, work(job)) for n, job in enumerate(jobs))
    else:
        done = given_out(work, jobs, workers)
    early: dict[int, Made] = {}
    turn = 0
    for count, (number, made) in enumerate(done, start=1):
        early[number] = made
        if tell is not None:
            tell(count)
        while turn in early:
            yield early.pop(turn)
            turn += 1


@dataclass
class _Giving(Generic[Job, Made]):
    """What is done to each job, by whom, and which jobs a worker took along."""

    work: Callable[[Job], Made]
    workers: Workers
    died: Callable[[Job], Made] | None
    lost: list[_Numbered[Job]] = field(default_factory=list)

    def round(self, jobs: Iterator[_Numbered[Job]], most: int) -> Iterator[tuple[int, Made]]:
        """Jobs done until there are no more, or a worker died; then what was under way is lost."""
        with self.workers.executor() as executor:
            under_way: dict[Future[Made], _Numbered[Job]] = {}
            while True:
                if not self.lost:
                    self._fill(executor, jobs, under_way, most)
                if not under_way:
                    return
                for future in _done(under_way, self.workers):
                    number, job = under_way.pop(future)
                    try:
                        made = future.result()
                    except (BrokenExecutor, CancelledError) as error:
                        if self.workers.client is not None and isinstance(error, CancelledError):
                            raise _nobody() from error
                        self.lost.append((number, job))
                    except Exception as error:
                        if type(error).__name__ != "KilledWorker":
                            raise
                        yield (
                            number,
                            self.in_place_of(job),
                        )  # Dask has tried it several times itself
                    else:
                        yield number, made

    def _fill(
        self,
        executor: Executor,
        jobs: Iterator[_Numbered[Job]],
        under_way: dict[Future[Made], _Numbered[Job]],
        most: int,
    ) -> None:
        while len(under_way) < most:
            numbered = next(jobs, None)
            if numbered is None:
                return
            try:
                under_way[executor.submit(self.work, numbered[1])] = numbered
            except BrokenExecutor:
                self.lost.append(numbered)
                return

    def in_place_of(self, job: Job) -> Made:
        """What stands for a job that no worker survived."""
        if self.died is not None:
            return self.died(job)
        raise _refused(
            "worker-died",
            "a process that computed ended without an answer, twice: most likely it ran out of memory",
            "try again with fewer workers",
        )


def _done(under_way: Iterable[Future[Made]], workers: Workers) -> set[Future[Made]]:
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
    return _refused(
        "workers-lost",
        "the cluster has no workers any more, or its scheduler has gone",
        "start it again and repeat the command: what was done and kept is not done again",
    )


def _refused(rule: str, message: str, fix: str) -> InputError:
    return InputError([Finding(rule, Severity.ERROR, message, fix)])
