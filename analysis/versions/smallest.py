"""What a change of protocol does to the smallest difference that a trial sees, in the plan's terms.

Where noise is declared, the size itself is told. Where it is not, the ratio of the new size to the old
one is: it hangs on where the noise comes from and hardly on how much of it there is, so that the two
extremes, all of it between sessions and all of it between runs, hold what lies between.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from slackwater.protocol.findings import InputError

if TYPE_CHECKING:
    from slackwater.protocol.declared.protocol import Protocol

POWER = "90 %"  # as `plan` asks unless told otherwise
#: The noise supposed where none is declared, for the ratio alone. [of the value]
_SUPPOSED = (("sessions", "1 %", "0 %"), ("runs", "0 %", "1 %"))


@dataclass(frozen=True, slots=True)
class Smallest:
    """The smallest difference seen with a chance of 90 %, before and after.

    Parameters
    ----------
    quantity : str
    noise : str
        Where it comes from: "declared", or, supposed, "sessions" or "runs".
    old, new : float or None
        None where the design can tell nothing. [fraction, or the unit of a difference; of supposed
        noise only the ratio counts]
    unit : str
    """

    quantity: str
    noise: str
    old: float | None
    new: float | None
    unit: str = ""

    @property
    def ratio(self) -> float | None:
        """New over old. [1]"""
        return None if not self.old or self.new is None else self.new / self.old

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        known = self.noise == "declared"
        return {
            "quantity": self.quantity,
            "noise": self.noise,
            "old": self.old if known else None,
            "new": self.new if known else None,
            "ratio": self.ratio,
            "unit": self.unit,
        }


def smallest(old: Protocol, new: Protocol) -> tuple[Smallest, ...]:
    """For every quantity with noise declared in either version; else for the one that decides."""
    noise = {**old.noise, **new.noise}
    if not noise:
        return tuple(_supposed(old, new))
    before, after = (one.model_copy(update={"noise": noise}) for one in (old, new))
    return tuple(_compared(before, after, quantity, "declared", {}) for quantity in noise)


def _supposed(old: Protocol, new: Protocol) -> Iterator[Smallest]:
    declared = [*new.analysis.worthwhile, *old.analysis.worthwhile]
    quantity = next(iter(declared), "speed")
    for source, between, within in _SUPPOSED:
        wanted = {"between": between, "within": within, "effect": "1 %"}
        yield _compared(old, new, quantity, source, wanted)


def _compared(
    old: Protocol, new: Protocol, quantity: str, noise: str, wanted: dict[str, str]
) -> Smallest:
    (before, unit), (after, _) = (_seen(one, quantity, wanted) for one in (old, new))
    return Smallest(quantity, noise, before, after, unit)


def _seen(protocol: Protocol, quantity: str, wanted: dict[str, str]) -> tuple[float | None, str]:
    """The smallest difference that the declared design sees, and its unit."""
    from slackwater.analysis.planning.planning import options_of
    from slackwater.analysis.planning.power import SEED, Design
    from slackwater.analysis.planning.question import question_of
    from slackwater.analysis.planning.surface import Surface
    from slackwater.analysis.planning.wanted import Wanted

    design = Design(protocol.sessions.per_configuration, protocol.runs.double_runs)
    sessions = (max(design.sessions, 2),) * 2
    try:
        question = question_of(
            protocol,
            Wanted(quantity=quantity, power=POWER, sessions=sessions, **wanted),  # type: ignore[arg-type]
        )
    except InputError:
        # The version does not measure it, or the noise is in a unit that cannot be told.
        return None, ""
    if design.sessions < 2 and question.setting.prior is None:
        return None, question.unit
    surface = Surface(
        question.noise,
        question.setting,
        (design.sessions, design.sessions + 1),
        (design.double_runs, design.double_runs + 1),
        SEED,
    )
    (option,) = options_of(question, surface, [design])
    return option.detectable, question.unit
