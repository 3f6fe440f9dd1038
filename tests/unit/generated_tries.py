"""Values of tries of the invented manoeuvres, around all that is asked of them."""

from __future__ import annotations

from random import Random

#: Usual first, then at, just within and just outside of what is possible.
AROUND: dict[str, tuple[float, ...]] = {
    "time_to_plane": (5.0, 0.0, -1.0, 86_400.0, 90_000.0, 0.3, 1e-12),
    "time_to_20_kn": (9.0, 0.0, -0.1, 1e6, 3600.0),
    "tactical_diameter": (60.0, 0.0, -60.0, 1e7, 1e-9, 2000.0),
    "lean": (8.0, 0.0, -8.0, 360.0, 361.0, -720.0, 1e5),
}
OF_TURNS = ("tactical_diameter", "lean")


def generated_tries(count: int, seed: int) -> list[dict[str, float]]:
    """Tries as values by name, every other one a turn; most have all of their values."""
    chance = Random(seed)
    found = []
    for number in range(count):
        names = [name for name in AROUND if (name in OF_TURNS) == bool(number % 2)]
        found.append({name: _value(name, chance) for name in names})
    return found


def _value(name: str, chance: Random) -> float:
    usual, *others = AROUND[name]
    return usual if chance.random() < 0.4 else chance.choice(others)
