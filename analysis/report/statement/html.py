"""The statement as one self-contained HTML page: no script, nothing fetched, everything escaped."""

from __future__ import annotations

from functools import partial

from slackwater import __version__
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.statement.layout import INTRODUCTION, LIMITS, parts
from slackwater.analysis.report.statement.picture import paint
from slackwater.analysis.report.svg import draw
from slackwater.analysis.statement.contents import Statement
from slackwater.analysis.wording.characters import printable


def render(statement: Statement) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    section = statement.pictured
    label = printable(statement.caption)
    drawn = draw(partial(paint, section), "statement", label) if section else ""
    return (
        environment("slackwater.analysis.report.statement")
        .get_template("statement.html.jinja")
        .render(
            statement=statement,
            parts=parts(statement),
            picture=Markup(drawn),
            introduction=INTRODUCTION,
            limits=LIMITS,
            version=__version__,
        )
    )
