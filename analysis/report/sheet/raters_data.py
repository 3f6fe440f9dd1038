"""What the raters' page is made with: what is asked, in whose order; of what is fitted nothing but the answers to choose from."""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any

from slackwater import __version__
from slackwater.analysis.report.sheet.text import day_text
from slackwater.analysis.sheet.rating_orders import rating_orders
from slackwater.analysis.wording.characters import printable

if TYPE_CHECKING:
    from slackwater.analysis.sheet.contents import SheetContents
    from slackwater.protocol.declared.ratings import RatedItem, Ratings
    from slackwater.protocol.declared.trial import Trial

#: What a page of runs has and this one has not.
_NOTHING: dict[str, Any] = {
    "order": "", "legend": [], "head": [], "columns": [], "measures": [], "tests": [], "noted": [],
    "bands": {}, "speed": "", "speed_unit": "", "per_knot": 1, "level_fuel": False, "unit": "",
    "held": "", "reciprocal": False, "apart": 0, "settle": 0, "record": 0, "turn": 0, "fill": 0,
}  # fmt: skip


def raters_data(contents: SheetContents, asked: Ratings, trial: Trial | None) -> dict[str, Any]:
    """All that the page knows, ready for JSON. Neither order nor letter nor title says what a session has fitted."""
    schedule = contents.schedule
    orders = rating_orders(len(asked.items), len(schedule.sessions), schedule.seed)
    guess = [["guess", "guess"]] if asked.guess else []
    head = ["session", "item", "rater", "score", *(key for key, _ in guess), "set_aside", "note"]
    data: dict[str, Any] = {
        **_NOTHING,
        "schema": 1,
        "tool": {"name": "slackwater", "version": __version__},
        "trial": contents.trial,
        "title": printable(contents.boat or contents.protocol),
        "boat": "",
        "protocol": {"id": contents.protocol, "version": contents.version},
        "seal": contents.seal,
        "seed": 0,
        "invented": bool(trial and trial.invented),
        "cautions": [printable(each) for each in contents.cautions],
        "sessions": [
            {"id": each.id, "day": day_text(each), "runs": []} for each in schedule.sessions
        ],
        "ratings": {
            "raters": asked.raters,
            "blind": asked.blind,
            "guess": sorted(_guesses(contents), key=lambda each: each[1]) if asked.guess else [],
            "items": [_item(name, item) for name, item in asked.items.items()],
            "orders": [list(row) for row in orders.rows],
            "shifts": list(orders.shifts),
            "head": [[name, name] for name in head],
        },
    }
    plan = [data[key] for key in ("trial", "protocol", "sessions", "ratings")]
    digest = hashlib.sha256(json.dumps(plan, sort_keys=True).encode()).hexdigest()[:16]
    return {"id": digest, **data}


def _guesses(contents: SheetContents) -> list[list[str]]:
    fitted = dict.fromkeys(each.configuration for each in contents.schedule.sessions)
    return [[name, printable(contents.configurations[name])] for name in fitted]


def _item(name: str, item: RatedItem) -> dict[str, Any]:
    title = item.title or name.replace("_", " ").capitalize()
    return {
        "name": name,
        "title": printable(title),
        "asks": printable(item.asks),
        "lowest": item.lowest,
        "highest": item.highest,
        "anchors": [[place, printable(words)] for place, words in sorted(item.anchors.items())],
    }
