"""Trials given to workers and taken back, and what is kept of one that takes its worker along."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from slackwater import __version__
from slackwater.analysis.archive.columns import rows_to_table
from slackwater.analysis.archive.kept import Job, Kept, keep
from slackwater.analysis.archive.setting import named
from slackwater.analysis.working.giving_out import given_out
from slackwater.analysis.working.workers import Workers

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
    return (kept for _, kept in given_out(keep, jobs, workers, died))


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
