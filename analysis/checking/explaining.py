"""A rule in full, for the terminal and for the page of all rules."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from typing import Any

from slackwater.protocol.rules._rule import Example, ProtocolRule, Rule, TrialRule

WIDTH = 88
_PARTS = (("protocol", "protocol"), ("trial", "trial"), ("runs", "table of runs"))


def subject(rule: Rule) -> str:
    """What a rule looks at: "protocol", "trial" or "runs"."""
    if isinstance(rule, ProtocolRule):
        return "protocol"
    return "trial" if isinstance(rule, TrialRule) else "runs"


def one_line(rule: Rule, width: int) -> str:
    """A rule in a line of a list."""
    return f"{rule.id:<{width}}  {rule.severity.value:<7}  {rule.title}"


def as_text(rule: Rule) -> str:
    """A rule in full, as plain text."""
    blocks = [
        f"{rule.id} ({rule.severity.value})",
        wrapped("", rule.title),
        wrapped("looks at", f"the {subject(rule)}: {', '.join(rule.looks_at)}"),
        wrapped("why", rule.why),
        wrapped("mend", rule.fix),
        wrapped("source", rule.source),
        *(_example(label, example) for label, example in _examples(rule)),
    ]
    return "\n\n".join(blocks) + "\n"


def as_dict(rule: Rule) -> dict[str, Any]:
    """A rule as JSON carries it."""
    return {
        "rule": rule.id,
        "severity": rule.severity.value,
        "subject": subject(rule),
        "title": rule.title,
        "looks_at": list(rule.looks_at),
        "why": rule.why,
        "fix": rule.fix,
        "source": rule.source,
        "examples": {
            label: {
                name: text for name in ("protocol", "trial", "runs") if (text := getattr(one, name))
            }
            for label, one in _examples(rule)
        },
    }


def fault_text(id: str, title: str, reason: str) -> str:
    """What a reader tells, in full."""
    return (
        "\n\n".join(
            [f"{id} (told while reading or analysing)", wrapped("", title), wrapped("more", reason)]
        )
        + "\n"
    )


def page(rules: Iterable[Rule]) -> str:
    """All rules as one page of Markdown."""
    every = list(rules)
    lines = [
        "# The rules",
        "",
        "Made from the rules themselves by `python -m slackwater.analysis.checking.explaining`; edit those.",
        "",
        "Each can be waived in a protocol or a trial, with a reason that every report shows:",
        "",
        "```yaml",
        "waive:",
        "  - {rule: one-block, reason: The coating cannot be taken off again.}",
        "```",
        "",
        "An example is laid over a sound file; a key without a value takes that key away, and a row",
        "takes the place of the row with the same session, set point, double run and direction.",
    ]
    for title, what in (("protocol", "a protocol"), ("trial", "a trial"), ("runs", "the runs")):
        group = [rule for rule in every if subject(rule) == title]
        lines += [
            "",
            f"## Rules on {what}",
            "",
            "| rule | severity | what is found |",
            "| --- | --- | --- |",
        ]
        lines += [f"| [{r.id}](#{r.id}) | {r.severity.value} | {r.title} |" for r in group]
        for rule in group:
            lines += ["", *_section(rule)]
    return "\n".join(lines) + "\n"


def _section(rule: Rule) -> list[str]:
    lines = [
        f"### {rule.id}",
        "",
        f"**{rule.severity.value}**: {rule.title} {rule.why}",
        "",
        f"- Looks at: {', '.join(f'`{one}`' for one in rule.looks_at)}",
        f"- Mend: {rule.fix}.",
        f"- Source: {rule.source}.",
    ]
    for label, example in _examples(rule):
        lines += ["", f"{label[0].upper()}{label[1:]}:", ""]
        for name, title in _PARTS:
            text = getattr(example, name).strip("\n")
            if text:
                kind = "csv" if name == "runs" else "yaml"
                lines += [f"```{kind}", f"# {title}", *text.split("\n"), "```"]
    return lines


def _examples(rule: Rule) -> list[tuple[str, Example]]:
    found = [("silent on", rule.passes), ("speaks on", rule.fails)]
    return found + ([("still silent on", rule.at_limit)] if rule.at_limit else [])


def wrapped(label: str, text: str) -> str:
    """A paragraph under a label of its own column."""
    lead = f"  {label:<10}" if label else "  "
    return textwrap.fill(
        text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False
    )


def _example(label: str, example: Example) -> str:
    lines = [f"  {label}"]
    for name, title in _PARTS:
        text = getattr(example, name).strip("\n")
        lines += [f"      {line}" for line in ([f"# {title}", *text.split("\n")] if text else [])]
    return "\n".join(lines)


def write_page() -> str:
    """Write the page to where the rules are; returns its path."""
    from importlib.resources import files
    from pathlib import Path

    from slackwater.analysis.checking.registry import all_rules

    path = Path(str(files("slackwater.protocol.rules") / "RULES.md"))
    path.write_text(page(all_rules().values()), encoding="utf-8", newline="\n")
    return str(path)


if __name__ == "__main__":
    print(write_page())
