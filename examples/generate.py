"""Make the runs of the example trials. The boats, the crews and every figure are invented.

    python examples/generate.py

writes the tables and logs anew; the seeds are fixed, so the files come out the same every time.
"""

from __future__ import annotations

import math
from datetime import UTC, datetime
from functools import partial
from pathlib import Path

import numpy as np
from fleet import five_launches
from instruments import frames, pack, sentences
from invented import (
    Boat,
    Day,
    Reading,
    Table,
    bump,
    changed,
    diesel,
    plain_cells,
    semi_planing,
    sweep,
)
from invented_hands import Tried, tries
from invented_outing import Array, Recorded, Voyage, record
from invented_raters import Felt, ratings
from turned_outing import Morning, Turner, written

HERE = Path(__file__).parent


def workboat(folder: Path) -> None:
    """Interceptors on a workboat: six days, ABBAAB, a gain in the middle and none at the top."""
    bare = Boat(semi_planing, diesel)
    fitted = changed(bare, bump(2250, 420, 0.055), bump(2250, 500, -0.02))
    mornings = [
        ("S1", "bare", "2026-05-04", 0.9, 1.0),
        ("S2", "fitted", "2026-05-06", 1.1, 2.6),
        ("S3", "fitted", "2026-05-11", 1.2, 4.1),
        ("S4", "bare", "2026-05-13", 1.0, 5.4),
        ("S5", "bare", "2026-05-19", 0.8, 0.2),
        ("S6", "fitted", "2026-05-21", 1.0, 3.0),
    ]
    days = [_morning(*each, clock="08:30") for each in mornings]
    points = [1000, 1400, 1800, 2000, 2200, 2500, 3000, 3500]
    boats = {"bare": bare, "fitted": fitted}
    path = folder / "workboat-interceptors" / "runs.csv"
    sweep(path, days, boats, points, double_runs=3, seed=20260504, between=0.005)
    _set_aside_one(path)


def _set_aside_one(path: Path) -> None:
    """The skipper called one double run off: traffic on the course."""
    lines = path.read_text(encoding="utf-8").splitlines()
    reason = "gave way to a ferry; throttle closed"
    for i, line in enumerate(lines):
        if line.startswith("S3,1400,2,"):
            lines[i] = line[: -len(",,")] + f",{reason},"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def one_morning_each(folder: Path) -> None:
    """A propeller tried as it is usually done: one morning with the old, one with the new."""
    old = Boat(
        lambda rpm: 5.0 + 29 / (1 + math.exp(-(rpm - 3150) / 560)) + 2.0 * rpm / 6000,
        lambda rpm: 2.0 + 118 * (rpm / 6000) ** 2.6,
    )
    # The new propeller changes nothing; the second morning was merely a better one.
    better_morning = changed(old, lambda rpm: 0.058, lambda rpm: -0.02)
    days = [
        Day("M1", "old", datetime.fromisoformat("2026-06-13T07:45:00"), 0.6, 1.5),
        Day("M2", "new", datetime.fromisoformat("2026-06-20T07:50:00"), 0.7, 4.0),
    ]
    points = [2000, 3000, 3500, 4000, 5000, 6000]
    path = folder / "one-morning-each" / "runs.csv"
    boats = {"old": old, "new": better_morning}
    sweep(path, days, boats, points, double_runs=1, seed=613, between=0.004)


def planing(rpm: float) -> float:
    """Speed of an invented 7.2 m runabout: a hump at about 3150 rpm. [kn]"""
    return 12 / (1 + math.exp(-(rpm - 3150) / 180)) + 2.75 * (rpm / 1000) ** 1.2


def petrol(rpm: float) -> float:
    """Fuel flow of her invented engine. [L/h]"""
    return 2 + 80 * (rpm / 6000) ** 2.4


def finer_pitch(folder: Path) -> None:
    """A finer propeller: the engine turns 5 % faster for the same speed and the same fuel."""
    standard = Boat(planing, petrol)
    finer = Boat(lambda rpm: planing(rpm / 1.05), lambda rpm: petrol(rpm / 1.05))
    mornings = [
        ("P1", "standard", "2026-07-06", 0.7, 1.2),
        ("P2", "finer", "2026-07-08", 0.8, 2.9),
        ("P3", "finer", "2026-07-13", 0.9, 4.4),
        ("P4", "standard", "2026-07-15", 0.8, 5.1),
        ("P5", "standard", "2026-07-20", 0.6, 0.4),
        ("P6", "finer", "2026-07-22", 0.8, 3.3),
    ]
    days = [_morning(*each, clock="07:30") for each in mornings]
    points = [2000, 2500, 3000, 3250, 3500, 3750, 4000, 4500, 5000, 5500]
    path = folder / "finer-pitch-propeller" / "runs.csv"
    boats = {"standard": standard, "finer": finer}
    sweep(path, days, boats, points, double_runs=2, seed=706, between=0.005)


def both_engines(run: Reading) -> list[str]:
    """Each engine has a tachometer and a flow meter of its own; port works a little harder."""
    uneven = 3 if run.direction == "out" else -2  # [rpm], the wheel is never quite amidships
    return [
        f"{run.over_ground:.2f}",
        f"{run.held + uneven:.0f}",
        f"{run.held - uneven:.0f}",
        f"{0.508 * run.flow:.1f}",
        f"{0.492 * run.flow:.1f}",
    ]


def twin_engines(folder: Path) -> None:
    """Rudders toed in on a twin-screw launch: three days, each setting twice a day."""
    straight = Boat(
        lambda rpm: 5.0 + 17.5 / (1 + math.exp(-(rpm - 1950) / 330)) + 1.4 * rpm / 2600,
        lambda rpm: 4.0 + 128 * (rpm / 2600) ** 2.8,
    )
    toed_in = changed(straight, lambda rpm: 0.018, lambda rpm: -0.022)
    days = [
        Day(
            f"D{day}{stretch}",
            "straight" if letter == "A" else "toed-in",
            datetime.fromisoformat(f"2026-04-{date}T{8 + turn:02d}:05:00"),
            0.8,
            phase + turn,
        )
        for day, (date, phase, order) in enumerate(
            [(14, 0.7, "ABBA"), (16, 2.1, "BAAB"), (21, 4.9, "ABBA")], start=1
        )
        for turn, (stretch, letter) in enumerate(zip("abcd", order, strict=True))
    ]
    table = Table(
        ("GPS speed [kn]", "Port [rpm]", "Stbd [rpm]", "Port [L/h]", "Stbd [L/h]"), both_engines
    )
    path = folder / "twin-rudder-toe-in" / "runs.csv"
    boats = {"straight": straight, "toed-in": toed_in}
    sweep(path, days, boats, [1600, 2000, 2300, 2600], 2, 414, 0.004, table=table)


def electric_cells(run: Reading) -> list[str]:
    """The inverter shows the power; the motor's speed is that of the propeller."""
    return [f"{run.over_ground:.2f}", f"{run.held:.0f}", f"{run.flow:.2f}"]


def electric_launch(folder: Path) -> None:
    """A larger, slower propeller on an electric launch: 6 % less power at the same speed."""
    small = Boat(
        lambda rpm: 8.9 * (1 - math.exp(-rpm / 720)),
        lambda rpm: 0.25 + 21.5 * (rpm / 1300) ** 2.9,
    )
    large = Boat(
        lambda rpm: small.speed(1.06 * rpm), lambda rpm: 0.94 * small.fuel_flow(1.06 * rpm)
    )
    mornings = [
        ("E1", "small", "2026-09-01", 0.4, 1.0),
        ("E2", "large", "2026-09-03", 0.5, 2.2),
        ("E3", "large", "2026-09-08", 0.5, 4.5),
        ("E4", "small", "2026-09-10", 0.4, 5.6),
        ("E5", "large", "2026-09-15", 0.6, 0.6),
        ("E6", "small", "2026-09-17", 0.5, 3.4),
        ("E7", "small", "2026-09-22", 0.4, 2.0),
        ("E8", "large", "2026-09-24", 0.5, 4.1),
    ]
    table = Table(
        ("speed_over_ground [kn]", "engine_speed [rpm]", "electric_power [kW]"), electric_cells
    )
    path = folder / "electric-launch" / "runs.csv"
    boats = {"small": small, "large": large}
    days = [_morning(*each, clock="09:00") for each in mornings]
    points = [500, 700, 900, 1100, 1300]
    sweep(path, days, boats, points, 2, 901, 0.006, within=0.05, hold=1.5, record=120, table=table)


def _morning(
    id: str, fitted: str, date: str, tide: float, phase: float, stream: float = 0.0, *, clock: str
) -> Day:
    return Day(id, fitted, datetime.fromisoformat(f"{date}T{clock}:00"), tide, phase, stream)


KMH = 1.852  # km/h in a knot, by definition


def metric_cells(run: Reading) -> list[str]:
    """As a spreadsheet of many countries writes them: km/h, and decimal commas."""
    cells = [f"{KMH * run.over_ground:.2f}", f"{run.held:.0f}", f"{run.flow:.2f}"]
    return [cell.replace(".", ",") for cell in cells]


def river_boat(folder: Path) -> None:
    """A guard around a river boat's propeller: does she lose more than 3 % of her speed by it?"""
    bare = Boat(
        lambda rpm: 9.4 * (1 - math.exp(-rpm / 1250)), lambda rpm: 0.8 + 17.5 * (rpm / 2200) ** 2.8
    )
    guarded = changed(bare, lambda rpm: -0.004, lambda rpm: 0.002)
    mornings = [
        ("R1", "bare", "2026-10-05", 0.15, 0.5, 1.5),
        ("R2", "guarded", "2026-10-07", 0.15, 2.0, 1.5),
        ("R3", "guarded", "2026-10-12", 0.2, 3.5, 1.6),
        ("R4", "bare", "2026-10-14", 0.2, 1.1, 1.6),
        ("R5", "guarded", "2026-10-19", 0.15, 4.2, 1.7),
        ("R6", "bare", "2026-10-21", 0.1, 2.8, 1.6),
        ("R7", "bare", "2026-10-26", 0.15, 0.9, 1.5),
        ("R8", "guarded", "2026-10-28", 0.2, 3.0, 1.5),
    ]
    table = Table(
        ("speed_over_ground [km/h]", "engine_speed [rpm]", "fuel_flow [L/h]"), metric_cells, ";"
    )
    path = folder / "metric-river-boat" / "runs.csv"
    boats = {"bare": bare, "guarded": guarded}
    days = [_morning(*each, clock="08:00") for each in mornings]
    points = [1000, 1300, 1600, 1900, 2200]
    sweep(path, days, boats, points, 2, 1007, 0.005, within=0.05, hold=1.5, record=90, table=table)
    _as_a_spreadsheet_writes(path)


def _as_a_spreadsheet_writes(path: Path) -> None:
    """Day, month and year with points, the time in a column of its own, and a river's own directions."""
    heading, *rows = path.read_text(encoding="utf-8").splitlines()
    lines = [heading.replace(";start;", ";date;time;")]
    for row in rows:
        cells = row.split(";")
        start = datetime.fromisoformat(cells[4])
        cells[3] = {"out": "down", "back": "up"}[cells[3]]
        cells[4:5] = [f"{start:%d.%m.%Y}", f"{start:%H:%M:%S}"]
        lines.append(";".join(cells))
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


OUTINGS = (
    # session, fitted, begins by UTC, half tide, seconds after slack, order of the set points [rpm]
    ("L1", "bare", "2026-02-02T23:28:00", 0.7, 3000.0, (1900, 2900, 1400, 2400)),
    ("L2", "rails", "2026-02-04T23:35:00", 0.8, 9000.0, (2400, 1400, 2900, 1900)),
    ("L3", "rails", "2026-02-08T22:50:00", 0.9, 15000.0, (1400, 2400, 1900, 2900)),
    ("L4", "bare", "2026-02-10T23:30:00", 0.8, 21000.0, (2900, 1900, 2400, 1400)),
    ("L5", "bare", "2026-02-15T22:45:00", 0.6, 6000.0, (2400, 2900, 1400, 1900)),
    ("L6", "rails", "2026-02-17T23:40:00", 0.7, 12000.0, (1900, 1400, 2900, 2400)),
)
BROKEN_OFF = {"L3": 5}  # the run, counted from 0, that a ferry came into; it was made again
CROSSING = {"L4": 2150.0}  # [rpm] of a leg across the course that nobody planned


def outings() -> dict[str, Recorded]:
    """Spray rails on a harbour launch, as her receiver and her engine recorded it, by session."""
    rng = np.random.default_rng(20260206)
    made = {}
    for number, (session, fitted, begins, tide, phase, order) in enumerate(OUTINGS):
        gain = 0.035 if fitted == "rails" else 0.0
        day = 1.0 + 0.004 * rng.standard_normal()
        voyage = Voyage(
            begins=datetime.fromisoformat(begins).replace(tzinfo=UTC).timestamp(),
            speed=partial(_launch_speed, gain=gain, day=day),
            flow=partial(_launch_flow, day=1.0 + 0.005 * rng.standard_normal()),
            points=order,
            course=64.0,
            tide=tide,
            phase=phase,
            broken_off=BROKEN_OFF.get(session),
            crossing=CROSSING.get(session),
        )
        made[session] = record(voyage, 2026 + number)
    return made


def _launch_speed(rpm: Array, *, gain: float, day: float) -> Array:
    """Speed of the invented launch; the rails help once she throws spray. [kn]"""
    bare = 3.0 + 16.0 / (1 + np.exp(-(rpm - 2050) / 330)) + 1.2 * rpm / 1000
    return np.asarray(bare * day * (1 + gain / (1 + np.exp(-(rpm - 1900) / 120))))


def _launch_flow(rpm: Array, *, day: float) -> Array:
    """Fuel flow of her invented engine. [L/h]"""
    return np.asarray(day * (1.5 + 58.0 * (rpm / 3000) ** 2.7))


def spray_rails(folder: Path) -> None:
    """The logs of these outings: nobody wrote a table, so the runs are cut from what instruments wrote."""
    logs = folder / "spray-rails-from-logs" / "logs"
    for session, seen in outings().items():
        pack(logs / f"{session}-receiver.nmea.gz", sentences(seen))
        pack(logs / f"{session}-engine.candump.gz", frames(seen))


def ride_felt_blind(folder: Path) -> None:
    """Ride control scored by five people who do not know of it: a softer ride, and nothing else."""
    launch = Boat(lambda rpm: 17.5 * (rpm / 2200), lambda rpm: 38.0 * (rpm / 2200) ** 2.6)
    stretches = [
        ("F1", "off", "2026-09-07", 0.8, 0.5, "09:00"),
        ("F2", "on", "2026-09-07", 0.8, 2.5, "11:00"),
        ("F3", "on", "2026-09-09", 0.7, 5.0, "09:00"),
        ("F4", "off", "2026-09-09", 0.7, 7.0, "11:00"),
        ("F5", "on", "2026-09-14", 0.9, 1.5, "09:00"),
        ("F6", "off", "2026-09-14", 0.9, 3.5, "11:00"),
        ("F7", "off", "2026-09-16", 1.0, 4.0, "09:00"),
        ("F8", "on", "2026-09-16", 1.0, 6.0, "11:00"),
    ]
    own = folder / "ride-felt-blind"
    days = [_morning(*each[:5], clock=each[5]) for each in stretches]
    boats = {"off": launch, "on": launch}
    table = Table(("speed_over_ground [kn]", "engine_speed [rpm]"), lambda r: plain_cells(r)[:2])
    sweep(own / "runs.csv", days, boats, [2200], 2, 20260907, 0.004, table=table)
    felt = {
        "ride": Felt(3.4, {"on": 1.6}, of_session=0.35, of_score=0.6),
        "steering_effort": Felt(3.6, {}, of_session=0.8, of_score=0.5),
        "noise_felt": Felt(4.2, {}, of_session=0.0, of_score=1.1),
    }
    crew = ["R1", "R2", "R3", "R4", "R5"]
    ratings(own / "ratings.csv", [each[:2] for each in stretches], crew, felt, seed=1979)


def tabs_off_the_mark(folder: Path) -> None:
    """Tabs down for the start: quicker onto the plane, no shorter a stop, and no faster once there."""
    runabout = Boat(planing, petrol)
    stretches = [
        ("D1", "up", "2026-08-03", 0.5, 1.0, "09:00"),
        ("D2", "down", "2026-08-05", 0.5, 2.5, "09:15"),
        ("D3", "down", "2026-08-10", 0.4, 5.5, "09:00"),
        ("D4", "up", "2026-08-12", 0.4, 0.5, "09:10"),
        ("D5", "up", "2026-08-17", 0.5, 3.0, "09:00"),
        ("D6", "down", "2026-08-19", 0.5, 4.5, "09:20"),
        ("D7", "down", "2026-08-24", 0.4, 1.5, "09:00"),
        ("D8", "up", "2026-08-26", 0.4, 3.5, "09:05"),
    ]
    own = folder / "tabs-off-the-mark"
    days = [_morning(*each[:5], clock=each[5]) for each in stretches]
    table = Table(("speed_over_ground [kn]", "engine_speed [rpm]"), lambda r: plain_cells(r)[:2])
    boats = {"up": runabout, "down": runabout}
    sweep(own / "runs.csv", days, boats, [3000, 4000], 2, 20260803, 0.004, table=table)
    ways = ("out", "back")
    manoeuvres = {
        "acceleration": (
            ways,
            {
                "time_to_plane [s]": Tried(5.2, {"down": -0.13}),
                "time_to_20_kn [s]": Tried(9.6, {"down": -0.07}, of_try=0.04),
            },
        ),
        "stop": (
            ways,
            {
                "stopping_distance [m]": Tried(46.0, {}, of_try=0.06),
                "stopping_time [s]": Tried(11.5, {}, of_try=0.06),
            },
        ),
    }
    spoiled = {("D5", "acceleration", "back", 2): "throttle opened twice"}
    sessions = [each[:2] for each in stretches]
    tries(own / "tries.csv", sessions, manoeuvres, 3, seed=1803, learned=0.004, spoiled=spoiled)


def deeper_skeg(folder: Path) -> None:
    """A deeper skeg: she turns wider by a sixteenth and runs as fast; nobody wrote a table of runs or of tries."""
    boats = {"shallow": Turner(15.2, 12.6, 64.0), "deep": Turner(15.2, 12.6, 68.0)}
    mornings = [
        ("K1", "shallow", "2026-10-05"),
        ("K2", "deep", "2026-10-06"),
        ("K3", "deep", "2026-10-08"),
        ("K4", "shallow", "2026-10-09"),
        ("K5", "shallow", "2026-10-12"),
        ("K6", "deep", "2026-10-13"),
        ("K7", "deep", "2026-10-15"),
        ("K8", "shallow", "2026-10-16"),
    ]
    rng = np.random.default_rng(1610)
    for number, (session, name, day) in enumerate(mornings):
        stream = (float(rng.normal(0, 0.12)), float(rng.normal(0, 0.12)))
        off = float(rng.normal(0, 0.012))
        own = Morning(f"{day}T09:30:00", stream, off, 16100 + number)
        path = folder / "deeper-skeg-from-logs" / "logs" / f"{session}.nmea.gz"
        pack(path, written(boats[name], own))


def make_all(folder: Path) -> None:
    """Write the run tables and logs of all examples, each in its folder."""
    for make in (
        workboat,
        finer_pitch,
        one_morning_each,
        twin_engines,
        electric_launch,
        river_boat,
        spray_rails,
        five_launches,
        ride_felt_blind,
        tabs_off_the_mark,
        deeper_skeg,
    ):
        make(folder)


if __name__ == "__main__":
    make_all(HERE)
