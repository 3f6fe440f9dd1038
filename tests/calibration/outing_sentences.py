"""An invented outing as the sentences of NMEA 0183 that its instruments would have sent."""

from __future__ import annotations

from datetime import UTC, datetime
from functools import reduce

from outing_world import Outing

from slackwater.analysis.logs.channels import Channel


def sentences(outing: Outing) -> str:
    """RMC of the receiver and RPM of the engine in order of time, each with its checksum."""
    by_name: dict[str, Channel] = {channel.quantity: channel for channel in outing.channels}
    speed, course = by_name["speed_over_ground"], by_name["course_over_ground"]
    latitude, longitude = by_name["latitude"], by_name["longitude"]
    lines = [
        (float(t), _summed(_rmc(float(t), float(a), float(b), float(knots), float(degrees))))
        for t, a, b, knots, degrees in zip(
            speed.seconds,
            latitude.values,
            longitude.values,
            speed.values,
            course.values,
            strict=True,
        )
    ]
    engine = by_name.get("engine_speed")
    if engine is not None:
        lines += [
            (float(t), _summed(f"IIRPM,E,1,{rpm:.2f},,A"))
            for t, rpm in zip(engine.seconds, engine.values, strict=True)
        ]
    return "".join(line for _, line in sorted(lines, key=lambda each: each[0]))


def _summed(body: str) -> str:
    return f"${body}*{reduce(lambda a, b: a ^ b, body.encode()):02X}\r\n"


def _rmc(seconds: float, latitude: float, longitude: float, knots: float, degrees: float) -> str:
    moment = datetime.fromtimestamp(round(seconds, 2), UTC)
    clock = f"{moment:%H%M%S}.{moment.microsecond // 10_000:02d}"
    north, east = _minutes(latitude, 2), _minutes(longitude, 3)
    return f"GPRMC,{clock},A,{north},N,{east},E,{knots:.2f},{degrees:.1f},{moment:%d%m%y},,,A"


def _minutes(degrees: float, wide: int) -> str:
    """Degrees and minutes, as sentences have them."""
    whole, minutes = divmod(round(degrees * 600_000), 600_000)
    return f"{whole:0{wide}d}{minutes / 10_000:07.4f}"
