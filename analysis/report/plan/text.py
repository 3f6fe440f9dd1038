"""A plan as plain text: the answer, what it stands on, the tables, the caution."""

from __future__ import annotations

from functools import partial

from slackwater import __version__
from slackwater.analysis.planning.plan_model import CAUTION, Plan
from slackwater.analysis.report.plan import tables as plan_tables
from slackwater.analysis.report.plan import words as plan_words
from slackwater.analysis.report.plan.repeats import in_sheet, in_words
from slackwater.analysis.report.text_table import columns, paragraph


def render(plan: Plan) -> str:
    """The plan as text."""
    said, laid = partial(in_words, plan.question), partial(in_sheet, plan.question)
    parts = [paragraph(plan.seal.sentence)] if plan.seal.sentence else []
    parts.append(paragraph(said(plan_words.declared_sentence(plan))))
    if plan.supposed:
        sheet = laid(plan_tables.supposed(plan))
        parts += [f"\n{paragraph(sheet.name)}\n{columns(sheet)}", paragraph(sheet.note, indent=2)]
        parts += [f"\n{paragraph(said(text))}" for text in plan_words.hangs_on(plan)]
    parts += [f"\n{paragraph(said(plan_words.headline(plan)))}"]
    parts.append(paragraph(said(plan_words.support(plan))))
    parts += [paragraph(said(text), indent=2) for text in plan_words.details(plan)]
    for sheet in map(laid, (plan_tables.matrix(plan), plan_tables.options(plan))):
        mark = plan_words.assumed_mark(plan.question)
        name = f"{sheet.name[0].upper()}{sheet.name[1:]}{mark}"
        parts.append(f"\n{paragraph(name)}\n{columns(sheet)}")
        if sheet.note:
            parts.append(paragraph(sheet.note, indent=2))
    parts.append(f"\n{paragraph(CAUTION)}")
    parts.append(f"\nslackwater {__version__}, seed {plan.seed}")
    return "\n".join(parts) + "\n"
