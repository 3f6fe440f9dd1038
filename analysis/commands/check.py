"""Look over protocols and trials: faults, methods that cannot work, trials not run as declared."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from slackwater.analysis.commands.output import (
    add_output_arguments,
    check_output,
    chosen_format,
    complain,
    shown,
    summary,
    write,
)
from slackwater.protocol.findings import Finding, Severity

if TYPE_CHECKING:
    from slackwater.analysis.checking.examine import Examined
    from slackwater.protocol.rules._applied import Checked

FORMATS = ("text", "json", "sarif")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what this command takes."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="protocols and trials, YAML")
    add_output_arguments(parser, FORMATS)


def run(args: argparse.Namespace) -> int:
    """Check and write; 0 clean or with advice only, 1 with errors or warnings, 2 unreadable.

    Raises
    ------
    InputError
        When the output cannot be written.
    """
    check_output(args.output, args.files)
    from slackwater.analysis.checking.examine import examine

    seen = [examine(file) for file in dict.fromkeys(args.files)]
    checked = _together(seen)
    chosen = "sarif" if _is_sarif(args) else chosen_format(args, FORMATS)
    if chosen == "text":
        write(shown(_text(checked, seen)), args.output)
        if args.output is not None:
            complain(_count(checked, len(seen)))
    else:
        from slackwater.analysis.result.json_text import to_json

        data = _sarif(checked) if chosen == "sarif" else _json(checked, seen)
        write(to_json(data), args.output)
    if not all(each.usable for each in seen):
        return 2
    return int(any(each.severity is not Severity.ADVICE for each in checked.findings))


def _is_sarif(args: argparse.Namespace) -> bool:
    return not args.format and str(args.output or "").lower().endswith(".sarif")


def _together(seen: list[Examined]) -> Checked:
    """All findings by file and line; one that two trials share by their protocol is told once."""
    from slackwater.protocol.rules._applied import Checked

    findings = dict.fromkeys(one for each in seen for one in each.checked.findings)
    waived = dict.fromkeys(one for each in seen for one in each.checked.waived)
    return Checked(
        tuple(sorted(findings, key=_order)),
        tuple(sorted(waived, key=lambda each: _order(each.finding))),
    )


def _order(finding: Finding) -> tuple[str, int, int]:
    place = finding.place
    return (place.file, place.line or 0, place.column or 0) if place else ("", 0, 0)


def _waivers(checked: Checked, seen: list[Examined]) -> list[dict[str, Any]]:
    declared = {
        (file, waiver.rule): waiver.reason for each in seen for file, waiver in each.waivers
    }
    silenced = [waived.finding.rule for waived in checked.waived]
    return [
        {"file": file, "rule": rule, "reason": reason, "silenced": silenced.count(rule)}
        for (file, rule), reason in declared.items()
    ]


def _json(checked: Checked, seen: list[Examined]) -> dict[str, Any]:
    return {
        "schema": 1,
        "findings": [each.to_dict() for each in checked.findings],
        "waivers": _waivers(checked, seen),
        "waived": [each.finding.to_dict() | {"reason": each.reason} for each in checked.waived],
    }


def _sarif(checked: Checked) -> dict[str, Any]:
    from slackwater.analysis.checking.applying import all_rules
    from slackwater.analysis.checking.fault_words import ALL_FAULTS
    from slackwater.analysis.checking.sarif import sarif_log

    return sarif_log(checked, all_rules(), ALL_FAULTS)


def _count(checked: Checked, files: int) -> str:
    waived = f", {len(checked.waived)} waived" if checked.waived else ""
    why = "; 'slackwater explain RULE' says why" if checked.findings else ""
    return f"{summary(checked.findings)}{waived} in {files} file{'' if files == 1 else 's'}{why}"


def _text(checked: Checked, seen: list[Examined]) -> str:
    lines = [each.render() for each in checked.findings]
    for waiver in _waivers(checked, seen):
        count = waiver["silenced"]
        told = "silences nothing" if not count else f"silences {count}"
        lines.append(f"{waiver['file']}: waived [{waiver['rule']}], {told}: {waiver['reason']}")
    lines.append(_count(checked, len(seen)))
    return "\n".join(lines) + "\n"
