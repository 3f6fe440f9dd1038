"""The record of conformity as one self-contained HTML page: no script, same input same bytes."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.checking.check_result import CheckResult
from slackwater.analysis.checking.record import Record, works
from slackwater.analysis.report.conformity import words
from slackwater.analysis.report.page import environment
from slackwater.protocol.rules._outcome import Outcome


def render(result: CheckResult) -> str:
    """The whole page as text, to be written as UTF-8."""
    templates = environment("slackwater.analysis.report.conformity")
    records = [_shown(each.record) for each in result.seen]
    return templates.get_template("record.html.jinja").render(
        version=__version__,
        title=words.title([each.record for each in result.seen]),
        records=records,
        reading=words.READING,
    )


def _shown(record: Record) -> dict[str, object]:
    """What the template shows of one file."""
    return {
        "heading": words.heading(record),
        "under": words.under(record),
        "seal": words.seal(record),
        "summary": words.summary(record),
        "inputs": record.identity.inputs if record.identity else (),
        "groups": [
            (words.GROUPS[outcome], outcome.value, words.group(record, outcome))
            for outcome in (
                Outcome.BROKEN,
                Outcome.WAIVED,
                Outcome.UNSEEN,
                Outcome.NOT_APPLICABLE,
                Outcome.HELD,
            )
            if any(row.outcome is outcome for row in record.rows)
        ],
        "others": record.others,
        "works": works(record.rows),
    }
