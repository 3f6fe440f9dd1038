"""Two versions of a protocol as text: which way it goes, what changed, what becomes of trials."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.analysis.report.text_table import paragraph
from slackwater.analysis.versions.changes import Sense
from slackwater.analysis.versions.since import SinceResult, Version
from slackwater.analysis.versions.smallest import POWER, Smallest
from slackwater.analysis.versions.trials import TrialHeld
from slackwater.analysis.wording.numbers import decimals_for, fixed
from slackwater.protocol.findings import Finding

_MEANING = {
    "the same": "It asks the same of a trial.",
    "stricter": "It asks more of a trial, and less in nothing.",
    "looser": "It asks less of a trial, and more in nothing.",
    "different": "It asks other things of a trial, neither more nor less.",
    "stricter and looser": "It asks more of a trial in some things and less in others.",
    "stricter and different": "It asks more of a trial in some things, and other things besides.",
    "looser and different": "It asks less of a trial in some things, and other things besides.",
}
_SOURCES = {"sessions": "where sessions scatter", "runs": "where runs do"}


def render(result: SinceResult) -> str:
    """The answer as text."""
    lines = [paragraph(headline(result))]
    lines += [paragraph(f"  {version.seal.sentence}") for version in _sealed(result)]
    lines += ["", *_changes(result)] if result.changes else []
    lines += ["", *_smallest(result)] if result.smallest else []
    lines += (
        ["", *(line for trial in result.trials for line in _trial(trial))] if result.trials else []
    )
    return "\n".join(lines) + "\n"


def headline(result: SinceResult) -> str:
    """The answer in two sentences."""
    new, old = result.new, result.old
    names = f"{new.id} {new.version} ({new.file}) since {old.id} {old.version} ({old.file})"
    if new.sha256 == old.sha256:
        return f"{names}: the very same bytes."
    return f"{names}: {result.sense}. {_MEANING[result.sense]}"


def _sealed(result: SinceResult) -> list[Version]:
    return [each for each in (result.old, result.new) if each.seal.sentence]


def _changes(result: SinceResult) -> Iterator[str]:
    width = max(len(sense.value) for sense in Sense)
    for sense in (Sense.STRICTER, Sense.LOOSER, Sense.DIFFERENT):
        for change in result.changes:
            if change.sense is sense:
                told = f"{change.key}: {change.old or 'not declared'} -> {change.new or 'not declared'}"
                yield paragraph(f"{sense.value:<{width}}  {told}", indent=2)
    words = [change.key for change in result.changes if change.sense is Sense.WORDS]
    if words:
        yield paragraph(f"{Sense.WORDS.value:<{width}}  {', '.join(words)}", indent=2)


def _smallest(result: SinceResult) -> Iterator[str]:
    known = [one for one in result.smallest if one.noise == "declared"]
    supposed = [one for one in result.smallest if one.noise != "declared"]
    yield paragraph(
        f"The smallest difference seen with {POWER} power, as the protocol declares it:"
    )
    for one in known:
        yield paragraph(
            f"{one.quantity}: {_size(one, one.old)} before, {_size(one, one.new)} now", indent=2
        )
    if supposed:
        yield paragraph(_ratios(supposed), indent=2)


def _size(one: Smallest, value: float | None) -> str:
    if value is None:
        return "nothing can be told"
    number, unit = (value, one.unit) if one.unit else (100 * value, "%")
    return f"{fixed(number, decimals_for(number))} {unit}"


def _ratios(supposed: list[Smallest]) -> str:
    told = [
        f"{fixed(one.ratio, 2)} of what it was {_SOURCES[one.noise]}"
        for one in supposed
        if one.ratio is not None
    ]
    if not told:
        lost = all(one.new is None for one in supposed)
        return f"nothing can be told {'any more' if lost else 'before, and something can now'}"
    return f"{', '.join(told)} (neither version declares noise)"


def _trial(trial: TrialHeld) -> Iterator[str]:
    about = "" if trial.run_to else " (it was not run to the old version's bytes)"
    if trial.satisfies:
        yield paragraph(f"{trial.file}: satisfies the new version{about}")
    else:
        yield paragraph(f"{trial.file}: does not satisfy the new version{about}")
        yield from (paragraph(text, indent=2) for text in _departures(trial))
    if trial.unseen:
        yield paragraph(f"could not be looked at: {', '.join(trial.unseen)}", indent=2)


def _departures(trial: TrialHeld) -> Iterator[str]:
    """A line a rule: the first of what it found, and how much more there is."""
    by_rule: dict[str, list[Finding]] = {}
    for finding in trial.broken:
        by_rule.setdefault(finding.rule, []).append(finding)
    for rule, found in by_rule.items():
        more = f" (and {len(found) - 1} more)" if len(found) > 1 else ""
        place = f"{found[0].place}: " if found[0].place else ""
        yield f"{place}{found[0].message} [{rule}]{more}"
