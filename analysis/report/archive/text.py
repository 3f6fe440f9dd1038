"""An archive as plain text."""

from __future__ import annotations

from collections.abc import Iterator

from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.report.archive import method_words, words
from slackwater.analysis.report.text_table import columns, paragraph


def render(result: ArchiveResult) -> str:
    """The answer, what to look at, and the tables that are short enough to read."""
    return "\n".join(_lines(result)) + "\n"


def _lines(result: ArchiveResult) -> Iterator[str]:
    yield paragraph(words.answer(result))
    if result.trials:
        yield paragraph(words.verdicts(result))
    looked = words.to_look_at(result)
    if looked:
        yield from ("", "To look at:")
        yield from (paragraph(f"- {each}", indent=2) for each in looked)
    yield from _method(result)
    if result.verdicts:
        yield from ("", columns(words.verdict_sheet(result)))
    if result.differing:
        yield from ("", "Verdicts that differ:")
        sheet = words.differing_sheet(result)
        for path, figure, verdict, why in sheet.rows:
            yield paragraph(f"{path}: {figure}: {verdict}. {why}", indent=2)
        yield from _note(sheet.note)
    if result.broken:
        yield from ("", "Cannot be analysed:")
        sheet = words.broken_sheet(result)
        yield from (paragraph(f"{path}: {why}", indent=2) for path, why in sheet.rows)
        yield from _note(sheet.note)
    if result.rules:
        yield from ("", "What the rules found, in how many trials:")
        for each in result.rules:
            yield paragraph(f"{each.trials:>5}  {each.severity} {each.rule}", indent=2)
    yield from ("", paragraph(f"Kept in {result.store}; --sql asks it anything else."))


def _method(result: ArchiveResult) -> Iterator[str]:
    method = result.method
    if not result.trials:
        return
    yield from ("", "The method:")
    yield from (paragraph(f"- {each}", indent=2) for each in method_words.noise_sentences(method))
    for chart in method.charts:
        yield paragraph(f"- {method_words.chart_sentence(chart)}", indent=2)
        quantity = chart.series.quantity
        if found := method.precision.get(quantity):
            told = method_words.precision_sentence(quantity, found, chart)
            yield paragraph(f"- {told}", indent=2)
    yield from (paragraph(f"- {each}.", indent=2) for each in method.not_told)
    for each in method_words.left_out(method):
        yield paragraph(f"- {each}", indent=2)
    sheet = method_words.group_sheet(method)
    if sheet.rows:
        yield from ("", columns(sheet))


def _note(note: str) -> Iterator[str]:
    if note:
        yield paragraph(note, indent=2)
