"""Explain a rule: what it looks at, why, how to mend it, on what text; without one, list all by subject or by source."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from typing import TYPE_CHECKING

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    write,
)
from slackwater.protocol.findings import Finding, InputError, Severity

if TYPE_CHECKING:
    from slackwater.analysis.audit.checks import Check

FORMATS = ("text", "json")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument(
        "rule",
        metavar="RULE",
        nargs="?",
        help="the id of a rule or finding, a key of a file, or a protocol that is shipped",
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
    from slackwater.analysis.checking.index_by_source import as_data, as_text
    from slackwater.analysis.checking.registry import all_rules
    from slackwater.analysis.wording.json_text import head

    rules = all_rules().values()
    return as_text(rules), {**head(), "works": as_data(rules)}


def _all() -> tuple[str, object]:
    from slackwater.analysis.checking.explaining import as_dict, one_line, subject
    from slackwater.analysis.checking.registry import all_rules

    rules = all_rules()
    width = max(len(id) for id in rules)
    lines = []
    for title, what in (("protocol", "a protocol"), ("trial", "a trial"), ("runs", "the runs")):
        group = [rule for rule in rules.values() if subject(rule) == title]
        lines += [f"on {what}", *(f"  {one_line(rule, width)}" for rule in group), ""]
    from slackwater.analysis.audit.checks import all_checks

    checks = all_checks().values()
    lines += ["on claims", *(f"  {one.id:<{width}}  check    {one.asks}" for one in checks), ""]
    lines += [
        f"{len(rules)} rules and {len(checks)} checks; slackwater explain RULE says more of each, and of whatever",
        "else a finding has in brackets, of every key of the files, and of the protocols that are shipped",
    ]
    return "\n".join(lines) + "\n", _data([as_dict(rule) for rule in rules.values()])


def _data(rules: Sequence[object]) -> dict[str, object]:
    from slackwater.analysis.wording.json_text import head

    return {**head(), "rules": rules}


def _one(id: str) -> tuple[str, object]:
    from slackwater.analysis.checking.explaining import as_dict, as_text
    from slackwater.analysis.checking.fault_words import ALL_FAULTS
    from slackwater.analysis.checking.registry import all_rules

    rules = all_rules()
    if id in rules:
        return as_text(rules[id]), _data([as_dict(rules[id])])
    from slackwater.analysis.audit.checks import all_checks

    checks = all_checks()
    if id in checks:
        return _check(checks[id])
    if id in ALL_FAULTS:
        from slackwater.analysis.checking.explaining import fault_text
        from slackwater.analysis.checking.fault_reasons import REASONS

        told = {"rule": id, "title": ALL_FAULTS[id], "why": REASONS[id]}
        return fault_text(id, ALL_FAULTS[id], REASONS[id]), _data([told])
    other = _no_rule(id)
    if other is not None:
        return other
    from slackwater.analysis.checking.explaining_keys import all_keys
    from slackwater.protocol.catalogue.measures import nearest

    near = nearest(
        id, [*rules, *checks, *ALL_FAULTS, *dict.fromkeys(key.name for key in all_keys())], 0.6
    )
    fix = f"did you mean '{near}'?" if near else "'slackwater explain' lists all rules"
    raise InputError([Finding("unknown-rule", Severity.ERROR, f"there is no rule '{id}'", fix)])


def _check(check: Check) -> tuple[str, object]:
    """A check on claims, and the key of a file of the same name where there is one."""
    other = _no_rule(check.id)
    text = check.as_text() if other is None else f"{check.as_text()}\n{other[0]}"
    return text, _data([check.as_dict()])


def _no_rule(name: str) -> tuple[str, object] | None:
    """A key of a file, or a protocol that is shipped; None where it is neither."""
    from slackwater.analysis.checking import explaining_keys
    from slackwater.protocol.library import shipped

    keys = explaining_keys.keys_named(name)
    if keys:
        return explaining_keys.as_text(keys), {
            **_data([]),
            "keys": [explaining_keys.as_dict(key) for key in keys],
        }
    if name in shipped():
        from slackwater.protocol.declared.protocol import load_protocol

        title = load_protocol(name).title
        text = (
            f"{name} (a protocol that is shipped)\n\n  {title}.\n\n  'slackwater new protocol --from "
            f"{name}' starts from it, 'slackwater plan {name}' shows what it sees.\n"
        )
        return text, {**_data([]), "protocols": [{"id": name, "title": title}]}
    return None
