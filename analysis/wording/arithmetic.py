"""Arithmetic that warns: a division by nought, an overflow. Told as a finding, never as a library's line."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager

from slackwater.protocol.findings import Finding, Severity

RULE = "arithmetic"


class Watched:
    """What the arithmetic of a block warned of."""

    def __init__(self) -> None:
        self.told: list[str] = []

    def findings(self) -> tuple[Finding, ...]:
        """One finding, where there was any warning."""
        if not self.told:
            return ()
        what = " and ".join(dict.fromkeys(self.told))
        return (
            Finding(
                RULE,
                Severity.WARNING,
                f"the arithmetic came to an end without a number ({what}); what depends on it is left "
                "out or untestable",
                "look for values far from all others, and for set points with hardly any runs",
            ),
        )


@contextmanager
def watched() -> Iterator[Watched]:
    """Collect warnings of the arithmetic; where they are made errors, as in tests, they raise.

    Warnings of other kinds are for whoever changes this program, and go no further.
    """
    found = Watched()
    with warnings.catch_warnings():
        if not any(each[0] == "error" and each[2] is RuntimeWarning for each in warnings.filters):
            warnings.simplefilter("always", RuntimeWarning)

        def collect(message: Warning | str, category: type[Warning], *_: object) -> None:
            if issubclass(category, RuntimeWarning):
                found.told.append(str(message))

        warnings.showwarning = collect  # type: ignore[assignment]
        yield found
