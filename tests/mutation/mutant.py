"""Faulty protocols and trials: what a fault is, and how a whole set of them is drawn."""

from __future__ import annotations

import copy
import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

Data = dict[str, Any]


@dataclass(frozen=True)
class Subject:
    """Sound files: a protocol, or a trial with its runs.

    `protocol` and `trial` are plain data, every scalar a text; `rows` are the lines of the run
    table, the heading first. `kind` says which of them is looked at and broken.
    """

    name: str
    kind: str  # "protocol" or "trial"
    protocol: Data
    trial: Data = field(default_factory=dict)
    rows: tuple[str, ...] = ()

    def copy(self) -> Subject:
        return Subject(
            self.name,
            self.kind,
            copy.deepcopy(self.protocol),
            copy.deepcopy(self.trial),
            self.rows,
        )


@dataclass(frozen=True)
class Mutant:
    """A subject with one fault.

    `expected` are the rules any of which names the fault rightly.
    """

    fault: str
    about: str
    expected: frozenset[str]
    subject: Subject
    text: str = ""  # the whole file, where the fault is one of its YAML

    def key(self) -> str:
        """Two mutants of one key are the same."""
        return repr((self.subject.protocol, self.subject.trial, self.subject.rows, self.text))


Fault = Callable[[Subject, random.Random], Mutant | None]


def mutants(subject: Subject, faults: dict[str, Fault], count: int, seed: int) -> Iterator[Mutant]:
    """Draw different mutants, each fault in turn, until there are enough or no fault has more."""
    rng = random.Random(seed)
    waived = {entry["rule"] for entry in subject.protocol.get("waive", [])}
    seen: set[str] = {Mutant("", "", frozenset(), subject).key()}
    barren: dict[str, int] = dict.fromkeys(faults, 0)
    made = 0
    while made < count:
        alive = [name for name in faults if barren[name] < 25]
        if not alive:
            return
        for name in alive:
            if made >= count:
                return
            mutant = faults[name](subject.copy(), rng)
            # What the sound files waive with a reason is no fault of them.
            if mutant is None or mutant.expected <= waived or mutant.key() in seen:
                barren[name] += 1
                continue
            seen.add(mutant.key())
            made += 1
            yield mutant
