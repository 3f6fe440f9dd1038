"""The difference that a protocol can show with the noise it declares.

Student's t for the mean of the sessions; a set point by itself. Over a family of set points the
noise floor lies somewhat higher.
"""

from __future__ import annotations

import math

POWER = 0.9  # as a plan takes it where nothing else is asked for


def detectable(
    noise: float, sessions: int, df: float, confidence: float, power: float = POWER
) -> float:
    """The smallest true difference that is found with the power wanted.

    Parameters
    ----------
    noise : float
        Standard deviation of a session value. [any unit]
    sessions : int
        With each configuration.
    df : float
        Degrees of freedom behind the noise. [1]
    confidence, power : float
        0 to 1.

    Returns
    -------
    float
        [unit of the noise]
    """
    # Imported here: a protocol that declares no noise is checked without it.
    from scipy.special import stdtrit

    quantiles = stdtrit(df, (1 + confidence) / 2) + stdtrit(df, power)
    return float(quantiles * noise * math.sqrt(2 / sessions))
