"""Long work says where it is: on standard error, and only when it is long."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import threading

FIRST, EVERY = 2.0, 5.0  # seconds of silence before the first word, and between two


class _Clock:
    """Says the latest that was told, from a thread of its own: one step may take minutes."""

    def __init__(self, say: Callable[[str], None]) -> None:
        self._say = say
        self._at = ""
        self._ended: threading.Event | None = None

    def tell(self, text: str) -> None:
        self._at = text
        if self._ended is None:
            import threading

            self._ended = threading.Event()
            threading.Thread(target=self._run, args=(self._ended,), daemon=True).start()

    def end(self) -> None:
        if self._ended is not None:
            self._ended.set()

    def _run(self, ended: threading.Event) -> None:
        pause = FIRST
        while not ended.wait(pause):
            self._say(f"slackwater: {self._at} …")
            pause = EVERY


_CLOCK: ContextVar[_Clock | None] = ContextVar("progress", default=None)


@contextmanager
def told(say: Callable[[str], None]) -> Iterator[None]:
    """Within the block long work is told to `say`; outside of one it is silent, as in Python."""
    clock = _Clock(say)
    token = _CLOCK.set(clock)
    try:
        yield
    finally:
        clock.end()
        _CLOCK.reset(token)


def progress(text: str) -> None:
    """Say what is being done, such as "trial 3 of 12"."""
    clock = _CLOCK.get()
    if clock is not None:
        clock.tell(text)
