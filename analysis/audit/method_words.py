"""How the verdicts of an audit were got, in words."""

from __future__ import annotations

METHOD = (
    (
        "Each published figure is taken as every value that would have been printed like it: half a "
        "unit of its last digit to either side; 'about' is wider, 'up to' and 'at least' are bounds. The "
        "figures of a claim agree when one pair of true values fits them all."
    ),
    (
        "With a trial at hand, what is stated is held against the trial's interval at the same place. A "
        "size is upheld when its direction is established, it is about the size measured, and the "
        "interval leaves no very different one open; compatible when only the last two fail. A bound "
        "or a margin is upheld when the whole interval keeps it. What the interval rules out is "
        "overstated, understated, refuted or contradicted. The intervals hold for the whole sweep at "
        "once, so that quoting the best set point gains nothing."
    ),
)
