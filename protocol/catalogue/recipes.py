"""What derived quantities are made of, read off the catalogue: the one place that knows it."""

from __future__ import annotations

from collections.abc import Collection

from slackwater.protocol.catalogue.measures import MEASURES, Recipe

#: Measures that a run's own figures give, where they are not measured themselves.
OF_A_RUN: dict[str, Recipe] = {
    "speed_over_ground": Recipe({"timed_distance": 1, "elapsed_time": -1}),
    "electric_power": Recipe({"electric_energy": 1}, {"duration": -1}),
}


def given(measures: Collection[str]) -> set[str]:
    """The measures, and those that the figures of each run give."""
    have = set(measures)
    return have | {name for name, one in OF_A_RUN.items() if have.issuperset(one.parts)}


def recipes(name: str, have: Collection[str]) -> tuple[Recipe, ...]:
    """The ways in which a derived quantity can be made of what there is, the preferred one first."""
    return tuple(one for one in MEASURES[name].made_of if _made(one, have))


def recipe(name: str, have: Collection[str]) -> Recipe | None:
    """The preferred way; None where there is none."""
    return next(iter(recipes(name, have)), None)


def _made(one: Recipe, have: Collection[str]) -> bool:
    return all(part in have or can_be_made(part, have) for part in one.parts)


def can_be_made(name: str, have: Collection[str]) -> bool:
    """Whether a quantity is measured, or can be made of what is."""
    if name in have:
        return True
    listed = MEASURES.get(name)
    return listed is not None and any(_made(one, have) for one in listed.made_of)


def powers(name: str, have: Collection[str]) -> dict[str, float]:
    """The measured quantities behind one, each with its power; itself where it is measured.

    Where nothing makes it, the first way that the catalogue names is taken.
    """
    listed = MEASURES.get(name)
    if name in have or listed is None or not listed.made_of:
        return {name: 1.0}
    chosen = recipe(name, have) or listed.made_of[0]
    found: dict[str, float] = {}
    for part, power in chosen.parts.items():
        for measured, own in powers(part, have).items():
            found[measured] = found.get(measured, 0.0) + power * own
    return {measured: power for measured, power in found.items() if power}


def lacking(name: str, have: Collection[str]) -> tuple[str, ...]:
    """What would have to be measured for a quantity to be told; empty where it can be."""
    if can_be_made(name, have):
        return ()
    return tuple(part for part in powers(name, have) if part not in have)


def needs(name: str, have: Collection[str]) -> tuple[str, ...]:
    """What a quantity takes besides measures, all the way down."""
    listed = MEASURES.get(name)
    if name in have or listed is None or not listed.made_of:
        return ()
    chosen = recipe(name, have) or listed.made_of[0]
    further = [need for part in chosen.parts for need in needs(part, have)]
    return tuple(dict.fromkeys([*chosen.needs, *further]))


def rests_on(name: str, other: str) -> bool:
    """Whether one quantity is another, or is made of it in any way."""
    if name == other:
        return True
    listed = MEASURES.get(name)
    parts = [part for one in (listed.made_of if listed else ()) for part in one.parts]
    return any(rests_on(part, other) for part in parts)


def changes_as(name: str) -> tuple[str, int]:
    """The quantity that one changes in proportion with, and the power: 1, or -1 for the inverse.

    Itself, where it changes as no other does.
    """
    listed = MEASURES.get(name)
    if listed is None or not listed.changes_as:
        return name, 1
    return listed.changes_as.removeprefix("-"), -1 if listed.changes_as.startswith("-") else 1


def at_a_session(name: str) -> bool:
    """Whether a quantity is one figure for a whole session, and not told along the sweep."""
    listed = MEASURES.get(name)
    return listed is not None and listed.table == "whole sweep"


#: How what a recipe needs besides measures is written in a trial.
WRITTEN = {
    "fuel_capacity": "boat: {fuel_capacity: 700 L}",
    "fuel_density": "boat: {fuel_density: 0.84 kg/L}",
    "gear_ratio": "configurations: gear_ratio, of each",
    "propeller_pitch": "configurations: propeller_pitch, of each",
    "duty": "duty: {trip: [...]}",
}

#: All that is told of speed through the water, directly or through it.
OF_SPEED = frozenset(name for name in MEASURES if rests_on(name, "speed"))
SPEEDS = ("speed_over_ground", "speed_through_water")
FUEL_FLOWS = ("fuel_flow", "fuel_mass_flow")
#: All that is told of fuel.
OF_FUEL = frozenset(name for name in MEASURES if any(rests_on(name, flow) for flow in FUEL_FLOWS))
