"""Who works: processes of this machine, or a Dask cluster. Both take jobs and give futures."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.working.needs import needed
from slackwater.protocol.findings import Finding, InputError, Place, Severity

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

    from distributed import Client

PATIENCE = 15.0  # [s] for a scheduler to answer and to have a worker


@dataclass(frozen=True, slots=True)
class Workers:
    """Who works.

    Attributes
    ----------
    count : int
        How many jobs are worked on at once.
    loads : str
        Name of the module that a worker begins with: importing it loads all that a job needs.
    client : distributed.Client or None
        Of a Dask cluster; None for processes of this machine.
    """

    count: int
    loads: str
    client: Client | None = None

    @contextmanager
    def executor(self) -> Iterator[Executor]:
        """Take jobs until the end of the block; what is still waiting then is dropped."""
        if self.client is not None:
            # The name of a job is its own: the same trial again is to be analysed again.
            yield self.client.get_executor(pure=False)  # type: ignore[no-untyped-call]
            return
        pool = _pool(self.count, self.loads)
        try:
            yield pool
        finally:
            pool.shutdown(wait=True, cancel_futures=True)

    def alive(self) -> bool:
        """Whether there is still anybody to work; asked when nothing has come for a while."""
        if self.client is None:
            return True
        return bool(_workers_of(self.client))


@contextmanager
def hired(
    count: int | None, address: str | None, client: Client | None, loads: str
) -> Iterator[Workers]:
    """Whoever is asked for: those of a client, of a scheduler, or processes of this machine.

    Parameters
    ----------
    count : int or None
        Processes; None for one a processor.
    address : str or None
        Of a Dask scheduler.
    client : distributed.Client or None
    loads : str
        As of `Workers`.

    Raises
    ------
    InputError
        When a cluster is asked for and cannot do it.
    """
    if client is not None:
        yield cluster(client, loads)
    elif address is not None:
        with scheduler(address, loads) as workers:
            yield workers
    else:
        yield processes(count, loads)


@contextmanager
def hired_if_asked(
    count: int | None, address: str | None, client: Client | None, loads: str
) -> Iterator[Workers | None]:
    """As `hired`; None, which is this process, where nobody is asked for, or one process is."""
    if client is None and address is None and count in (None, 1):
        yield None
        return
    with hired(count, address, client, loads) as workers:
        yield workers


def processes(count: int | None, loads: str) -> Workers:
    """As many processes as asked for, else one for each processor that this process may use."""
    if count is None:
        has = getattr(os, "sched_getaffinity", None)
        count = len(has(0)) if has else os.cpu_count() or 1
    return Workers(count, loads)


def cluster(client: Client, loads: str) -> Workers:
    """The workers of a Dask client.

    Raises
    ------
    InputError
        When there are none, or they run another version.
    """
    address = str(client.scheduler.address) if client.scheduler else "the client"
    try:
        client.wait_for_workers(1, timeout=PATIENCE)
    except TimeoutError as error:
        raise _refusal(
            address,
            "no-workers",
            f"the scheduler has no workers, and none came within {PATIENCE:g} s",
            "start workers with 'dask worker ADDRESS'",
        ) from error
    found = _workers_of(client)
    _stop_unless_alike(client, address, loads)
    return Workers(len(found), loads, client)  # threads of one worker take turns, see `kept.keep`


@contextmanager
def scheduler(address: str, loads: str) -> Iterator[Workers]:
    """The workers of a Dask scheduler, by its address.

    Raises
    ------
    InputError
        When it cannot be reached, or has no workers that can do it.
    """
    distributed = needed("distributed")
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, TimeoutError, ValueError) as error:
        raise _refusal(
            address,
            "scheduler-not-reached",
            f"no Dask scheduler answered within {PATIENCE:g} s",
            "look at the address, as in tcp://10.0.0.5:8786, and that 'dask scheduler' runs there; "
            "without --scheduler the work is done on this machine",
        ) from error
    try:
        yield cluster(client, loads)
    finally:
        client.close(timeout=PATIENCE)


def _workers_of(client: Client) -> dict[str, Any]:
    return dict(client.scheduler_info(n_workers=-1)["workers"])


def _stop_unless_alike(client: Client, address: str, loads: str) -> None:
    """Results of two versions in one pass would tell of no trial why it differs."""
    try:
        found = set(client.run(version_there, loads).values())
    except Exception as error:  # whatever the other side raised, by any of its libraries
        raise _refusal(
            address,
            "workers-cannot",
            f"slackwater does not run on the workers: {type(error).__name__}: {error}",
            f"install slackwater {__version__} there",
        ) from error
    if found != {__version__}:
        others = ", ".join(sorted(map(str, found - {__version__})))
        raise _refusal(
            address,
            "workers-differ",
            f"there are workers with slackwater {others}; here it is {__version__}",
            "install the same version everywhere",
        )


def version_there(loads: str) -> str:
    """The version where this runs, and all that a job needs loaded."""
    import_module(loads)
    return __version__


def _pool(count: int, loads: str) -> ProcessPoolExecutor:
    import multiprocessing
    from concurrent.futures import ProcessPoolExecutor

    # Threads of the linear algebra in each of several processes would only be in each other's way;
    # they are counted once, when the library is loaded, so it is said before a process starts.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    ways = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in ways else "spawn")
    context.set_forkserver_preload([loads])
    return ProcessPoolExecutor(count, mp_context=context, initializer=_begin, initargs=(loads,))


def _begin(loads: str) -> None:
    """In a new worker: load everything once, and end when whoever started it has ended."""
    import signal
    import warnings
    from multiprocessing import parent_process

    # Ctrl-C goes to every process of the terminal; the one that started this tells it to end.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if not sys.warnoptions:
        warnings.simplefilter("ignore")
    parent = parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()
    import_module(loads)


def _end_with(parent: Any) -> None:
    """A parent that was killed can tell nobody to end: its workers would wait for ever."""
    parent.join()
    os._exit(1)


def _refusal(address: str, rule: str, message: str, fix: str) -> InputError:
    return InputError([Finding(rule, Severity.ERROR, message, fix, Place(address))])
