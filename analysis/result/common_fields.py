"""Columns that several tables of a result have in common, and words that they are filled with."""

from __future__ import annotations

from slackwater.analysis.result.field import Field
from slackwater.analysis.verdict.verdicts import Word, Worth

VERDICTS = tuple(word.value for word in Word)
WORTH = tuple(word.value for word in Worth)

AT = Field("at", "text", "where: the set point or speed with its unit, as in '2500 rpm'")
POSITION = Field("position", "number", "the number in `at`, for ordering and drawing [its unit]")
QUANTITY = Field("quantity", "text", "name in the catalogue of measures, as in 'fuel_flow'")
SESSION = Field("session", "text", "id of the session")
BASELINE = Field("baseline", "text", "id of the configuration compared with")
MODIFIED = Field("modified", "text", "id of the configuration under test")
CONFIGURATION = Field("configuration", "text", "id of the configuration")
SET_ASIDE = Field("set_aside", "text", "why it was left out; empty for one that counts")
REASON = Field("reason", "text", "why no verdict can be given; empty where one can")
NOTE = Field("note", "text", "what was noted with it")
UNIT = Field("unit", "text", "unit of the values in this row; empty for a plain fraction")
LOW = Field("low", "number", "lower end of the interval [as the value]")
HIGH = Field("high", "number", "upper end of the interval [as the value]")
FRACTION = "[fraction of the baseline; on the scale 'difference' the unit of the row]"
