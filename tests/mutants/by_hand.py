"""Faults that once lived through the tests: a factor, a sign, a half or a one out of its place."""

from __future__ import annotations

from typing import NamedTuple


class Fault(NamedTuple):
    """One text of one file that becomes another."""

    about: str
    file: str
    right: str
    wrong: str


FAULTS = (
    Fault("known variance scaled by a loading, not by its square", "analysis/verdict/judgement.py",
          "known / loading**2", "known / loading"),
    Fault("known variance scaled back by a factor, not by its square",
          "analysis/statistics/comparison.py", "self.known * factor**2", "self.known * factor"),
    Fault("the floor of what is established computed anew with what is left of the family",
          "analysis/statistics/multiplicity.py",
          "np.where(established, bound, reach.widths(left))", "reach.widths(left)"),
    Fault("ratio of a prior without its 1 +", "analysis/statistics/noise.py",
          "1 + prior.between_sessions * unit", "prior.between_sessions * unit"),
    Fault("degrees of freedom of a prior are its sessions", "analysis/verdict/terms.py",
          "declared.sessions - 1", "declared.sessions"),
    Fault("noise within a session not divided by the double runs", "analysis/verdict/terms.py",
          " / max(repeats, 1)", ""),
    Fault("what serves for another quantity emptied", "protocol/catalogue/recipes.py",
          "if listed is None or not listed.changes_as:", "if True:"),
    Fault("instruments of slip by its level, not the square", "analysis/quantities/derived.py",
          "moved.instrument_variance * level**2", "moved.instrument_variance * level"),
    Fault("the floor on the other side of a ratio", "analysis/verdict/decisions.py",
          "np.copysign(found.floor[p], found.difference[p])",
          "np.copysign(found.floor[p], -found.difference[p])"),
    Fault("a worthwhile ratio taken for its logarithm", "analysis/verdict/decisions.py",
          'np.log1p(size) if table.scale == "ratio" else size', "size"),
    Fault("interval of the current narrower than it says", "analysis/result/assembly.py",
          "stdtrit(df, 0.975)", "stdtrit(df, 0.95)"),
    Fault("interval of the noise narrower than it says", "analysis/result/assembly.py",
          "for q in (0.975, 0.025)", "for q in (0.95, 0.05)"),
    Fault("interval of the noise without its - 1", "analysis/result/assembly.py",
          "noise.specific_df, q)) - 1, 0.0)", "noise.specific_df, q)), 0.0)"),
    Fault("a mean without what its curve may be off by", "analysis/result/assembly.py",
          "np.sqrt(factor * error**2 + curve)", "np.sqrt(factor * error**2)"),
    Fault("the mean of what curves are off by, not the largest",
          "analysis/quantities/session_values.py", "known.max(axis=0)", "known.mean(axis=0)"),
    Fault("a run is where it began", "analysis/reduction/set_aside.py",
          'frame["start"] + half', 'frame["start"]'),
)  # fmt: skip
