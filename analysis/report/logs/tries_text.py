"""The tries found in logs as plain text: by session, and all that is no try, with its reason."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from slackwater import __version__
from slackwater.analysis.handling.figures import Figure
from slackwater.analysis.handling.tries_result import SessionTries, TriesResult
from slackwater.analysis.report.logs.tries_words import read_by
from slackwater.analysis.report.text_table import Sheet, columns, paragraph
from slackwater.analysis.wording.numbers import MISSING, fixed, unit_text
from slackwater.analysis.wording.words import quantity_title

MOST_LISTED = 20  # stretches of a session that are no tries


def render(result: TriesResult) -> str:
    """All sessions, sources and notes."""
    parts = [paragraph(f"{result.trial.trial}: {result.summary}.")]
    for each in result.sessions:
        parts.append("\n" + "\n".join(_session(result, each)))
    if result.choices:
        parts.append("\n" + paragraph("Sources, the same for all sessions:"))
        parts += [
            paragraph(f"  {quantity_title(each.quantity)}: {each.source} ({each.why})")
            for each in result.choices
        ]
    parts += ["", *(paragraph(text) for text in read_by(result.read_by))]
    parts += [paragraph(f"Note: {note}.") for note in result.notes]
    parts.append(f"\nslackwater {__version__}")
    return "\n".join(parts) + "\n"


def _session(result: TriesResult, each: SessionTries) -> Iterator[str]:
    name = each.span.session
    if not each.tries:
        yield paragraph(f"{name}: no try was found.")
    for manoeuvre in dict.fromkeys(one.manoeuvre for one in each.tries):
        yield paragraph(f"{name}, {manoeuvre.replace('_', ' ')}:")
        yield columns(tries_sheet(result, [each], manoeuvre))
    for text in remarks(each):
        yield paragraph(f"  {text}")
    yield from (paragraph(f"  {note[:1].upper()}{note[1:]}.") for note in each.notes)
    for (manoeuvre, way), (found, planned) in each.counts.items():
        if found != planned:
            to = f" {way}" if way else ""
            yield paragraph(
                f"  {manoeuvre.replace('_', ' ')}{to}: {found} found, {planned} planned."
            )
    if each.left_out:
        yield paragraph("  No tries:")
        rows = tuple(left_out_rows(result, each))
        yield columns(Sheet("no tries", ("from", "to", "why"), rows[:MOST_LISTED]))
        if len(rows) > MOST_LISTED:
            yield f"  … and {len(rows) - MOST_LISTED} more; all are in the JSON."


def tries_sheet(result: TriesResult, sessions: Sequence[SessionTries], manoeuvre: str) -> Sheet:
    """The tries of one manoeuvre as a table; with the session of each where there are several."""
    tries = [
        (each.span.session, one)
        for each in sessions
        for one in each.tries
        if one.manoeuvre == manoeuvre
    ]
    units = {name: figure.unit for _, one in tries for name, figure in one.values.items()}
    titles = (f"{name.replace('_', ' ')} [{unit_text(unit)}]" for name, unit in units.items())
    first = ("session",) if len(sessions) > 1 else ()
    headings = (*first, "start", "direction", "try", *titles, "set aside")
    rows = tuple(
        (
            *((session,) if first else ()),
            result.clock(one.start)[11:],
            one.direction or MISSING,
            str(one.number),
            *(figure_text(one.values.get(name)) for name in units),
            one.aside,
        )
        for session, one in tries
    )
    at = len(first) + 2
    return Sheet(f"tries of {manoeuvre}", headings, rows, frozenset(range(at, at + 1 + len(units))))


def figure_text(figure: Figure | None) -> str:
    """A figure with its standard uncertainty, where that is known."""
    if figure is None or figure.value is None:
        return MISSING
    decimals = 2 if figure.unit in ("kn", "s", "deg") else 1
    told = fixed(figure.value, decimals)
    return told if figure.uncertainty is None else f"{told} ± {fixed(figure.uncertainty, decimals)}"


def remarks(each: SessionTries, *, turns: bool = True) -> Iterator[str]:
    """What has to be said of tries, each once with those that it is said of; of turns only where it is not told elsewhere."""
    told: dict[str, list[str]] = {}
    for one in each.tries:
        for note in one.notes if turns or one.circle is None else ():
            told.setdefault(note, []).append(f"{one.manoeuvre} {one.direction} {one.number}".replace("  ", " "))  # fmt: skip
    for note, which in told.items():
        named = ", ".join(which) if len(which) <= 4 else f"{len(which)} tries"
        yield f"{named}: {note}."


def left_out_rows(result: TriesResult, each: SessionTries) -> Iterator[tuple[str, str, str]]:
    """Stretches that might be taken for a try, and why they are none."""
    for left in each.left_out:
        yield result.clock(left.start)[11:], result.clock(left.end)[11:], left.reason
