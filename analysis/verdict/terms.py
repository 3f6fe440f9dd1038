"""What was declared beforehand for the comparisons of one quantity, on the scale they are made on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from slackwater.analysis.quantities.session_values import SessionValues
from slackwater.analysis.statistics.noise import PriorNoise
from slackwater.analysis.verdict.loading import declared_loading
from slackwater.analysis.verdict.looks import Look, confidence_at
from slackwater.protocol.catalogue.recipes import changes_as
from slackwater.protocol.declared.deciding import decides
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import PriorNoise as DeclaredNoise
from slackwater.protocol.declared.worthwhile import NoLoss
from slackwater.protocol.units.quantity import Quantity

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Terms:
    """What was declared beforehand for the comparisons of one quantity.

    Attributes
    ----------
    confidence : float
        Of each family of comparisons, 0 to 1.
    simultaneous : bool
        The intervals of a family hold together.
    worthwhile : float, ndarray of shape (positions,), or None
        Smallest difference that matters: a fraction, or in the unit of a difference.
    deciding : bool or None
        This is the figure declared to decide; None where none is.
    loading : ndarray of shape (positions,) or None
        How strongly what a session shares shows at each position, where that is declared. [1]
    one_sided : bool
        It matters on the side of a loss alone.
    prior : PriorNoise or None
        On the scale of the analysis.
    level : float or None
        Confidence that this look is computed with, where looks part-way ask for more than
        `confidence`, which all of them together keep.
    """

    confidence: float = 0.95
    simultaneous: bool = True
    worthwhile: float | Array | None = None
    prior: PriorNoise | None = None
    level: float | None = None
    one_sided: bool = False
    deciding: bool | None = None
    loading: Array | None = None

    def worthwhile_at(self, p: int) -> float | None:
        """The smallest difference that matters at one position."""
        if self.worthwhile is None:
            return None
        size = np.asarray(self.worthwhile, dtype=float)
        return float(size if size.ndim == 0 else size[p])


T = TypeVar("T")


def declared_for(name: str, declared: Mapping[str, T]) -> tuple[T | None, bool]:
    """What was declared of a quantity, or else of the one it changes in proportion with.

    Returns
    -------
    value : T or None
    inverse : bool
        It was declared of the inverse; on the scale of ratios that is the same size.
    """
    if name in declared:
        return declared[name], False
    other, power = changes_as(name)
    return declared.get(other), power < 0


def terms_of(
    protocol: Protocol,
    table: SessionValues,
    families: int = 1,
    look: Look | None = None,
    declared: bool | None = None,
    pairs: int = 1,
) -> Terms:
    """What a protocol declares beforehand for the comparisons of one quantity.

    Parameters
    ----------
    protocol : Protocol
    table : SessionValues
    families : int
        Quantities and pairs that are judged, which share the error where the family is `all`.
    look : Look, optional
        Which look at the trial this is; its end when not given.
    declared : bool, optional
        False for what was found afterwards, which is one family whatever the protocol declares.
    pairs : int
        Pairs of configurations that are compared; they share the error of the deciding figure.
    """
    analysis = protocol.analysis
    confidence = analysis.confidence.to("%").value / 100
    afterwards = declared is False
    deciding = decides(analysis.decides, table.key, table.quantity, table.kind)
    if deciding and not afterwards:
        confidence = 1 - (1 - confidence) / max(pairs, 1)
    elif analysis.family == "all" or afterwards:
        # One statement over all quantities: each takes its part of the error (Bonferroni).
        confidence = 1 - (1 - confidence) / max(families, 1)
    prior, _ = declared_for(table.quantity, protocol.noise)
    if table.kind == "equal speed" or table.quantity == "best_economy":
        prior = None  # it was found at set points, where noise in the speed does not move them
    worthwhile, inverse = declared_for(table.quantity, analysis.worthwhile)
    if inverse and worthwhile is not None and worthwhile.unit != "%":
        worthwhile = None  # a size in the unit of the inverse is another at every level
    simultaneous = analysis.family != "single" or afterwards
    level = None
    if look is not None:
        family = len(table.positions) if simultaneous else 1
        level = confidence_at(protocol, look, confidence, family)
    return Terms(
        confidence=confidence,
        simultaneous=simultaneous,
        level=level,
        worthwhile=None if worthwhile is None else on_scale(worthwhile, table),
        deciding=None if analysis.decides is None else deciding,
        one_sided=isinstance(worthwhile, NoLoss),
        loading=declared_loading(protocol, table),
        prior=None if prior is None else _prior(prior, table, protocol.repeats_of(table.quantity)),
    )


def on_scale(quantity: Quantity, table: SessionValues) -> Array | float:
    """A declared size as the scale of the quantity has it.

    A difference is in the table's unit. A ratio is a fraction: of itself where it is declared in
    per cent, else of the mean at each position, shape (positions,).
    """
    if table.scale == "difference":
        return quantity.size_in(table.unit)
    if quantity.unit == "%":
        return quantity.value / 100
    seen = np.isfinite(table.values)
    total = np.where(seen, np.abs(table.values), 0.0).sum(axis=0)
    level = total / np.maximum(seen.sum(axis=0), 1)
    size = np.full(level.shape, quantity.size_in(table.unit))
    return np.asarray(np.divide(size, level, out=np.full_like(level, np.inf), where=level > 0))


def _prior(declared: DeclaredNoise, table: SessionValues, repeats: int) -> PriorNoise:
    def variance(quantity: Quantity | None) -> float:
        # One noise for the whole sweep: where it is declared in the quantity's unit, the median.
        return 0.0 if quantity is None else float(np.median(on_scale(quantity, table))) ** 2

    own = declared.session_by_set_point
    return PriorNoise(
        between_sessions=variance(declared.between_sessions),
        session_by_set_point=None if own is None else variance(own),
        within_session=variance(declared.within_session) / max(repeats, 1),
        df=float(declared.sessions - 1),
    )
