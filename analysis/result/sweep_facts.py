"""What is told of a sweep beside its comparisons: stretches, plain figures, corrections, remarks."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from slackwater.analysis.result.bands import stretches
from slackwater.analysis.sweep.asked_tables import boat_length, usable_fuel
from slackwater.analysis.sweep.corrections import Differed, differed, size_of
from slackwater.analysis.sweep.equal_speed import sweeps_of
from slackwater.analysis.sweep.planing import (
    PLANING_LENGTH,
    comes_near_planing,
    length_froude,
    planing_range,
)
from slackwater.analysis.verdict.neutral import neutral_remarks
from slackwater.protocol.findings import Finding, Severity
from slackwater.protocol.units.quantity import conversion

if TYPE_CHECKING:
    from slackwater.analysis.result.analysed import Analysed
    from slackwater.analysis.verdict.judgement import Judged

Row = dict[str, Any]
WORTH_TELLING = 0.002  # a difference between two comparisons that needs no word [1]
SLIP_AT_CRUISE = (0.10, 0.25)  # common practice: apparent slip of planing craft at cruise


def stretch_rows(analysed: Analysed) -> list[Row]:
    """Where along the axis each comparison stands, for the whole axis at once."""
    rows = []
    for judged in analysed.judged:
        table = judged.table
        for each in stretches(judged):
            first = judged.rows[0]
            rows.append(
                {
                    "baseline": first.baseline,
                    "modified": first.modified,
                    "quantity": table.quantity,
                    "from": each.low,
                    "to": each.high,
                    "unit": table.labels[0].split(" ", 1)[-1],
                    "verdict": each.verdict,
                    "confidence": first.confidence,
                }
            )
    return rows


def _fact(name: str, value: float | None, unit: str, note: str, **more: Any) -> Row:
    row: Row = {"name": name, "configuration": None, "at": None, "value": value}
    return row | {"low": None, "high": None, "unit": unit, "note": note} | more


def figure_rows(analysed: Analysed) -> list[Row]:
    """Figures that are declared, or follow from what was compared."""
    return [*_fuel(analysed), *_planing(analysed), *_slip(analysed), *_pay_back(analysed)]


def _fuel(analysed: Analysed) -> list[Row]:
    usable = usable_fuel(analysed.trial.boat)
    if usable is None or not {"range", "range at equal speed"} & analysed.tables.keys():
        return []
    kept = "declared" if usable.declared else "a tenth of capacity, by common practice"
    note = f"range is reckoned with this; the reserve kept back is {usable.reserve:.4g} L ({kept})"
    return [_fact("usable fuel", usable.litres, "L", note)]


def _planing(analysed: Analysed) -> list[Row]:
    length, speed = boat_length(analysed.trial.boat), analysed.tables.get("speed")
    if length is None or speed is None or not comes_near_planing(speed, length):
        return []
    low, high = planing_range(length)
    note = (
        f"common practice: craft of about {PLANING_LENGTH:g} m plane at roughly 18 to 20 mph, "
        f"carried to {length:g} m by the Froude number ({length_froude(low, length):.2f} to "
        f"{length_froude(high, length):.2f}); it assumes a boat like the others of her length"
    )
    factor = conversion("kn", speed.unit)
    ends = {"low": low * factor, "high": high * factor}
    return [_fact("usual planing speed", (low + high) / 2 * factor, speed.unit, note, **ends)]


def _slip(analysed: Analysed) -> list[Row]:
    """What one percentage point of slip is worth in speed, at each set point."""
    slip, speed = analysed.tables.get("slip"), analysed.tables.get("speed")
    if slip is None or speed is None:
        return []
    rows = []
    labels = np.array(analysed.configurations)
    for name in dict.fromkeys(analysed.configurations):
        mine = labels == name
        for p, label in enumerate(slip.labels):
            known = np.isfinite(slip.values[mine, p]) & np.isfinite(speed.values[mine, p])
            if not known.any():
                continue
            theory = speed.values[mine, p][known] / (1 - slip.values[mine, p][known])
            note = "speed that one percentage point less slip would add at this engine speed"
            rows.append(
                _fact(
                    "speed for a point of slip",
                    float(theory.mean()) / 100,
                    speed.unit,
                    note,
                    configuration=name,
                    at=label,
                )
            )
    return rows


def _pay_back(analysed: Analysed) -> list[Row]:
    price = analysed.trial.price
    rows = []
    for judged in analysed.judged:
        if price is None or judged.table.quantity != "annual_fuel":
            continue
        row = judged.rows[0]
        if row.change is None:
            continue
        a_litre = price.fuel / (1 if price.fuel_unit == "L" else conversion("gal", "L"))

        def years(change: float | None, each: float = a_litre, cost: float = price.change) -> Any:
            return None if change is None or change >= 0 else cost / (-change * each)

        pair = f"{row.modified} against {row.baseline}"
        word = "litre" if price.fuel_unit == "L" else "gallon"
        saving = f"{price.change:g} {price.currency} for the change, {price.fuel:g} "
        saving += f"{price.currency} for a {word} of fuel"
        known = row.low is not None
        note = saving if known else f"{saving}; on the day, without an interval"
        if row.high is not None and row.high >= 0:
            note += "; the saving may be none, so it may never pay"
        rows.append(
            _fact(
                f"pay-back time of {row.modified}",
                years(row.change),
                "years",
                f"{pair}: {note}",
                configuration=row.modified,
                low=years(row.low) if known else None,
                high=years(row.high) if known else None,
            )
        )
    return rows


def _differed(analysed: Analysed) -> list[Differed]:
    sessions = next((table.sessions for table in analysed.tables.values()), ())
    points = next((t.positions for t in analysed.tables.values() if t.kind == "set points"), None)
    if points is None or not analysed.trial.corrections:
        return []
    return differed(analysed.trial, analysed.reduction, sessions, points)


def _corrected(analysed: Analysed) -> list[tuple[Differed, Judged, Any]]:
    """Each correction with each comparison at the set points that it bears on."""
    found = []
    for each in _differed(analysed):
        for judged in analysed.judged:
            table = judged.table
            named = table.quantity in each.correction.changes
            if each.problem or table.kind != "set points" or not named or not judged.rows:
                continue
            row = judged.rows[0]
            pair = (row.baseline, row.modified)
            size = size_of(each, table, analysed.configurations, *pair)
            if size is not None and not np.isnan(size.size).all():
                found.append((each, judged, size))
    return found


def correction_rows(analysed: Analysed) -> list[Row]:
    """What each declared correction took out of each difference."""
    rows = []
    for each, judged, size in _corrected(analysed):
        for p, label in enumerate(judged.table.labels):
            row = judged.rows[p]
            rows.append(
                {
                    "of": each.correction.of,
                    "quantity": judged.table.quantity,
                    "baseline": row.baseline,
                    "modified": row.modified,
                    "at": label,
                    "position": float(judged.table.positions[p]),
                    "size": float(size.size[p]),
                    "uncertainty": float(size.uncertainty[p]),
                    "change": row.change,
                    "how": "estimated" if each.estimated else "declared",
                    "source": each.correction.source,
                }
            )
    return rows


def correction_findings(analysed: Analysed) -> list[Finding]:
    """Corrections that could not be made, and those larger than the difference they serve."""
    document = analysed.trial.document
    found = []
    declared = list(analysed.trial.corrections)
    for each in _differed(analysed):
        place = document.place(("corrections", declared.index(each.correction)))
        what = each.correction.of.replace("_", " ")
        if each.problem:
            found.append(
                Finding(
                    "correction-not-made",
                    Severity.WARNING,
                    f"the correction for {what} was not made: {each.problem}",
                    "note what is missing, or take the correction away",
                    place,
                )
            )
    for each, judged, size in _corrected(analysed):
        place = document.place(("corrections", declared.index(each.correction)))
        what = each.correction.of.replace("_", " ")
        larger = [
            (label, float(size.size[p]), float(row.change))
            for p, (label, row) in enumerate(zip(judged.table.labels, judged.rows, strict=True))
            if row.change is not None and abs(size.size[p]) > abs(row.change)
        ]
        if not larger:
            continue
        label, amount, change = max(larger, key=lambda one: abs(one[1]))
        places = ", ".join(one[0] for one in larger[:6])
        places += f" and {len(larger) - 6} more" if len(larger) > 6 else ""
        found.append(
            Finding(
                "correction-larger-than-difference",
                Severity.WARNING,
                f"the correction for {what} is larger than the difference in "
                f"{judged.table.quantity.replace('_', ' ')} that it serves at {places} "
                f"({_percent(amount)} against {_percent(change)} at {label})",
                "load the sessions alike, so that nothing has to be corrected",
                place,
            )
        )
    return found


def remarks(analysed: Analysed) -> tuple[str, ...]:
    """Sentences on the sweep that the figures do not say by themselves."""
    found = []
    for judged in analysed.judged:
        if judged.table.key == "economy at equal speed" and (text := _why(analysed, judged)):
            found.append(text)
    found += neutral_remarks(analysed.trial)
    slip = _slip_remark(analysed)
    return (*found, slip) if slip else tuple(found)


def _why(analysed: Analysed, equal: Judged) -> str:
    """Why economy at equal speed and at equal engine speed differ, at the speed of most difference.

    At equal engine speed the difference holds what the change of speed itself does to the economy:
    the slope of the economy along the sweep times the change of speed.
    """
    pair = (equal.rows[0].baseline, equal.rows[0].modified)
    by_key = {
        judged.table.key: judged
        for judged in analysed.judged
        if judged.rows and (judged.rows[0].baseline, judged.rows[0].modified) == pair
    }
    if not {"speed", "economy"} <= set(by_key):
        return ""
    speed, economy = by_key["speed"], by_key["economy"]
    changes = [[row.change for row in each.rows] for each in (speed, economy)]
    x = speed.table.positions
    known = [all(v is not None for v in both) for both in zip(*changes, strict=True)]
    if sum(known) < 2:
        return ""
    x_known = x[known]
    faster, better = (np.array([v for v, k in zip(each, known, strict=True) if k], dtype=float)
                      for each in changes)  # fmt: skip
    mine = np.array(analysed.configurations) == pair[0]
    sweeps = sweeps_of(speed.table, analysed.configurations)
    levels = np.log([t * conversion(_unit(equal), speed.table.unit) for t in equal.table.positions])
    where = sweeps.where(levels)[mine]
    held = np.exp(where) if sweeps.logarithmic else where
    best: tuple[float, str] = (0.0, "")
    unit = speed.table.labels[0].split(" ", 1)[-1]
    for p, row in enumerate(equal.rows):
        if row.change is None or not np.isfinite(held[:, p]).all():
            continue
        n = float(held[:, p].mean())
        if not x_known[0] <= n <= x_known[-1]:
            continue
        at_engine, run = (float(np.interp(n, x_known, v)) for v in (better, faster))
        apart = at_engine - row.change
        if abs(apart) > abs(best[0]):
            way = "faster" if run > 0 else "slower"
            text = (
                f"Economy at {row.at} changes by {_percent(row.change)} at equal speed, and by "
                f"about {_percent(at_engine)} at the equal engine speed that gives it with the baseline "
                f"({n:.4g} {unit}). There the modified boat runs {_percent(abs(run))[1:]} {way}, and economy "
                "changes with speed itself: that part is no merit or fault of the change, and the "
                "comparison at equal speed leaves it out."
            )
            best = (apart, text)
    return best[1] if abs(best[0]) > WORTH_TELLING else ""


def _percent(value: float) -> str:
    return f"{100 * value:+.1f} %".replace("-", "−")


def _unit(judged: Judged) -> str:
    return judged.table.labels[0].split(" ", 1)[-1]


def _slip_remark(analysed: Analysed) -> str:
    slip, speed = analysed.tables.get("slip"), analysed.tables.get("speed")
    length = boat_length(analysed.trial.boat)
    if slip is None or speed is None or length is None:
        return ""
    if not (np.isfinite(slip.values).any(axis=0) & np.isfinite(speed.values).any(axis=0)).all():
        return ""
    mean = np.nanmean(slip.values, axis=0)
    fast = np.nanmean(speed.values, axis=0) * conversion(speed.unit, "kn")
    planing = mean[fast > planing_range(length)[1]]
    if not planing.size:
        return ""
    low, high = SLIP_AT_CRUISE
    inside = (planing >= low).all() and (planing <= high).all()
    word = "lies inside" if inside else "does not all lie inside"
    tail = (
        "" if inside else "; check the pitch, the gear ratio and the engine speed that were noted"
    )
    ends = dict.fromkeys(f"{100 * end:.0f}" for end in (planing.min(), planing.max()))
    return (
        f"Apparent slip on the plane, {' to '.join(ends)} %, {word} the 10 to "
        f"25 % that is common practice for planing craft at cruise{tail}."
    )
