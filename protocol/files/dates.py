"""How a date or a time of a file is read: ISO 8601, and nothing that could be read two ways."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Annotated, Any

from slackwater.protocol.files.scalars import Scalar
from slackwater.protocol.units.quantity import QuantityError

#: Days that a person writes: speed trials of the past are read, too.
FIRST_YEAR, LAST_YEAR = 1800, 2199
#: Satellite time starts in 1980, so what an instrument tells before it is a clock not yet set.
FIRST_YEAR_OF_CLOCKS = 1980


def _in_time(value: date, text: str) -> None:
    if not FIRST_YEAR <= value.year <= LAST_YEAR:
        raise QuantityError(
            f"'{text}' is no day of a trial; the years {FIRST_YEAR} to {LAST_YEAR} are read",
            "check the year",
        )


@dataclass(frozen=True, slots=True)
class DateIn(Scalar):
    """A date as ISO 8601 writes it."""

    def wanted(self) -> str:
        return "a date such as '2026-05-04'"

    def read(self, value: object) -> date:
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        text = str(value).strip()
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            try:
                found = date.fromisoformat(text)
            except ValueError:
                raise QuantityError(
                    f"'{text}' is no day of the calendar; {self.wanted()} is needed"
                ) from None
            _in_time(found, text)
            return found
        raise QuantityError(
            f"'{text}' is not an ISO date; {self.wanted()} is needed",
            "write year-month-day with four, two and two digits",
        )

    def json(self) -> dict[str, Any]:
        return {"type": "string", "format": "date", "examples": ["2026-05-04"]}


@dataclass(frozen=True, slots=True)
class MomentIn(Scalar):
    """A time of day, or a date with a time, as ISO 8601 writes them."""

    def wanted(self) -> str:
        return "a time such as '09:30' or '2026-05-04T09:30'"

    def read(self, value: object) -> time | datetime:
        if isinstance(value, (time, datetime)):
            return value
        text = str(value).strip()
        clock = r"[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?(Z|[+-][0-9]{2}:[0-9]{2})?"
        try:
            if re.fullmatch(clock, text):
                return time.fromisoformat(text)
            if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ]" + clock, text):
                moment = datetime.fromisoformat(text)
                _in_time(moment, text)
                return moment
        except QuantityError:
            raise
        except ValueError:
            pass
        raise QuantityError(
            f"'{text}' is not a time; {self.wanted()} is needed",
            "write two digits for hours and minutes each, 24-hour clock",
        )

    def json(self) -> dict[str, Any]:
        return {"type": "string", "examples": ["09:30", "2026-05-04T09:30"]}


Day = Annotated[date, DateIn()]
Moment = Annotated[time | datetime, MomentIn()]
