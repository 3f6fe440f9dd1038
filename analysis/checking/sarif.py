"""Findings as SARIF 2.1.0, the open format in which checkers report to editors and build servers.

References
----------
OASIS Standard, *Static Analysis Results Interchange Format (SARIF) Version 2.1.0* (2020): runs, tools,
results, regions, suppressions, descriptions of rules.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path, PurePath
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from slackwater import __version__
from slackwater.protocol.findings import Finding, Place, Severity
from slackwater.protocol.rules._sources import clauses

if TYPE_CHECKING:
    from slackwater.protocol.rules._applied import Checked
    from slackwater.protocol.rules._rule import Rule

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
VERSION = "2.1.0"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "note"}


def sarif_log(
    checked: Checked, rules: Mapping[str, Rule], faults: Mapping[str, str]
) -> dict[str, Any]:
    """The log of one run of the checker.

    Parameters
    ----------
    checked : Checked
        Waived findings are carried as suppressed results, with the reason as justification. Every
        rule applied is described, whether it found anything or not.
    rules : mapping
        All rules by id.
    faults : mapping
        What the other ids stand for, in a sentence.
    """
    found = [*checked.findings, *(waived.finding for waived in checked.waived)]
    applied = {row.rule.id for row in checked.looked}
    ids = sorted(applied | {finding.rule for finding in found})
    results = [_result(finding, ids) for finding in checked.findings]
    results += [
        _result(waived.finding, ids)
        | {"suppressions": [{"kind": "inSource", "justification": waived.reason}]}
        for waived in checked.waived
    ]
    return {
        "$schema": SCHEMA,
        "version": VERSION,
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "slackwater",
                        "version": __version__,
                        "rules": [_descriptor(one, rules, faults) for one in ids],
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": results,
            }
        ],
    }


def _descriptor(id: str, rules: Mapping[str, Rule], faults: Mapping[str, str]) -> dict[str, Any]:
    rule = rules.get(id)
    if rule is None:
        about = faults.get(id)
        return {"id": id} | ({"shortDescription": {"text": about}} if about else {})
    return {
        "id": id,
        "shortDescription": {"text": rule.title},
        "fullDescription": {"text": rule.why},
        "help": {"text": f"{rule.why}\n\nMend: {rule.fix}.\n\nSource: {rule.source}."},
        "defaultConfiguration": {"level": LEVELS[rule.severity]},
        "properties": {
            "source": rule.source,
            "clauses": [clause.to_dict() for clause in clauses(rule.source)],
            "looksAt": list(rule.looks_at),
        },
    }


def _result(finding: Finding, ids: Sequence[str]) -> dict[str, Any]:
    text = finding.message + (f"\nMend: {finding.fix}" if finding.fix else "")
    result: dict[str, Any] = {
        "ruleId": finding.rule,
        "ruleIndex": ids.index(finding.rule),
        "level": LEVELS[finding.severity],
        "message": {"text": text},
    }
    if finding.place is not None:
        result["locations"] = [{"physicalLocation": _location(finding.place)}]
    about = {"session": finding.session, "run": finding.run, "source": finding.source}
    properties = {key: value for key, value in about.items() if value}
    return result | ({"properties": properties} if properties else {})


def _location(place: Place) -> dict[str, Any]:
    location: dict[str, Any] = {"artifactLocation": {"uri": _uri(place.file)}}
    if place.line is not None:
        region: dict[str, Any] = {"startLine": place.line}
        if place.column is not None:
            region["startColumn"] = place.column
        location["region"] = region
    return location


def _uri(file: str) -> str:
    """A file as a reference: relative where it was given so, for the log may travel."""
    path = PurePath(file)
    return Path(file).as_uri() if path.is_absolute() else quote(path.as_posix())
