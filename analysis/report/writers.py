"""Which renderer writes which answer. Nothing is loaded before something is written."""

from __future__ import annotations

from typing import Any

from slackwater.analysis.wording.answer import Writer, written_by


def _analysis_text(result: Any) -> str:
    from slackwater.analysis.report.trial.terminal import render

    return render(result)


def _analysis_page(result: Any) -> str:
    from slackwater.analysis.report.trial.html import render

    return render(result)


def _audit_text(result: Any) -> str:
    from slackwater.analysis.report.audit.text import render

    return render(result)


def _audit_page(result: Any) -> str:
    from slackwater.analysis.report.audit.html import render

    return render(result)


def _audit_cells(result: Any) -> str:
    from slackwater.analysis.report.audit.csv import render

    return render(result)


def _plan_text(plan: Any) -> str:
    from slackwater.analysis.report.plan.text import render

    return render(plan)


def _plan_page(plan: Any) -> str:
    from slackwater.analysis.report.plan.html import render

    return render(plan)


def _noise_text(noise: Any) -> str:
    from slackwater.analysis.report.noise.text import render

    return render(noise)


def _logs_text(logs: Any) -> str:
    from slackwater.analysis.report.logs.text import render

    return render(logs)


def _logs_page(logs: Any) -> str:
    from slackwater.analysis.report.logs.page import render

    return render(logs)


def _cut_page(cut: Any) -> str:
    from slackwater.analysis.report.logs.page import render_cut

    return render_cut(cut)


def _cut_text(cut: Any) -> str:
    from slackwater.analysis.report.logs.cut_text import render

    return render(cut)


def _cut_cells(cut: Any) -> str:
    from slackwater.analysis.steady.run_rows import to_csv

    return to_csv(cut)


def _tries_text(tries: Any) -> str:
    from slackwater.analysis.report.logs.tries_text import render

    return render(tries)


def _tries_page(tries: Any) -> str:
    from slackwater.analysis.report.logs.page import render_tries

    return render_tries(tries)


def _tries_cells(tries: Any) -> str:
    from slackwater.analysis.handling.tries_table import to_csv

    return to_csv(tries)


def _check_text(checked: Any) -> str:
    from slackwater.analysis.report.check import render

    return render(checked)


def _check_page(checked: Any) -> str:
    from slackwater.analysis.report.conformity.html import render

    return render(checked)


def _statement_text(statement: Any) -> str:
    from slackwater.analysis.report.statement.markdown import render

    return render(statement)


def _statement_page(statement: Any) -> str:
    from slackwater.analysis.report.statement.html import render

    return render(statement)


def _statement_cells(statement: Any) -> str:
    from slackwater.analysis.report.statement.csv import render

    return render(statement)


def _since_text(result: Any) -> str:
    from slackwater.analysis.report.since import render

    return render(result)


def _method_text(result: Any) -> str:
    from slackwater.analysis.report.noise.method_text import render

    return render(result)


def _pool_text(result: Any) -> str:
    from slackwater.analysis.report.pool.text import render

    return render(result)


def _pool_page(result: Any) -> str:
    from slackwater.analysis.report.pool.html import render

    return render(result)


def _archive_text(result: Any) -> str:
    from slackwater.analysis.report.archive.text import render

    return render(result)


def _archive_page(result: Any) -> str:
    from slackwater.analysis.report.archive.html import render

    return render(result)


def _archive_cells(result: Any) -> str:
    from slackwater.analysis.report.archive.rows import as_csv

    return as_csv(result.table)


def register() -> None:
    """Say of every kind of answer who writes it."""
    written_by("analysis", Writer(_analysis_text, _analysis_page))
    written_by("audit", Writer(_audit_text, _audit_page, _audit_cells))
    written_by("plan", Writer(_plan_text, _plan_page))
    written_by("noise", Writer(_noise_text))
    written_by("method", Writer(_method_text))
    written_by("pool", Writer(_pool_text, _pool_page))
    written_by("logs", Writer(_logs_text, _logs_page))
    written_by("cut", Writer(_cut_text, _cut_page, _cut_cells))
    written_by("tries", Writer(_tries_text, _tries_page, _tries_cells))
    written_by("since", Writer(_since_text))
    written_by("check", Writer(_check_text, _check_page))
    written_by("archive", Writer(_archive_text, _archive_page, _archive_cells))
    written_by("statement", Writer(_statement_text, _statement_page, _statement_cells))
