"""FIT to channels, by fitdecode, which is not installed by itself."""

from __future__ import annotations

import warnings
from datetime import datetime
from io import BytesIO
from struct import error as StructError
from typing import Any

import numpy as np

from slackwater.analysis.logs.channels import Log
from slackwater.analysis.logs.meaning import METRE_PER_SECOND
from slackwater.analysis.logs.opening import Opened, refused
from slackwater.analysis.logs.points import Points

_SEMICIRCLE = 180 / 2**31  # [deg]
#: Field of a record, quantity and the unit of the field in that of the quantity.
_FIELDS = (
    ("position_lat", "latitude", _SEMICIRCLE),
    ("position_long", "longitude", _SEMICIRCLE),
    ("distance", "distance", 1.0),
    ("cadence", "stroke_rate", 1.0),
)
_SPEEDS = ("enhanced_speed", "speed")


def read(opened: Opened) -> Log:
    """Records of an activity; of a file that is not closed, those that are whole.

    Raises
    ------
    InputError
        Without fitdecode.
    """
    try:
        import fitdecode
    except ImportError:
        raise refused(
            opened.path,
            "log-needs-package",
            "is a FIT file, and the package that reads them is not installed",
            "pip install 'slackwater[fit]'; or export it as GPX or TCX",
        ) from None
    points = Points("FIT", "record")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _take_all(fitdecode, opened, points)
    except (
        fitdecode.FitError,
        ValueError,
        LookupError,
        TypeError,
        ArithmeticError,
        StructError,
        AssertionError,  # of the library, on lengths that do not go together
    ) as error:
        points.notes.append(f"the file is not whole ({error}): what came before is read")
    return points.log(opened)


def _take_all(fitdecode: Any, opened: Opened, points: Points) -> None:
    reader = fitdecode.FitReader(
        BytesIO(opened.whole()),
        check_crc=fitdecode.CrcCheck.DISABLED,
        error_handling=fitdecode.ErrorHandling.IGNORE,
    )
    with reader as frames:
        for frame in frames:
            if frame.frame_type == fitdecode.FIT_FRAME_DATA and frame.name == "record":
                points.count += 1
                _take(frame, points)


def _take(frame: Any, points: Points) -> None:
    values = [(quantity, _value(frame, name) * scale) for name, quantity, scale in _FIELDS]
    speeds = [_value(frame, name) for name in _SPEEDS]
    speed = next((each for each in speeds if not np.isnan(each)), np.nan)
    values.append(("speed_over_ground", speed * METRE_PER_SECOND))
    stamp = frame.get_value("timestamp", fallback=None)
    second = stamp.timestamp() if isinstance(stamp, datetime) else np.nan
    points.add(points.count, second, values)


def _value(frame: Any, name: str) -> float:
    value = frame.get_value(name, fallback=None)
    return float(value) if isinstance(value, int | float) else float("nan")
