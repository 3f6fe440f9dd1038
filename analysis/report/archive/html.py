"""An archive as one self-contained HTML page: the answer first; no script, nothing fetched."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.archive.answer import ArchiveResult
from slackwater.analysis.report.archive import method_words, words
from slackwater.analysis.report.archive.chart import CAPTION, picture
from slackwater.analysis.report.page import environment


def render(result: ArchiveResult) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    templates = environment("slackwater.analysis.report.archive")
    sections = [
        ("verdicts", "Verdicts by quantity", words.verdict_sheet(result)),
        ("differing", "Verdicts that differ", words.differing_sheet(result)),
        ("broken", "Cannot be analysed", words.broken_sheet(result)),
        ("rules", "What the rules found", words.rule_sheet(result)),
        ("trials", "Trials", words.trial_sheet(result)),
    ]
    method = result.method
    charts = [
        {
            "says": method_words.chart_sentence(each),
            "precision": method_words.precision_sentence(each.series.quantity, found, each)
            if (found := method.precision.get(each.series.quantity))
            else "",
            "picture": Markup(picture(each)),
        }
        for each in method.charts
    ]
    return templates.get_template("archive.html.jinja").render(
        version=__version__,
        result=result,
        answer=words.answer(result),
        verdicts=words.verdicts(result) if result.trials else "",
        looked=words.to_look_at(result),
        noise=list(method_words.noise_sentences(method)),
        groups=method_words.group_sheet(method),
        charts=charts,
        caption=CAPTION,
        not_told=method.not_told,
        left_out=method_words.left_out(method),
        sections=[each for each in sections if each[2].rows],
    )
