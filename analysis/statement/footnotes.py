"""What stands under a statement: how it was got, in what conditions, and what it does not tell."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from slackwater import __version__
from slackwater.analysis.result.result import Result
from slackwater.analysis.statement.lines import Line, Said
from slackwater.analysis.statement.sections import Section
from slackwater.analysis.wording.numbers import (
    NBSP,
    fixed,
    uncertainty_text,
    unit_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, quantity_title
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import convert

_LISTED = 12  # findings told one by one


def what_was_run(result: Result) -> tuple[str, ...]:
    """Boat, sessions, days and runs, in sentences; last and at length, runs that are in doubt."""
    sessions: dict[str, set[str]] = {}
    days: set[str] = set()
    for row in result.records("session_values"):
        sessions.setdefault(row["configuration"], set()).add(row["session"])
        if row["date"]:
            days.add(row["date"])
    names = result.configurations
    each = [
        f"{len(found)} with “{names.get(name, name)}”"
        for name in names
        if (found := sessions.get(name))
    ]
    total = sum(len(found) for found in sessions.values())
    when = ""
    if days:
        first, last = min(days), max(days)
        when = f" on {first}" if first == last else f" between {first} and {last}"
    runs = result.runs
    boat = f"{result.boat} was" if result.boat else "The boat was"
    told = [
        f"{boat} run in {count_of(total, 'session')}{when}: {' and '.join(each) or 'none'}.",
        f"Of {count_of(runs.read, 'run')}, {runs.used} were used and {runs.set_aside} set aside."
        if runs.read
        else "The trial has no runs, so that nothing here tells at which speed it was.",
    ]
    if any(row.final is False for row in result.compared):
        told.append("The trial goes on: what is not shown here may be shown at its end.")
    return (*told, *result.doubts)


def cannot_tell(result: Result, sections: Sequence[Section]) -> tuple[str, ...]:
    """What the trial does not tell, in sentences."""
    return tuple(dict.fromkeys(_untold(result, sections)))


def _raters(result: Result) -> Iterator[str]:
    """What ratings do not tell: other raters, and with raters who knew, much of anything."""
    items = result.records("ratings")
    if not items:
        return
    text = "Ratings are those of the raters of this trial; others may feel otherwise."
    if items[0]["blinding"] != "blind":
        text += (
            f" They are {items[0]['blinding']}: {items[0]['blinding_why']}. What was hoped for stands "
            "in the scores."
            if items[0]["blinding"] == "not blind"
            else f" In them, {items[0]['blinding']}: {items[0]['blinding_why']}."
        )
    yield text


def _manoeuvres(result: Result) -> Iterator[str]:
    """What manoeuvres do not tell: other hands, and what a current did where it was left in."""
    rows = result.records("manoeuvres")
    if not rows:
        return
    yield "Manoeuvres are those of the helmsmen of this trial; other hands are quicker or slower."
    left = dict.fromkeys(str(row["title"]) for row in rows if row["current"] == "none")
    if left:
        yield f"What current and wind did to a try is still in: {'; '.join(left)}."
    one_way = dict.fromkeys(str(row["title"]) for row in rows if row["directions"] == "one_way")
    if one_way:
        yield f"Tried one way only: {'; '.join(one_way)}."


def _untold(result: Result, sections: Sequence[Section]) -> Iterator[str]:
    for section in sections:
        yield from _too_small(section)
        yield from _untested(section)
    yield from _untested_figures(result)
    yield (
        "It does not tell what a difference is due to: whatever else changed together with the "
        "configuration is in it."
    )
    yield (
        "It holds for this boat, as loaded and in the conditions below; of other boats, loadings and "
        "waters it tells nothing, and between and beyond the places listed nothing is stated."
    )
    yield from _raters(result)
    yield from _manoeuvres(result)
    yield from _deciding(result)
    if result.seal.state == "none":
        yield "No seal shows that the protocol stood before the first run."
    elif result.seal.state != "kept":
        yield f"The seal does not show that the protocol stood before the first run: {result.seal.message}."
    for row in result.records("leanings"):
        if row["remark"]:
            yield f"What decides leans on this: {str(row['message']).rstrip('.')}."


def _too_small(section: Section) -> Iterator[str]:
    groups: dict[str, list[Line]] = {}
    for line in section.lines:
        floor = line.row.noise_floor
        if line.said not in (Said.NOT_SHOWN, Said.WITHIN) or floor is None:
            continue
        ratio = line.row.scale == "ratio"
        unit = "%" if ratio else unit_text(line.row.unit)
        size = with_unit(uncertainty_text(100 * floor if ratio else floor), unit)
        groups.setdefault(size, []).append(line)
    if groups:
        told = "; ".join(size + section.where(lines) for size, lines in groups.items())
        yield f"A difference in {section.title} could not have been told from none below {told}."


def _untested(section: Section) -> Iterator[str]:
    reasons: dict[str, list[Line]] = {}
    for line in section.lines:
        if line.said is Said.NOT_TESTED:
            reasons.setdefault(line.row.reason.rstrip("."), []).append(line)
    for reason, lines in reasons.items():
        yield f"Of {section.title}{section.where(lines)} the trial gives no verdict: {reason}."


def _untested_figures(result: Result) -> Iterator[str]:
    reasons: dict[str, list[str]] = {}
    for row in result.compared:
        if row.position is None and row.verdict == "untestable":
            titles = reasons.setdefault(row.reason.rstrip("."), [])
            if (title := quantity_title(row.quantity)) not in titles:
                titles.append(title)
    for reason, titles in reasons.items():
        yield f"Of {' and '.join(titles)} the trial gives no verdict: {reason}."


def _deciding(result: Result) -> Iterator[str]:
    found = result.deciding
    if found is None:
        yield "The protocol names no figure that decides; the more figures are read, the likelier one errs."
        return
    figure = found.figure.replace("_", " ")
    if not found.told:
        yield f"The protocol names {figure} as the figure that decides, and the trial does not give it."
        return
    error = with_unit(f"{100 * found.error:.3g}", "%")
    text = f"Up to {error} of such trials name a difference in {figure} that is not there"
    if found.further:
        rest = with_unit(fixed(100 * found.further_error, 0), "%")
        text += f"; the {count_of(found.further, 'further figure')} may together err somewhere in up to {rest}"
    yield text + "."


def footnotes(result: Result) -> tuple[str, ...]:
    """Rounding, conditions, deviations, what was left out: a sentence or two each."""
    return tuple(_notes(result))


def _notes(result: Result) -> Iterator[str]:
    yield (
        "Values and changes are rounded so that their uncertainty keeps at most two digits (JCGM "
        "100:2008, 7.2.6). The intervals of values hold the declared uncertainty of the instruments, but "
        "for figures of the whole sweep; in a change it cancels as far as one instrument served both configurations. “Not shown”: within what noise alone would give. “Higher” or “lower” "
        "without a size: the interval is too wide for one size to stand for it."
    )
    yield _conditions(result)
    yield from _findings(result.deviations, "The trial departs from its protocol")
    if not result.deviations:
        yield "No departure of the trial from its protocol was found."
    weighty = [each for each in result.findings if each.severity is not Severity.ADVICE]
    yield from _findings(tuple(weighty), "Found in the files")
    if aside := Counter(row["reason"] for row in result.records("set_aside")):
        told = "; ".join(f"{reason} ({count})" for reason, count in aside.items())
        yield f"Runs set aside, with the reason on record: {told}."
    for waiver in result.waivers:
        yield f"Rule waived, with the reason on record: {waiver.rstrip('.')}."
    corrected = dict.fromkeys(
        str(row["of"]).replace("_", " ") for row in result.records("corrections")
    )
    if corrected:
        yield f"Differences are corrected for {' and '.join(corrected)}."


def _conditions(result: Result) -> str:
    noted: dict[str, list[dict[str, object]]] = {}
    rows = result.records("conditions")
    for row in rows:
        noted.setdefault(row["condition"], []).append(row)
    if not noted:
        return "No conditions were noted."
    sessions = len({row["session"] for row in result.records("session_values")})
    parts = [_range(name, found, sessions) for name, found in noted.items()]
    return f"Conditions over the sessions: {'; '.join(parts)}."


def _range(name: str, rows: list[dict[str, object]], sessions: int) -> str:
    unit = str(rows[0]["unit"])
    values = [convert(float(str(row["value"])), str(row["unit"]), unit) for row in rows]
    low, high = f"{min(values):.4g}", f"{max(values):.4g}"
    size = low if low == high else f"{low} to {high}"
    text = f"{name.replace('_', ' ')} {with_unit(size, '' if unit == '1' else unit_text(unit))}"
    return (
        text if len(rows) >= sessions else f"{text} (noted of {len(rows)} of {sessions} sessions)"
    )


def _findings(found: tuple[Finding, ...], lead: str) -> Iterator[str]:
    if not found:
        return
    told = "; ".join(each.message.rstrip(".") for each in found[:_LISTED])
    more = f"; and {len(found) - _LISTED} more" if len(found) > _LISTED else ""
    yield f"{lead}: {told}{more}."


def provenance(result: Result) -> tuple[str, ...]:
    """Protocol, seal, files with their hashes, and the program."""
    stamp, seal = result.protocol, result.seal
    version = f" {stamp.version}" if stamp.version else ""
    lines = [f"protocol {stamp.id}{version}, SHA-256 {stamp.sha256}"]
    lines += [
        f"{each.role} {each.name}, SHA-256 {each.sha256}"
        for each in result.inputs
        if each.role != "protocol"
    ]
    lines.append(f"seal: {seal.message}")
    lines.append(f"slackwater{NBSP}{__version__}")
    return tuple(lines)
