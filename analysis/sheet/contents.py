"""What stands on a run sheet, before it is a page, a table or text."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from slackwater.analysis.sheet.try_rows import MANOEUVRE_CAUTIONS
from slackwater.analysis.wording.numbers import unit_text
from slackwater.protocol.catalogue.measures import CONDITIONS, LOADING
from slackwater.protocol.declared.limits import Limit
from slackwater.protocol.rules._breaches import unit_of
from slackwater.protocol.schedule.planned import Schedule, Seat
from slackwater.protocol.schedule.run_limits import RunLimits, limits_of
from slackwater.protocol.sealing.said import seal_said
from slackwater.protocol.units.quantity import Quantity

if TYPE_CHECKING:
    from slackwater.protocol.declared.manoeuvres import Manoeuvre
    from slackwater.protocol.declared.protocol import Protocol
    from slackwater.protocol.declared.ratings import Ratings
    from slackwater.protocol.declared.trial import Trial

#: Said on every sheet, whatever the protocol says.
FIRST_CAUTION = (
    "A plan, not an order: local rules, the skipper and licensed practice come before this sheet."
)
#: For a protocol that brings no cautions of its own; the usual ones, common practice.
USUAL_CAUTIONS = (
    "Keep to the local rules on speed, wash and traffic, and to the room that others need.",
    "The skipper decides, and may change or call off any run at any time.",
    "One person steers and keeps the lookout and does nothing else; another notes the readings.",
    "Lifejackets on, kill cord worn. Warn all aboard before the speed is changed.",
    "Keep fuel for the way home and a reserve, whatever the plan says.",
    "Work on engine, fuel, electrics and propeller is for those licensed to do it, engine stopped.",
    "Stop when anything aboard, on the water or in the weather is not as it should be.",
)


@dataclass(frozen=True, slots=True)
class Reading:
    """A quantity to be read on every run."""

    name: str
    title: str
    unit: str


@dataclass(frozen=True, slots=True)
class Noted:
    """Something to be noted once a session, with the limit on it where there is one."""

    name: str
    title: str
    limit: str
    unit: str = ""  # empty where it is a count


@dataclass(frozen=True, slots=True)
class Fitted:
    """A configuration in the legend: its letter, its name and title, and what is fitted as far as the trial says."""

    letter: str
    name: str
    title: str
    details: str = ""


@dataclass(frozen=True, slots=True)
class SheetContents:
    """All that a run sheet says."""

    trial: str  # id of the trial; empty for a sheet made from a protocol alone
    title: str
    boat: str
    protocol: str
    version: str
    current: str
    cautions: tuple[str, ...]
    schedule: Schedule
    configurations: dict[str, str]  # titles by name
    readings: tuple[Reading, ...]
    noted: tuple[Noted, ...]
    limits: dict[float, RunLimits]  # by set point
    reciprocal_within: Quantity
    assumed: tuple[str, ...] = ()  # what was not given and had to be assumed
    seal: str = ""  # what a seal says of the protocol; empty without one
    fitted: tuple[Fitted, ...] = ()
    ratings: Ratings | None = None  # what people score after each session
    manoeuvres: Mapping[str, Manoeuvre] = field(default_factory=dict)

    @property
    def legend(self) -> str:
        """What the letters of the order stand for."""
        told = {
            each.letter: self.configurations[each.configuration] for each in self.schedule.sessions
        }
        usual = {"A": "the baseline", "B": "the modified"}
        named = {
            letter: usual.get(letter, name) if name == letter else name
            for letter, name in told.items()
        }
        return ", ".join(f"{letter} is {name}" for letter, name in sorted(named.items()))

    @property
    def level_fuel(self) -> bool:
        """Whether the load is limited and no stops to fill up are planned."""
        limited = {noted.name for noted in self.noted} & {"displacement", "fuel", "draught"}
        return self.schedule.fuel is None and bool(limited)


def sheet_contents(
    protocol: Protocol,
    schedule: Schedule,
    trial: Trial | None = None,
    assumed: tuple[str, ...] = (),
) -> SheetContents:
    """Gather what a sheet says.

    Parameters
    ----------
    protocol : Protocol
    schedule : Schedule
    trial : Trial, optional
        Gives the sheet its title, and the configurations theirs.
    assumed : tuple of str
        What was assumed in the schedule.
    """
    given = tuple(caution for caution in protocol.cautions if caution != FIRST_CAUTION)
    names = {session.configuration: session.configuration for session in schedule.sessions}
    if trial is not None:
        names |= {name: each.title or name for name, each in trial.configurations.items()}
    return SheetContents(
        trial=trial.trial if trial else "",
        title=(trial.title or trial.trial) if trial else (protocol.title or protocol.protocol),
        boat=trial.boat.title if trial else "",
        protocol=protocol.protocol,
        version=protocol.version,
        current=protocol.analysis.current,
        cautions=(
            FIRST_CAUTION,
            *(MANOEUVRE_CAUTIONS if protocol.manoeuvres else ()),
            *(given or USUAL_CAUTIONS),
        ),
        schedule=schedule,
        configurations=names,
        readings=tuple(
            Reading(name, protocol.measure(name).title, protocol.measure(name).unit)
            for name in protocol.measures
        ),
        noted=tuple(
            Noted(name, name.replace("_", " "), limit_text(limit), noted_unit(name, limit))
            for name, limit in protocol.limits.items()
        ),
        limits={point: limits_of(protocol, point) for point in protocol.set_point_values},
        reciprocal_within=protocol.runs.reciprocal_within,
        assumed=assumed,
        seal=seal_said(protocol.document, *([trial.folder] if trial else [])).sentence,
        fitted=_fitted(schedule, names, trial),
        ratings=protocol.ratings,
        manoeuvres=protocol.manoeuvres,
    )


def _fitted(schedule: Schedule, names: dict[str, str], trial: Trial | None) -> tuple[Fitted, ...]:
    letters = {each.letter: each.configuration for each in schedule.sessions}
    found = []
    for letter, name in sorted(letters.items()):
        declared = trial.configurations.get(name) if trial else None
        parts = []
        if declared is not None:
            parts = [
                f"propeller {declared.propeller}" if declared.propeller else "",
                f"pitch {declared.propeller_pitch}" if declared.propeller_pitch else "",
                f"diameter {declared.propeller_diameter}" if declared.propeller_diameter else "",
                f"gear ratio {declared.gear_ratio:g}" if declared.gear_ratio else "",
                declared.note,
            ]
        found.append(Fitted(letter, name, names[name], ", ".join(part for part in parts if part)))
    return tuple(found)


def limit_text(limit: Limit) -> str:
    """A limit as the crew read it.

    Examples
    --------
    >>> limit_text(Limit(within=Quantity(5.0, "delta_degC")))
    'alike within 5 °C in all sessions'
    """
    if limit.same:
        return "the same in all sessions"
    words = str(limit).split(" ")
    text = " ".join(unit_text(word) for word in words)
    return f"alike {text} in all sessions" if limit.within is not None else text


def noted_unit(name: str, limit: Limit) -> str:
    """The unit in which a condition is noted: that of its limit, else the usual one.

    Examples
    --------
    >>> noted_unit("displacement", Limit(within=Quantity(1.0, "%"))), noted_unit("crew", Limit(same=True))
    ('kg', '')
    """
    usual = {**CONDITIONS, **LOADING}.get(name, ("",))[0].removesuffix("count")
    found = unit_of(limit, usual)
    return "" if found == "1" else found


def trial_seats(trial: Trial) -> list[Seat]:
    """The sessions of a trial with the letters of their configurations: A the baseline.

    Empty when the trial declares none yet.
    """
    letters = {name: letter for letter, name in configuration_letters(trial).items()}
    return [
        Seat(
            session.id,
            session.configuration,
            letters[session.configuration],
            session.date
            or (session.start.date() if session.start and hasattr(session.start, "date") else None),
        )
        for session in trial.sessions
    ]


def configuration_letters(trial: Trial) -> dict[str, str]:
    """The configurations of a trial by their letter: A the first baseline, B its modified, …"""
    compared = [name for pair in trial.comparisons for name in (pair.baseline, pair.modified)]
    names = list(dict.fromkeys([*compared, *trial.configurations]))
    return {chr(ord("A") + place): name for place, name in enumerate(names)}
