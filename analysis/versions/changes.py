"""What two versions of a protocol differ in, and whether the newer asks more of a trial or less.

Stricter is what lets fewer trials in: a limit more or a narrower one, more runs, more sessions, an
instrument that errs less. Looser is the opposite. Where neither can be said, because another thing is
asked (another order, another way with the current), the change is told as different.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from slackwater.protocol.units.quantity import Quantity, QuantityError

if TYPE_CHECKING:
    from slackwater.protocol.declared.limits import Limit
    from slackwater.protocol.declared.protocol import Protocol


class Sense(StrEnum):
    """Which way a change goes."""

    STRICTER = "stricter"
    LOOSER = "looser"
    DIFFERENT = "different"
    WORDS = "words only"


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed.

    Parameters
    ----------
    key : str
        Dotted path in the file.
    old, new : str
        As people read it; empty where it is not declared.
    sense : Sense
    """

    key: str
    old: str
    new: str
    sense: Sense

    def to_dict(self) -> dict[str, str | None]:
        """As the JSON carries it."""
        return {
            "key": self.key,
            "old": self.old or None,
            "new": self.new or None,
            "sense": self.sense.value,
        }


def changes(old: Protocol, new: Protocol) -> tuple[Change, ...]:
    """Everything that differs, in the order of the file."""
    return tuple(
        one
        for part in (_plain, _limits, _set_points, _measures, _worthwhile, _noise, _waivers)
        for one in part(old, new)
    )


def _sense(rises: bool, up: Sense) -> Sense:
    down = Sense.LOOSER if up is Sense.STRICTER else Sense.STRICTER
    return up if rises else down


# --- keys with one value -------------------------------------------------------------------------

#: Keys of which more is stricter, and of which less is; compared as quantities or numbers.
MORE_IS_STRICTER = (
    "runs.double_runs",
    "runs.steady.settle",
    "runs.steady.record",
    "sessions.per_configuration",
    "analysis.confidence",
)
LESS_IS_STRICTER = ("runs.reciprocal_within", "runs.set_points.hold")
#: Words in the order in which they ask more and more.
ASKING_MORE: dict[str, tuple[str, ...]] = {
    "runs.directions": ("one_way", "reciprocal"),
    "runs.first_direction": ("fixed", "alternate"),
    "runs.set_point_order": ("descending", "ascending", "shuffled"),
    "analysis.family": ("single", "set_points", "all"),
    "analysis.limits_broken": ("report", "untestable"),
}
#: Both stand for no order among the set points, so that neither asks more.
_ALIKE = {"descending", "ascending"}
DIFFERENT = (
    "runs.set_points.of",
    "sessions.order",
    "sessions.block",
    "sessions.afloat",
    "analysis.decides",
    "analysis.current",
    "analysis.trend",
    "analysis.loading",
    "analysis.speeds",
    "analysis.cruise",
    "analysis.looks",
    "ratings",
    "manoeuvres",
)
WORDS = (
    "version",
    "title",
    "sources",
    "cautions",
    "expected",
    "sessions.fitted",
    "sessions.change",
)


def _plain(old: Protocol, new: Protocol) -> Iterator[Change]:
    for key in (*WORDS, *MORE_IS_STRICTER, *LESS_IS_STRICTER, *ASKING_MORE, *DIFFERENT):
        before, after = _at(old, key), _at(new, key)
        if before != after:
            yield Change(key, _text(before), _text(after), _of_plain(key, before, after))


def _of_plain(key: str, before: Any, after: Any) -> Sense:
    if key in WORDS:
        return Sense.WORDS
    if key in ASKING_MORE:
        if {before, after} == _ALIKE:
            return Sense.DIFFERENT
        ranks = ASKING_MORE[key]
        return _sense(ranks.index(after) > ranks.index(before), Sense.STRICTER)
    if key in DIFFERENT:
        return Sense.DIFFERENT
    return _of_size(before, after, Sense.STRICTER if key in MORE_IS_STRICTER else Sense.LOOSER)


def _of_size(before: Any, after: Any, more: Sense) -> Sense:
    """The sense of a size that went up or down, came or went; different where it cannot be told."""
    if before is None or after is None:
        return Sense.STRICTER if before is None else Sense.LOOSER
    try:
        high = after.to(before.unit).value if isinstance(after, Quantity) else after
        low = before.value if isinstance(before, Quantity) else before
    except QuantityError:
        return Sense.DIFFERENT
    if abs(high - low) <= 1e-9 * max(abs(high), abs(low)):
        return Sense.WORDS  # the same in another unit
    return _sense(high > low, more)


def _at(protocol: Protocol, key: str) -> Any:
    found: Any = protocol
    for step in key.split("."):
        found = getattr(found, step)
    return found


def _text(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {_text(one)}" for key, one in value.items())
    if isinstance(value, tuple | list):
        return ", ".join(_text(one) for one in value)
    if hasattr(value, "model_dump"):
        return ", ".join(
            f"{key} {_text(getattr(value, key))}"
            for key in type(value).model_fields
            if getattr(value, key) is not None
        )
    return str(value)


# --- limits --------------------------------------------------------------------------------------


def _limits(old: Protocol, new: Protocol) -> Iterator[Change]:
    for group in ("loading", "conditions"):
        before, after = getattr(old, group), getattr(new, group)
        for name in dict.fromkeys([*before, *after]):
            one, other = before.get(name), after.get(name)
            if one != other:
                sense = of_limits(one, other)
                yield Change(f"{group}.{name}", _text(one), _text(other), sense)


def of_limits(before: Limit | None, after: Limit | None) -> Sense:
    """Whether one limit lets in less than another."""
    if before is None or after is None:
        return Sense.STRICTER if before is None else Sense.LOOSER
    if before.compares != after.compares:
        return Sense.DIFFERENT
    if before.compares:
        if before.same or after.same:
            return Sense.STRICTER if after.same else Sense.LOOSER
        return _of_size(before.within, after.within, Sense.LOOSER)
    senses = {
        _of_bound(before_end, after_end, more)
        for before_end, after_end, more in zip(
            _ends(before), _ends(after), (Sense.STRICTER, Sense.LOOSER), strict=True
        )
    } - {Sense.WORDS}
    return senses.pop() if len(senses) == 1 else Sense.DIFFERENT if senses else Sense.WORDS


def _ends(limit: Limit) -> tuple[Quantity | None, Quantity | None]:
    """The lower and the upper bound, where there is one."""
    if limit.between is not None:
        return limit.between
    return limit.at_least, limit.at_most


def _of_bound(before: Quantity | None, after: Quantity | None, more: Sense) -> Sense:
    return Sense.WORDS if before is after is None else _of_size(before, after, more)


# --- what is run and read ------------------------------------------------------------------------


def _set_points(old: Protocol, new: Protocol) -> Iterator[Change]:
    before, after = old.runs.set_points.values, new.runs.set_points.values
    if before == after:
        return
    gone = [one for one in before if not _among(one, after)]
    come = [one for one in after if not _among(one, before)]
    sense = Sense.DIFFERENT if gone and come else Sense.STRICTER if come else Sense.LOOSER
    if not gone and not come:
        sense = Sense.WORDS
    yield Change("runs.set_points.values", _text(before), _text(after), sense)


def _among(value: Quantity, others: tuple[Quantity, ...]) -> bool:
    return any(_of_size(one, value, Sense.STRICTER) is Sense.WORDS for one in others)


def _measures(old: Protocol, new: Protocol) -> Iterator[Change]:
    for name in dict.fromkeys([*old.measures, *new.measures]):
        before, after = old.measures.get(name), new.measures.get(name)
        if before is None or after is None:
            sense = Sense.STRICTER if before is None else Sense.LOOSER
            yield Change(f"measures.{name}", _text(before), _text(after), sense)
            continue
        for key in type(before).model_fields:
            one, other = getattr(before, key), getattr(after, key)
            if one != other:
                sense = Sense.DIFFERENT
                if key == "standard_uncertainty":
                    sense = _of_size(one, other, Sense.LOOSER)
                yield Change(f"measures.{name}.{key}", _text(one), _text(other), sense)


# --- what is said beforehand ---------------------------------------------------------------------


def _named(
    key: str, before: Mapping[str, Any], after: Mapping[str, Any], sense: Sense
) -> Iterator[Change]:
    for name in dict.fromkeys([*before, *after]):
        one, other = before.get(name), after.get(name)
        if one != other:
            yield Change(f"{key}.{name}", _text(one), _text(other), sense)


def _worthwhile(old: Protocol, new: Protocol) -> Iterator[Change]:
    """What matters is neither strict nor loose: a smaller size is reached sooner, equalled later."""
    yield from _named(
        "analysis.worthwhile", old.analysis.worthwhile, new.analysis.worthwhile, Sense.DIFFERENT
    )


def _noise(old: Protocol, new: Protocol) -> Iterator[Change]:
    yield from _named("noise", old.noise, new.noise, Sense.DIFFERENT)


def _waivers(old: Protocol, new: Protocol) -> Iterator[Change]:
    before = {one.rule: one.reason for one in old.waive}
    after = {one.rule: one.reason for one in new.waive}
    for rule in dict.fromkeys([*before, *after]):
        one, other = before.get(rule, ""), after.get(rule, "")
        if one == other:
            continue
        sense = Sense.WORDS if one and other else Sense.STRICTER if one else Sense.LOOSER
        yield Change(f"waive.{rule}", one, other, sense)
