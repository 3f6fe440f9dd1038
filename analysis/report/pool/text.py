"""A pool as plain text: the answer first, then figure by figure."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.many.pool_result import PoolResult
from slackwater.analysis.report.pool import tables, words
from slackwater.analysis.report.text_table import columns, paragraph
from slackwater.protocol.findings import Finding


def answer(result: PoolResult) -> str:
    """What the pool comes to, in a few lines."""
    parts = [words.INVENTED] if result.invented else []
    found = words.leading(result)
    if found is None:
        parts.append(f"{words.headline(result)}.")
    else:
        mean, *rest = words.mean_sentences(found)
        parts.append(" ".join([f"{words.headline(result)}.", mean, *rest]))
        parts.append(" ".join(words.next_sentences(found)))
        parts.append(" ".join(["How sure:", *_lowered(words.how_sure(result, found))]))
    parts += words.left_out(result)
    return "\n".join(paragraph(text) for text in parts) + "\n"


def _lowered(sentences: list[str]) -> list[str]:
    first, *rest = sentences
    return [f"{first[:1].lower()}{first[1:]}", *rest]


def render(result: PoolResult) -> str:
    """The answer, the further figures, and the tables of the figure that answers."""
    parts = [answer(result).rstrip("\n")]
    further = words.further(result)
    if further:
        parts.append("Further figures:")
        parts += [paragraph(words.further_line(sweep), indent=2) for sweep in further]
    told = [f"{finding.message[:1].upper()}{finding.message[1:]}." for finding in _told(result)]
    parts += [paragraph(text) for text in told]
    found = words.leading(result)
    if found is not None:
        for sheet in (tables.places(found, narrow=True), tables.boats(found, intervals=False)):
            parts.append(f"\n{sheet.name[:1].upper()}{sheet.name[1:]}\n{columns(sheet)}")
            parts.append(paragraph(sheet.note, indent=2))
    parts.append("\n" + paragraph(words.alone(result)))
    parts.append(paragraph(words.CAUTION))
    parts.append(f"slackwater {__version__}")
    return "\n".join(parts) + "\n"


def _told(result: PoolResult) -> list[Finding]:
    """What was found, but for trials left out, which the answer tells already."""
    return [each for each in result.findings if each.rule != "trial-left-out"]
