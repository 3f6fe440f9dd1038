"""A pass over a folder: what is new or changed is analysed, and the store brought up to date."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from slackwater import __version__
from slackwater.analysis.archive.answer import ArchiveResult, PassCount
from slackwater.analysis.archive.asking import answer_of
from slackwater.analysis.archive.kept import Job, Kept, hash_now, keep
from slackwater.analysis.archive.looking import Looked, look_below
from slackwater.analysis.archive.names import clean, path_of
from slackwater.analysis.archive.running import run
from slackwater.analysis.archive.setting import Setting, check_keys, named
from slackwater.analysis.archive.store import Store, store_beside, writing
from slackwater.analysis.working.workers import Workers, hired
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from distributed import Client

BATCH = 24  # trials written at once
EVERY = 5.0  # [s] between writes, at most about
_LOADS = "slackwater.analysis.archive.warmed"
FEW = 2  # trials for which no worker is worth starting

#: Told after every trial: how many are done, of how many, and which.
Tell = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a folder is to be gone through.

    Attributes
    ----------
    store : Path or None
        Where the results are kept; None for beside the folder.
    again : bool
        Whether trials are analysed that have not changed.
    setting : dict of str
        Keys of the protocol set otherwise, beside the trials as declared.
    workers : int or None
        Processes; None for one a processor.
    address : str or None
        Of a Dask scheduler.
    client : distributed.Client or None
    reference : str
        Title of the reference boat, where there is one.
    """

    store: Path | None = None
    again: bool = False
    setting: Setting | None = None
    workers: int | None = None
    address: str | None = None
    client: Client | None = None
    reference: str = ""


def archive(folder: str | Path, wanted: Wanted, tell: Tell | None = None) -> ArchiveResult:
    """Bring the store of a folder up to date, and say what is in it.

    Raises
    ------
    InputError
        When the folder cannot be looked into, the store is in use or none, a setting fits no
        protocol, or the cluster cannot be reached.
    """
    folder = Path(folder)
    path = wanted.store or store_beside(folder)
    setting = wanted.setting or {}
    if setting:
        check_keys(setting)
    with writing(path) as store:
        looked = _looked(folder)
        with hired(wanted.workers, wanted.address, wanted.client, _LOADS) as workers:
            # What a setting changes is told against the trials as declared, so that these come first.
            passes = [_Pass(store, folder, looked, {}, wanted.again and not setting)]
            if setting:
                passes.append(_Pass(store, folder, looked, setting, wanted.again))
            counts = [each.go(workers, tell) for each in passes]
        name = clean(folder.name or str(folder))
        return answer_of(store, name, looked, named(setting), counts[-1], wanted.reference)


def _looked(folder: Path) -> Looked:
    try:
        return look_below(folder)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(
            [
                Finding(
                    "unreadable-folder",
                    Severity.ERROR,
                    f"the folder cannot be looked into: {reason}",
                    "give the folder that the trials are in",
                    Place(str(folder)),
                )
            ]
        ) from error


class _Pass:
    """One pass over the trials that were found, as declared or under a setting."""

    def __init__(
        self, store: Store, folder: Path, looked: Looked, setting: Setting, again: bool
    ) -> None:
        self._store, self._looked, self._setting, self._again = store, looked, setting, again
        self._folder = folder.resolve()
        self._known = store.known(named(setting))

    def go(self, workers: Workers, tell: Tell | None) -> PassCount:
        """Analyse what is to be done, write it as it comes, and count."""
        passed = self._store.begin(named(self._setting), again=self._again)
        new = [path for path in self._looked.trials if path not in self._known]
        changed = self._changed(passed)
        absent = self._mark()
        jobs = [Job(str(self._folder), path, self._setting) for path in (*new, *changed)]
        gone = self._write(self._done(jobs, workers), passed, len(jobs), tell)
        self._store.end(passed)
        return PassCount(
            passed=passed,
            new=len(new) - len(gone & set(new)),
            changed=len(changed) - len(gone & set(changed)),
            unchanged=len(self._looked.trials) - len(jobs),
            gone=len(absent) + len(gone),
        )

    def _changed(self, passed: str) -> list[str]:
        """Trials that are kept and have to be analysed anew."""
        found = set(self._looked.trials)
        done_now = self._store.analysed_in(passed) if self._again else set()
        out = {
            path
            for path, (_, tool, inputs, _) in self._known.items()
            if path in found
            and (tool != __version__ or not inputs or (self._again and path not in done_now))
        }
        out |= {path for path in self._other_inputs() if path in found}
        return sorted(out)

    def _other_inputs(self) -> Iterator[str]:
        """Trials of which an input is not what it was."""
        seen: dict[str, str] = {}
        for path, file, sha256 in self._store.inputs(named(self._setting)):
            if file not in seen:
                seen[file] = hash_now(file, self._folder)
            if seen[file] != sha256:
                yield path

    def _mark(self) -> list[str]:
        """Say which trials are there; those in folders that stayed closed are left as they are."""
        found = set(self._looked.trials)
        lost = [path for path in self._known if path not in found and not self._hidden(path)]
        back = [path for path, each in self._known.items() if path in found and not each[3]]
        newly = [path for path in lost if self._known[path][3]]
        self._store.mark_present(back, newly)
        return newly

    def _hidden(self, path: str) -> bool:
        return any(
            closed in (".", path) or path.startswith(f"{closed}/") for closed in self._looked.closed
        )

    def _done(self, jobs: list[Job], workers: Workers) -> Iterable[Kept]:
        if len(jobs) <= FEW and workers.client is None:
            return map(keep, jobs)
        return run(jobs, replace(workers, count=max(1, min(workers.count, len(jobs)))))

    def _write(self, kept: Iterable[Kept], passed: str, total: int, tell: Tell | None) -> set[str]:
        """Write trials as they come, some at a time; gives those that vanished meanwhile."""
        batch: list[Kept] = []
        gone: set[str] = set()
        last = time.monotonic()
        for number, each in enumerate(kept, start=1):
            if each.trial_read:
                batch.append(each)
            else:
                self._stop_if_there(each.path)
                gone.add(each.path)
            if tell is not None:
                tell(number, total, each.path)
            if len(batch) >= BATCH or time.monotonic() - last > EVERY:
                self._store.put(batch, passed)
                batch, last = [], time.monotonic()
        self._store.put(batch, passed)
        self._store.mark_present([], gone & set(self._known))
        return gone

    def _stop_if_there(self, path: str) -> None:
        """A trial that is there for us and not for the worker: they see other disks."""
        file = self._folder / path_of(path)
        if file.is_file():
            raise InputError(
                [
                    Finding(
                        "workers-see-no-file",
                        Severity.ERROR,
                        "a worker finds no such file, though it is here",
                        "put the folder where every worker has it under the same path",
                        Place(str(file)),
                    )
                ]
            )
