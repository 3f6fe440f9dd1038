"""p-values adjusted for how many comparisons were made."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def holm(p_values: ArrayLike) -> NDArray[np.float64]:
    """Holm's step-down adjustment.

    Parameters
    ----------
    p_values : array_like, shape (comparisons,)
        NaN where there is none; those do not count. [1]

    Returns
    -------
    ndarray
        Adjusted p-values in the same order. [1]

    References
    ----------
    .. [1] S. Holm, "A simple sequentially rejective multiple test procedure", Scandinavian
       Journal of Statistics 6 (1979), 65-70. From memory.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03, 0.005]).round(4).tolist()
    [0.03, 0.06, 0.06, 0.02]
    """
    p = np.asarray(p_values, dtype=float)
    out = np.full(p.shape, np.nan)
    known = np.flatnonzero(np.isfinite(p))
    order = known[np.argsort(p[known], kind="stable")]
    steps = p[order] * np.arange(order.size, 0, -1)
    out[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return out
