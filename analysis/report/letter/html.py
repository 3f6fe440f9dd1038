"""The letter as one self-contained HTML page that prints on A4: no script, everything escaped."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.audit.letter import ANSWERING, ASKING, CLOSING, OPENING, Letter
from slackwater.analysis.report.audit import words
from slackwater.analysis.report.letter.layout import claim_heading, place_of, where
from slackwater.analysis.report.page import environment


def render(letter: Letter) -> str:
    """The whole page as text, to be written as UTF-8."""
    result = letter.result
    return (
        environment("slackwater.analysis.report.letter")
        .get_template("letter.html.jinja")
        .render(
            version=__version__,
            title=result.title,
            opening=OPENING,
            asking=ASKING,
            answering=ANSWERING,
            closing=CLOSING,
            limits=words.LIMITS,
            seals=words.seals(result),
            claims=[
                (claim_heading(result, claim), claim.says, found, claim.why)
                for claim, found in letter.claims
            ],
            asked=[
                (each, where(each) if each.about else "", place_of(each.question))
                for each in letter.asked
            ],
            sources=letter.sources,
            form=letter.form,
        )
    )
