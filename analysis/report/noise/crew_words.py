"""What crews differ by, in a sentence a quantity."""

from __future__ import annotations

from slackwater.analysis.many.crews import CrewNoise
from slackwater.analysis.wording.numbers import (
    change_scale,
    decimals_for,
    fixed,
    uncertainty_text,
    with_unit,
)
from slackwater.analysis.wording.words import count_of, quantity_title

ALIKE = 0.05  # chance above which crews alike may differ as much


def crew_sentence(found: CrewNoise) -> str:
    """What crews differ by, beside what one crew's trials do, and how much there is to tell it."""
    scale = change_scale(found.scale, found.unit)
    title = quantity_title(found.quantity)
    behind = (
        f"{count_of(len(found.crews), 'crew')} on {count_of(len(found.boats), 'boat')} that they share, "
        f"{count_of(found.trials, 'trial')}"
    )
    begins = f"{title[:1].upper()}{title[1:]}"
    if found.value is None or found.low is None or found.high is None:
        return f"{begins}: what crews differ by cannot be told ({behind})."
    decimals = decimals_for(scale.width(found.low, found.high))
    size = with_unit(fixed(scale.of(found.value), decimals), scale.unit)
    low, high = (fixed(scale.of(end), decimals) for end in (found.low, found.high))
    ends = f"{low} to {with_unit(high, scale.unit)}"
    text = f"{begins}: crews differ by {size} ({ends}; standard deviation and 95 % interval)"
    if found.trials_differ_by is not None:
        own = with_unit(uncertainty_text(scale.of(found.trials_differ_by)), scale.unit)
        text += f", trials of one crew with the same boat by {own}"
    if found.p_value is not None and found.p_value > ALIKE:
        text += (
            f"; crews that do not differ show as much in {100 * found.p_value:.0f} of 100 such sets"
        )
    return f"{text}. {behind}."
