"""Explain a rule: what it looks at, why, how to mend it, on what text; without one, list all by subject or by source."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Severity

FORMATS = ("text", "json")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "rule", metavar="RULE", nargs="?", help="the id of a rule, as findings show it"
    )
    parser.add_argument("--by", choices=("source",), help="list the rules by standard and clause")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Explain and write; 0 when done.

    Raises
    ------
    InputError
        When there is no such rule, or the output cannot be written.
    """
    check_output(args.output, replace=args.replace)
    from slackwater.analysis.wording.json_text import to_json

    chosen = chosen_format(args, FORMATS)
    text, data = _asked(args)
    text = to_json(data) if chosen == "json" else text
    write(text, args.output, form=chosen, replace=args.replace)
    return 0


def _asked(args: argparse.Namespace) -> tuple[str, object]:
    if args.by and args.rule is not None:
        message = "--by lists all rules, and takes none by name"
        raise InputError([Finding("option-unfit", Severity.ERROR, message, "leave either out")])
    if args.by:
        return _by_source()
    return _all() if args.rule is None else _one(args.rule.strip().strip("[]").lower())


def _by_source() -> tuple[str, object]:
    from slackwater import __version__
    from slackwater.analysis.checking.index_by_source import as_data, as_text
    from slackwater.analysis.checking.registry import all_rules

    rules = all_rules().values()
    tool = {"name": "slackwater", "version": __version__}
    return as_text(rules), {"schema": 1, "tool": tool, "works": as_data(rules)}


def _all() -> tuple[str, object]:
    from slackwater.analysis.checking.explaining import as_dict, one_line, subject
    from slackwater.analysis.checking.registry import all_rules

    rules = all_rules()
    width = max(len(id) for id in rules)
    lines = []
    for title, what in (("protocol", "a protocol"), ("trial", "a trial"), ("runs", "the runs")):
        group = [rule for rule in rules.values() if subject(rule) == title]
        lines += [f"on {what}", *(f"  {one_line(rule, width)}" for rule in group), ""]
    lines.append(f"{len(rules)} rules; slackwater explain RULE says more of each")
    return "\n".join(lines) + "\n", _data([as_dict(rule) for rule in rules.values()])


def _data(rules: Sequence[object]) -> dict[str, object]:
    from slackwater import __version__

    return {"schema": 1, "tool": {"name": "slackwater", "version": __version__}, "rules": rules}


def _one(id: str) -> tuple[str, object]:
    from slackwater.analysis.checking.explaining import as_dict, as_text
    from slackwater.analysis.checking.fault_words import ALL_FAULTS
    from slackwater.analysis.checking.registry import all_rules

    rules = all_rules()
    if id in rules:
        return as_text(rules[id]), _data([as_dict(rules[id])])
    if id in ALL_FAULTS:
        text = f"{id}\n\n  {ALL_FAULTS[id]}\n\n  Told while reading or analysing; the finding says what to do.\n"
        return text, _data([{"rule": id, "title": ALL_FAULTS[id]}])
    from slackwater.protocol.catalogue.measures import nearest

    near = nearest(id, [*rules, *ALL_FAULTS], 0.5)
    fix = f"did you mean '{near}'?" if near else "'slackwater explain' lists all rules"
    raise InputError([Finding("unknown-rule", Severity.ERROR, f"there is no rule '{id}'", fix)])
