"""The rules of this folder, named one by one; apart, so that a protocol is checked without them."""

from __future__ import annotations

from slackwater.analysis.checking.run_rules import (
    clock_jump,
    current_above_limit,
    direction_doubtful,
    double_run_copied,
    first_direction,
    fuel_burned,
    hold_not_recorded,
    not_settled,
    outside_session_date,
    run_outside_limit,
    run_too_short,
    runs_extra,
    runs_missing,
    sessions_overlap,
    set_aside_many,
    set_point_not_declared,
    set_point_not_held,
    set_point_order,
    shallow_for_speed,
    slip_impossible,
    tide_turned,
    underpowered,
    units_mixed,
    unknown_waiver,
    value_outlier,
)
from slackwater.analysis.checking.run_rules._rule import RunsRule
from slackwater.protocol.rules._rule import ProtocolRule

PROTOCOL_RULES: tuple[ProtocolRule, ...] = (
    underpowered.RULE,
    unknown_waiver.RULE,
)
RUN_RULES: tuple[RunsRule, ...] = (
    clock_jump.RULE,
    current_above_limit.RULE,
    direction_doubtful.RULE,
    double_run_copied.RULE,
    first_direction.RULE,
    fuel_burned.RULE,
    hold_not_recorded.RULE,
    not_settled.RULE,
    outside_session_date.RULE,
    run_outside_limit.RULE,
    run_too_short.RULE,
    runs_extra.RULE,
    runs_missing.RULE,
    sessions_overlap.RULE,
    set_aside_many.RULE,
    set_point_not_declared.RULE,
    set_point_not_held.RULE,
    set_point_order.RULE,
    shallow_for_speed.RULE,
    slip_impossible.RULE,
    tide_turned.RULE,
    units_mixed.RULE,
    value_outlier.RULE,
)
RULES: tuple[ProtocolRule | RunsRule, ...] = (*PROTOCOL_RULES, *RUN_RULES)
