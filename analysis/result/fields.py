"""The tables of a result, in their order; each is described field by field in the file of its subject."""

from __future__ import annotations

from slackwater.analysis.result.common_fields import VERDICTS
from slackwater.analysis.result.comparison_fields import COMPARISON_TABLES
from slackwater.analysis.result.field import Field
from slackwater.analysis.result.manoeuvre_fields import MANOEUVRE_TABLES
from slackwater.analysis.result.rating_fields import RATING_TABLES
from slackwater.analysis.result.session_fields import NOISE_COMPONENTS, SESSION_TABLES
from slackwater.analysis.result.sweep_fields import SWEEP_TABLES

__all__ = ["NOISE_COMPONENTS", "SCHEMA_VERSION", "TABLES", "VERDICTS", "Field"]

SCHEMA_VERSION = 1

_EVERY = {
    **COMPARISON_TABLES,
    **SWEEP_TABLES,
    **RATING_TABLES,
    **SESSION_TABLES,
    **MANOEUVRE_TABLES,
}
_ORDER = (
    "set_points",
    "comparisons",
    "cross_check",
    "leanings",
    "stretches",
    "figures",
    "corrections",
    "current",
    "current_runs",
    "noise",
    "session_values",
    "ratings",
    "rating_scores",
    "rating_ranks",
    "blinding",
    *MANOEUVRE_TABLES,
    "conditions",
    "set_aside",
)

TABLES: dict[str, tuple[Field, ...]] = {name: _EVERY[name] for name in _ORDER}
