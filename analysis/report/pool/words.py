"""A pool in words: the mean over boats, the next boat, how sure, and how unlike the boats are."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from slackwater.analysis.many.pool_result import PooledPlace, PooledSweep, PoolResult
from slackwater.analysis.report.trial.blocks import Block, places
from slackwater.analysis.report.trial.sentences import floor_span, found_sentences, short_forms
from slackwater.analysis.verdict.verdicts import Word
from slackwater.analysis.wording.numbers import (
    NBSP,
    decimals_for,
    fixed,
    range_text,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, listed

#: What pages and texts say of a pool in any case.
CAUTION = (
    "What is pooled holds for boats, crews and waters like these. Nothing here says that another boat "
    "may be driven as these were: local rules and her skipper decide that."
)
INVENTED = "Invented data, for practice: nothing was measured."


@dataclass(frozen=True)
class PoolBlock(Block):
    """The rows of one quantity of a pool; places are what the boats are compared at."""

    name: str = ""

    @property
    def title(self) -> str:
        """The quantity in words, as the pool names it."""
        return self.name

    @property
    def noun(self) -> str:
        """What the rows are."""
        return "places"


def block_of(sweep: PooledSweep, *, of_next: bool = False) -> PoolBlock:
    """The rows of the mean, or of the next boat, as reports of trials read them."""
    rows = tuple(place.next_boat if of_next else place.mean for place in sweep.places)
    first = rows[0]
    return PoolBlock(first.baseline, first.modified, sweep.quantity, rows, name=sweep.title)


def leading(result: PoolResult) -> PooledSweep | None:
    """The figure that answers: the one that decides, else one at equal speed, else the first."""
    with_side = [s for s in result.sweeps if s.places[0].mean.better]
    fair = (s for s in with_side if s.kind == "equal speed")
    first = result.sweeps[0] if result.sweeps else None
    if first is not None and first.deciding:
        return first
    return next(fair, with_side[0] if with_side else first)


def subject(result: PoolResult) -> str:
    """What was pooled: "5 boats, Interceptors fitted against As delivered"."""
    pooled = [each for each in result.trials if each.state == "pooled"]
    first = pooled[0]
    told = f"{first.modified} against {first.baseline}"
    trials = "" if len(pooled) == len(result.boats) else f" in {count_of(len(pooled), 'trial')}"
    return f"{count_of(len(result.boats), 'boat')}{trials}, {told}"


def headline(result: PoolResult) -> str:
    """What the answer is of."""
    found = leading(result)
    if found is None:
        return f"{subject(result)}: nothing could be pooled"
    decides = " (declared to decide)" if found.deciding else ""
    return f"{subject(result)}, {found.title}{decides}"


def mean_sentences(sweep: PooledSweep) -> tuple[str, ...]:
    """What holds of the mean over boats like these."""
    return _after("The mean over boats like these", found_sentences(block_of(sweep)))


def next_sentences(sweep: PooledSweep) -> tuple[str, ...]:
    """What holds of the next boat."""
    block = block_of(sweep, of_next=True)
    said = _after("The next boat", found_sentences(block))
    ends = [(row.low, row.high) for row in block.rows if row.low is not None]
    if not ends:
        return said
    low, high = min(low for low, _ in ends), max(high or 0.0 for _, high in ends)
    widest = decimals_for(block.change.width(low, high))
    span = range_text(block.change.of(low), block.change.of(high), widest)
    return *said, f"Her own change may be anything from {with_unit(span, block.change.unit)}."


def _after(lead: str, sentences: Sequence[str]) -> tuple[str, ...]:
    first, *rest = sentences
    return f"{lead}: {first[:1].lower()}{first[1:]}", *rest


def further_line(sweep: PooledSweep) -> str:
    """One further figure in a line: the mean, and the next boat."""
    mean = short_forms(block_of(sweep))[0]
    other = short_forms(block_of(sweep, of_next=True))[-1]
    return f"{sweep.title}: {mean}; the next boat: {other}"


def how_sure(result: PoolResult, sweep: PooledSweep) -> list[str]:
    """What the verdicts rest on."""
    error = fixed(100 * (1 - result.confidence), 0)
    block = block_of(sweep)
    sure = [f"At most {error}{NBSP}% of such pools name a mean difference that is not there"]
    span = floor_span([block])
    if span:
        sure[0] += f"; noise floor {span}"
    sure[0] += "."
    sure += [*unlikeness(sweep), *leaning(sweep)]
    return sure


def unlikeness(sweep: PooledSweep) -> list[str]:
    """How much the boats themselves differ in what they gain."""
    told = [place for place in sweep.places if place.heterogeneity is not None]
    if not told:
        return []
    scale = block_of(sweep).change
    sizes = sorted(place.heterogeneity or 0.0 for place in told)
    most = max(place.heterogeneity_high or 0.0 for place in told)
    up_to = with_unit(uncertainty_text(scale.of(most)), scale.unit)
    if sizes[-1] == 0:
        agree = (
            "The boats agree as well as their trials' errors let expect, so that nothing is seen of "
            f"differences among them; they may come to {up_to} all the same, and the intervals allow "
            "for it."
        )
        return [agree]
    texts = [uncertainty_text(scale.of(size)) if size else "0" for size in (sizes[0], sizes[-1])]
    span = texts[0] if texts[0] == texts[1] else f"{texts[0]} to {texts[1]}"
    scatter = (
        f"The boats' own changes scatter by {with_unit(span, scale.unit)} (standard deviation; at "
        f"most {up_to} at 95{NBSP}% confidence)."
    )
    return [scatter]


def leaning(sweep: PooledSweep) -> list[str]:
    """Which boat a verdict on the mean would turn without."""
    looked = [place for place in sweep.places if place.without]
    if not looked:
        return []
    by_boat: dict[str, list[PooledPlace]] = {}
    for place in looked:
        for boat in place.leans_on:
            by_boat.setdefault(boat, []).append(place)
    if not by_boat:
        return ["No verdict on the mean would turn without any one of the boats."]
    block = block_of(sweep)
    parts = [
        f"without {boat} at {places(block, [place.mean for place in found])}"
        for boat, found in by_boat.items()
    ]
    return [f"Verdicts on the mean would turn {listed(parts)}."]


def alone(result: PoolResult) -> str:
    """What is said where fixed effects might be taken for the answer."""
    return (
        f"Boats are taken to differ in what they gain (random effects, {_METHODS[result.heterogeneity]}); "
        "a common change of all is never assumed. Places are alike by "
        f"{result.alignment}."
    )


_METHODS = {
    "paule-mandel": "variance between boats by Paule and Mandel",
    "reml": "variance between boats by restricted maximum likelihood",
}


def left_out(result: PoolResult) -> list[str]:
    """The trials that are no part of the pool, and what that leaves."""
    out = [each for each in result.trials if each.state == "left out"]
    if not out:
        return []
    kept = sum(each.state == "pooled" for each in result.trials)
    told = "; ".join(f"{each.name} ({each.reason})" for each in out)
    boats = count_of(len(result.boats), "boat")
    return [f"Left out: {told}. That leaves {count_of(kept, 'trial')} of {boats}."]


def further(result: PoolResult) -> list[PooledSweep]:
    """The figures beside the one that answers, those with a better side first."""
    rest = [sweep for sweep in result.sweeps if sweep is not leading(result)]
    return sorted(rest, key=lambda sweep: (sweep.kind != "set points", not _better(sweep)))


def _better(sweep: PooledSweep) -> bool:
    return sweep.places[0].mean.better is not None


def untestable(places_of: Iterable[PooledPlace]) -> bool:
    """Nothing is said of any of the places."""
    return all(place.mean.verdict is Word.UNTESTABLE for place in places_of)
