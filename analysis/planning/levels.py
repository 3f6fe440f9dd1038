"""Speed and fuel flow at a protocol's set points, from a trial that ran the boat before."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from slackwater.analysis.wording.words import quantity_title
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.units.quantity import conversion, same_dimension

Levels = tuple[float, ...] | None


def levels_from(protocol: Protocol, trial: str | Path, notes: list[str]) -> tuple[Levels, Levels]:
    """Mean speed [kn] and fuel flow [L/h] of an earlier trial at the set points of a protocol.

    Between set points that tell a value they are drawn straight; outside of them nothing is known.

    Parameters
    ----------
    protocol : Protocol
    trial : str or Path
        The trial's YAML file.
    notes : list of str
        What could not be told is added here.

    Raises
    ------
    InputError
        When the trial cannot be used.
    """
    from slackwater.analysis.pipeline import compute
    from slackwater.protocol.declared.trial import load_trial

    earlier = compute(load_trial(trial))
    name, held = Path(trial).name, earlier.trial.protocol
    if held.set_point_measure != protocol.set_point_measure or not same_dimension(
        held.set_point_unit, protocol.set_point_unit
    ):
        notes.append(
            f"{name} held {held.set_point_measure}, this protocol holds "
            f"{protocol.set_point_measure}: no speeds and flows are taken from it."
        )
        return None, None
    factor = conversion(held.set_point_unit, protocol.set_point_unit)
    found: list[Levels] = []
    for quantity, unit in (("speed", "kn"), ("fuel_flow", "L/h")):
        table = earlier.tables.get(quantity)
        if table is None or table.untestable or not np.isfinite(table.values).any():
            found.append(None)
            continue
        told = np.isfinite(table.values).any(axis=0)
        at = table.positions[told] * factor
        wanted = np.array(protocol.set_point_values)
        if wanted.min() < at.min() - 1e-9 or wanted.max() > at.max() + 1e-9:
            notes.append(
                f"{name} tells {quantity_title(quantity)} from {at.min():g} to "
                f"{at.max():g} {protocol.set_point_unit}, this protocol has set points outside: it "
                "is not taken from there."
            )
            found.append(None)
            continue
        mean = np.nanmean(table.values[:, told], axis=0) * conversion(table.unit, unit)
        found.append(tuple(np.interp(wanted, at, mean).tolist()))
    return found[0], found[1]
