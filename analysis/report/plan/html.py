"""A plan as one self-contained HTML page: no script, nothing fetched, same input same bytes."""

from __future__ import annotations

from functools import partial

from slackwater import __version__
from slackwater.analysis.planning.plan_model import CAUTION, Plan
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.plan import picture as plan_plot
from slackwater.analysis.report.plan import tables as plan_tables
from slackwater.analysis.report.plan import words as plan_words
from slackwater.analysis.report.plan.repeats import in_sheet, in_words
from slackwater.analysis.report.svg import draw


def render(plan: Plan) -> str:
    """The whole page as text, to be written as UTF-8."""
    from markupsafe import Markup

    said, laid = partial(in_words, plan.question), partial(in_sheet, plan.question)
    caption = said(
        "Each line is a number of sessions with each configuration, each mark one double run more. "
        "The dashes are the difference asked about; the ring is the plan."
    )
    label = f"{caption} {plan_words.headline(plan)}"
    return (
        environment("slackwater.analysis.report.plan")
        .get_template("plan.html.jinja")
        .render(
            version=__version__,
            title=plan_words.title(plan.question),
            assumed=plan_words.assumed_mark(plan.question),
            protocol=plan.protocol,
            seal=plan.seal.sentence,
            answer=said(plan_words.headline(plan)),
            declared=said(plan_words.declared_sentence(plan)),
            supposed=laid(plan_tables.supposed(plan)) if plan.supposed else None,
            details=[
                said(text)
                for text in (
                    plan_words.support(plan),
                    *plan_words.hangs_on(plan),
                    *plan_words.details(plan),
                )
            ],
            caution=CAUTION,
            caption=caption,
            picture=Markup(draw(partial(plan_plot.paint, plan), "plan", label)),
            matrix=laid(plan_tables.matrix(plan, whole=True)),
            efficient=laid(plan_tables.options(plan)),
            whole=laid(plan_tables.options(plan, whole=True)),
            seed=plan.seed,
        )
    )
