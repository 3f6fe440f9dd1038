"""A pool as one self-contained HTML page: no script, nothing fetched, same input same bytes."""

from __future__ import annotations

from slackwater import __version__
from slackwater.analysis.many.pool_result import PooledSweep, PoolResult
from slackwater.analysis.report.page import environment
from slackwater.analysis.report.pool import tables, words
from slackwater.analysis.report.pool.picture import forest

CAPTION = (
    "Squares are boats, larger the more they weigh, each with the 95 % interval of her own trials. "
    "Below, shaded, the mean over boats like these and the change of the next boat, with the "
    "intervals that their verdicts rest on. Dashes: the worthwhile difference."
)


def render(result: PoolResult) -> str:
    """The whole page as text, to be written as UTF-8."""
    found = words.leading(result)
    return (
        environment("slackwater.analysis.report.pool")
        .get_template("pool.html.jinja")
        .render(
            version=__version__,
            result=result,
            title=result.title or words.subject(result),
            invented=words.INVENTED if result.invented else "",
            headline=words.headline(result),
            mean=words.mean_sentences(found) if found else (),
            following=words.next_sentences(found) if found else (),
            sure=words.how_sure(result, found) if found else (),
            left_out=words.left_out(result),
            caution=words.CAUTION,
            method=words.alone(result),
            caption=CAPTION,
            forests=_forests(found) if found else (),
            tables=[tables.places(found), tables.boats(found)] if found else (),
            further=[(sweep.title, tables.places(sweep)) for sweep in words.further(result)],
            lines=[words.further_line(sweep) for sweep in words.further(result)],
            trials=tables.trials(result),
            findings=result.findings,
        )
    )


def _forests(sweep: PooledSweep) -> list[object]:
    from markupsafe import Markup

    return [
        Markup(
            forest(place, f"Forest of {sweep.title} at {place.mean.at}. {_told(place.mean.reason)}")
        )
        for place in sweep.places
    ]


def _told(reason: str) -> str:
    return f"{reason[:1].upper()}{reason[1:]}."
