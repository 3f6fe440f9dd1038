"""What the trade reads of manoeuvres: fixed names, each with its unit, its better side and its scale."""

from __future__ import annotations

from dataclasses import dataclass

from slackwater.protocol.catalogue.measures import MEASURES, Better, Measure, Scale


@dataclass(frozen=True, slots=True)
class ManoeuvreKind:
    """One thing that is read of a manoeuvre.

    Parameters
    ----------
    name, title, unit : str
    better : "more", "less" or None
        None where neither is by itself.
    scale : "ratio" or "difference"
        Times and lengths scatter by a part of themselves and are compared as ratios.
    needs : tuple of str
        Speeds that have to be declared for it to be one thing: `from_speed`, `to_speed`.
    takes : tuple of str
        Those that may be.
    over_ground : bool
        It is told over the ground, so that a current is in it until something takes it out.
    turning : bool
        It is read of a turn, where opposite directions do not take a drift out.
    """

    name: str
    title: str
    unit: str
    better: Better | None = "less"
    scale: Scale = "ratio"
    needs: tuple[str, ...] = ()
    takes: tuple[str, ...] = ()
    over_ground: bool = False
    turning: bool = False


# Which side is better: common practice. What is read of a turning circle is defined as handling
# trials of ships define it: advance and transfer to a change of heading of 90 degrees, tactical
# diameter to 180 degrees.
_KINDS: tuple[ManoeuvreKind, ...] = (
    ManoeuvreKind(
        "time_to_speed", "Time to a speed", "s", needs=("to_speed",), takes=("from_speed",),
        over_ground=True,
    ),
    ManoeuvreKind("time_to_plane", "Time to plane", "s", takes=("from_speed",)),
    ManoeuvreKind(
        "time_between_speeds", "Time between two speeds", "s", needs=("from_speed", "to_speed"),
        over_ground=True,
    ),
    ManoeuvreKind(
        "stopping_distance", "Stopping distance", "m", takes=("from_speed",), over_ground=True
    ),
    ManoeuvreKind("stopping_time", "Stopping time", "s", takes=("from_speed",), over_ground=True),
    ManoeuvreKind(
        "turning_advance", "Advance in the turn", "m", takes=("from_speed",), over_ground=True,
        turning=True,
    ),
    # A transfer may be next to nothing, and its ratio anything.
    ManoeuvreKind(
        "turning_transfer", "Transfer in the turn", "m", None, "difference",
        takes=("from_speed",), over_ground=True, turning=True,
    ),
    ManoeuvreKind(
        "tactical_diameter", "Tactical diameter", "m", takes=("from_speed",), over_ground=True,
        turning=True,
    ),
    ManoeuvreKind(
        "steady_diameter", "Steady turning diameter", "m", takes=("from_speed",),
        over_ground=True, turning=True,
    ),
    ManoeuvreKind(
        "speed_lost_in_turn", "Speed lost in the turn", "kn", scale="difference",
        takes=("from_speed",), over_ground=True, turning=True,
    ),
    ManoeuvreKind("slowest_planing_speed", "Slowest planing speed", "kn", over_ground=True),
    ManoeuvreKind("steering_correction", "Spread of heading on a straight", "deg"),
)  # fmt: skip

KINDS: dict[str, ManoeuvreKind] = {kind.name: kind for kind in _KINDS}

#: All that a published claim can be about without a protocol of its own.
CLAIMED: dict[str, Measure] = {
    **MEASURES,
    **{
        kind.name: Measure(
            kind.name,
            kind.title,
            kind.unit,
            kind.better,
            kind.scale,
            "measured",
            table="whole sweep",
        )
        for kind in _KINDS
    },
}
