"""The templates that pages are made from: every text escaped, control characters made visible."""

from __future__ import annotations

from typing import TYPE_CHECKING

from slackwater.analysis.wording.characters import printable

if TYPE_CHECKING:
    import jinja2


def environment(room: str) -> jinja2.Environment:
    """The templates of one kind of report, and those that all of them share.

    Parameters
    ----------
    room : str
        A package of renderers, such as "slackwater.analysis.report.plan".
    """
    import jinja2

    return jinja2.Environment(
        loader=jinja2.ChoiceLoader(
            [jinja2.PackageLoader(room), jinja2.PackageLoader("slackwater.analysis.report")]
        ),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        finalize=lambda value: printable(value) if type(value) is str else value,
    )
