"""The order of the sessions: ABBA and its extensions, random in blocks, and what drift they leave.

A drift (a fouling hull, warming water, a crew that learns) is smooth in time. An order whose signed
sums vanish takes it out of the comparison without anybody having to know it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from random import Random

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def extended_abba(per_configuration: int, configurations: int = 2) -> str:
    """ABBA continued: each further half is the first one turned about.

    Parameters
    ----------
    per_configuration : int
        Sessions with each configuration.
    configurations : int
        2 gives ABBA, ABBABAAB, …; more give ABCCBA and so on, forward and backward in turn.

    Notes
    -----
    With two configurations it is the sequence of Thue and Morse: ABBA removes a linear drift, the
    eight sessions ABBABAAB a quadratic one too, and each doubling one degree more. Odd numbers of
    sessions cannot be balanced; the last pair then leaves what it must.

    Examples
    --------
    >>> extended_abba(2), extended_abba(3), extended_abba(4)
    ('ABBA', 'ABBABA', 'ABBABAAB')
    """
    letters = LETTERS[:configurations]
    turned = letters[::-1]
    # A round is one session of each; it is turned where the number of ones in its index is odd.
    rounds = (turned if index.bit_count() % 2 else letters for index in range(per_configuration))
    return "".join(rounds)


def random_blocks(per_configuration: int, seed: int, configurations: int = 2) -> str:
    """Rounds of one session of each configuration, each round in an order of its own by chance.

    Blocks bound what chance can do: no two rounds can become AAABBB.
    """
    chance = Random(f"{seed} sessions")
    found = []
    for _ in range(per_configuration):
        block = list(LETTERS[:configurations])
        chance.shuffle(block)
        found += block
    return "".join(found)


def drift_left(order: Sequence[str], baseline: str, modified: str, degree: int) -> Fraction:
    """What a drift of one degree in time leaves in the comparison, sessions evenly spaced.

    Parameters
    ----------
    order : sequence of str
        What is fitted in each session.
    baseline, modified : str
        The two that are compared; others only take their time.
    degree : int
        Of the drift, which is `k ** degree` at session k = 0, 1, 2, …

    Returns
    -------
    Fraction
        Mean over the modified sessions less mean over the baseline's; 0 where the drift cancels.
        Exact, so that "cancels" means cancels.

    Raises
    ------
    ValueError
        When one of the two is not in the order.

    Examples
    --------
    >>> drift_left("ABBA", "A", "B", 1), drift_left("ABBA", "A", "B", 2)
    (Fraction(0, 1), Fraction(-2, 1))
    """

    def mean(which: str) -> Fraction:
        times = [k for k, fitted in enumerate(order) if fitted == which]
        if not times:
            raise ValueError(f"no session with {which!r} in the order {''.join(order)!r}")
        return Fraction(sum(k**degree for k in times), len(times))

    return mean(modified) - mean(baseline)


def balanced_blocks(order: Sequence[str]) -> list[range]:
    """The order cut into the shortest stretches that hold every configuration equally often.

    Where the rest of the order is not balanced, it makes the last block.

    Examples
    --------
    >>> balanced_blocks("ABBAAABB")
    [range(0, 2), range(2, 4), range(4, 8)]
    """
    every = set(order)
    blocks, start, count = [], 0, dict.fromkeys(every, 0)
    for index, fitted in enumerate(order):
        count[fitted] += 1
        if len(set(count.values())) == 1:
            blocks.append(range(start, index + 1))
            start, count = index + 1, dict.fromkeys(every, 0)
    if start < len(order):
        blocks.append(range(start, len(order)))
    return blocks


def occurrences(order: Sequence[str]) -> list[int]:
    """How many sessions before each one had the same configuration.

    Examples
    --------
    >>> occurrences("ABBAAB")
    [0, 0, 1, 1, 2, 2]
    """
    seen: dict[str, int] = {}
    found = []
    for fitted in order:
        found.append(seen.get(fitted, 0))
        seen[fitted] = found[-1] + 1
    return found
