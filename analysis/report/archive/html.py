"""An archive as one self-contained HTML page: the answer first; no script, nothing fetched."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.report.archive import words
from slackwater.analysis.report.page import environment


def render(result: ArchiveResult) -> str:
    """The whole page as text, to be written as UTF-8."""
    templates = environment("slackwater.analysis.report.archive")
    sections = [
        ("verdicts", "Verdicts by quantity", words.verdict_sheet(result)),
        ("differing", "Verdicts that differ", words.differing_sheet(result)),
        ("broken", "Cannot be analysed", words.broken_sheet(result)),
        ("rules", "What the rules found", words.rule_sheet(result)),
        ("trials", "Trials", words.trial_sheet(result)),
    ]
    return templates.get_template("archive.html.jinja").render(
        version=__version__,
        result=result,
        answer=words.answer(result),
        verdicts=words.verdicts(result) if result.trials else "",
        looked=words.to_look_at(result),
        sections=[each for each in sections if each[2].rows],
    )
