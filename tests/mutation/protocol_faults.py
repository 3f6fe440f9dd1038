"""Faults of a protocol: limits removed, orders broken, tolerances widened, units exchanged."""

from __future__ import annotations

import random
from typing import Any

import yaml
from mutant import Data, Fault, Mutant, Subject

LIMIT_RULE = {
    "wind_speed": "no-wind-limit",
    "wave_height": "no-wave-limit",
    "water_depth": "no-depth-limit",
    "current": "no-current-limit",
    "water_temperature": "no-temperature-limit",
    "displacement": "no-displacement-limit",
    "fuel": "no-fuel-limit",
    "crew": "no-crew-limit",
}


def _of(fault: str, about: str, subject: Subject, *expected: str) -> Mutant:
    return Mutant(fault, about, frozenset(expected), subject)


def _part(data: Data, *path: str) -> Data:
    for step in path:
        data = data.setdefault(step, {})
    return data


def limit_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    group = rng.choice(["loading", "conditions"])
    names = [name for name in subject.protocol.get(group, {}) if name in LIMIT_RULE]
    if not names:
        return None
    name = rng.choice(names)
    del subject.protocol[group][name]
    return _of("limit removed", name, subject, LIMIT_RULE[name])


def limit_turned(subject: Subject, rng: random.Random) -> Mutant | None:
    """At most written as at least, and the other way round: the limit bounds nothing."""
    limits = subject.protocol.get("conditions", {})
    names = [n for n in limits if {"at_most", "at_least"} & set(limits[n]) and n in LIMIT_RULE]
    if not names:
        return None
    name = rng.choice(names)
    ((kind, value),) = limits[name].items()
    limits[name] = {"at_least" if kind == "at_most" else "at_most": value}
    return _of("limit turned round", name, subject, LIMIT_RULE[name])


def limit_loosened(subject: Subject, rng: random.Random) -> Mutant | None:
    name, low, high, unit, rule = rng.choice(
        [
            ("wind_speed", 21.5, 60, "kn", "wind-limit-too-wide"),
            ("wave_height", 1.15, 4, "m", "wave-limit-too-wide"),
            ("displacement", 2.1, 20, "%", "displacement-too-loose"),
        ]
    )
    value = f"{rng.uniform(low, high):.2f} {unit}"
    group = "loading" if name == "displacement" else "conditions"
    kind = "within" if name == "displacement" else "at_most"
    _part(subject.protocol, group)[name] = {kind: value}
    return _of("limit loosened", f"{name} {value}", subject, rule)


def unit_of_limit_exchanged(subject: Subject, rng: random.Random) -> Mutant | None:
    """A limit in a unit of another kind."""
    groups = [g for g in ("loading", "conditions") if subject.protocol.get(g)]
    group = rng.choice(groups)
    name = rng.choice(list(subject.protocol[group]))
    limit = subject.protocol[group][name]
    kind = next(iter(limit))
    if kind in ("same", "between") or name not in LIMIT_RULE:
        return None
    number = limit[kind].split()[0]
    unit = rng.choice(["kg", "kn", "m", "rpm", "L/h", "s", "degC", "kW"])
    limit[kind] = f"{number} {unit}"
    fits = {
        "wind_speed": "kn",
        "current": "kn",
        "wave_height": "m",
        "water_depth": "m",
        "displacement": "kg",
    }
    if fits.get(name) == unit:
        return None
    return _of("unit exchanged", f"{name} {limit[kind]}", subject, "unfit-value")


def unit_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    places: list[tuple[Data, str]] = []

    def walk(node: Any) -> None:
        if isinstance(node, dict):
            for key, value in node.items():
                if isinstance(value, str) and len(value.split()) == 2 and value[0].isdigit():
                    places.append((node, key))
                walk(value)
        elif isinstance(node, list):
            for value in node:
                walk(value)

    for part in ("loading", "conditions", "runs", "measures", "analysis"):
        walk(subject.protocol.get(part, {}))
    if not places:
        return None
    holder, key = rng.choice(places)
    holder[key] = holder[key].split()[0]
    return _of("unit dropped", f"{key}: {holder[key]}", subject, "unfit-value")


def order_in_blocks(subject: Subject, rng: random.Random) -> Mutant | None:
    count = rng.randint(2, 9)
    first, second = rng.choice(["AB", "BA"])
    subject.protocol["sessions"] |= {
        "per_configuration": str(count),
        "order": first * count + second * count,
    }
    return _of("order in blocks", subject.protocol["sessions"]["order"], subject, "one-block")


def order_unbalanced(subject: Subject, rng: random.Random) -> Mutant | None:
    count = rng.randint(2, 8)
    order = rng.choice(["AB", "BA"]) * count
    subject.protocol["sessions"] |= {"per_configuration": str(count), "order": order}
    return _of("order unbalanced", order, subject, "drift-not-balanced")


def baseline_first_only(subject: Subject, rng: random.Random) -> Mutant | None:
    count = rng.randint(1, 8)
    order = "A" * count + "B" * count
    subject.protocol["sessions"] |= {"per_configuration": str(count), "order": order}
    return _of("baseline not repeated", order, subject, "baseline-not-repeated")


def one_session(subject: Subject, rng: random.Random) -> Mutant | None:
    order = rng.choice(["AB", "BA", "ABC", "CBA", "BCA"])
    subject.protocol["sessions"] |= {"per_configuration": "1", "order": order}
    return _of("one session each", order, subject, "one-session-each")


def order_miscounted(subject: Subject, rng: random.Random) -> Mutant | None:
    sessions = subject.protocol["sessions"]
    order = list(sessions["order"])
    order.insert(rng.randrange(len(order) + 1), rng.choice("AB"))
    sessions["order"] = "".join(order)
    return _of("order miscounted", sessions["order"], subject, "unfit-value")


def one_configuration(subject: Subject, rng: random.Random) -> Mutant | None:
    count = rng.randint(1, 9)
    letter = rng.choice("AB")
    subject.protocol["sessions"] |= {"per_configuration": str(count), "order": letter * count}
    return _of("one configuration", letter * count, subject, "one-configuration")


def few_sessions(subject: Subject, rng: random.Random) -> Mutant | None:
    order = rng.choice(["ABBA", "BAAB", "ABAB", "BABA"])
    subject.protocol["sessions"] |= {"per_configuration": "2", "order": order}
    return _of("few sessions", order, subject, "few-sessions")


def one_way(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["runs"]["directions"] = "one_way"
    subject.protocol["runs"]["double_runs"] = str(rng.randint(1, 9))
    return _of("one way", subject.protocol["runs"]["double_runs"], subject, "one-way-runs")


def no_repeats(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["runs"]["double_runs"] = "1"
    subject.protocol["runs"]["reciprocal_within"] = f"{rng.randint(5, 20)} deg"
    return _of("no repeats", "double_runs: 1", subject, "no-repeats")


def direction_fixed(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["runs"]["first_direction"] = "fixed"
    subject.protocol["runs"]["double_runs"] = str(rng.randint(2, 9))
    return _of("first direction fixed", "", subject, "same-direction-first")


def set_points_sorted(subject: Subject, rng: random.Random) -> Mutant | None:
    order = rng.choice(["ascending", "descending"])
    subject.protocol["runs"]["set_point_order"] = order
    subject.protocol["runs"]["double_runs"] = str(rng.randint(2, 9))
    return _of("set points in order", order, subject, "set-points-in-order")


def hold_widened(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["runs"]["set_points"]["hold"] = value = f"{rng.uniform(1.6, 20):.1f} %"
    return _of("hold widened", value, subject, "hold-too-wide")


def settle_cut(subject: Subject, rng: random.Random) -> Mutant | None:
    value = f"{rng.uniform(0, 9.9):.1f} s"
    _part(subject.protocol, "runs", "steady")["settle"] = value
    return _of("settle time cut", value, subject, "settle-too-short")


def record_cut(subject: Subject, rng: random.Random) -> Mutant | None:
    value = f"{rng.uniform(1, 18.9):.1f} s"
    _part(subject.protocol, "runs", "steady")["record"] = value
    return _of("record time cut", value, subject, "record-too-short")


def uncertainty_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    name = rng.choice(list(subject.protocol["measures"]))
    if subject.protocol["measures"][name].pop("standard_uncertainty", None) is None:
        return None
    return _of("uncertainty removed", name, subject, "no-uncertainty")


def uncertainty_enlarged(subject: Subject, rng: random.Random) -> Mutant | None:
    value = f"{rng.uniform(3.2, 15):.2f} %"
    _part(subject.protocol, "measures", "speed_over_ground")["standard_uncertainty"] = value
    return _of("instrument too coarse", value, subject, "instrument-too-coarse")


def instruments_separate(subject: Subject, rng: random.Random) -> Mutant | None:
    name = rng.choice(list(subject.protocol["measures"]))
    measure = subject.protocol["measures"][name]
    if rng.random() < 0.5:
        measure["shared"] = "false"
    else:
        measure.pop("shared", None)
    return _of("separate instruments", name, subject, "separate-instruments")


def measure_dropped(subject: Subject, rng: random.Random) -> Mutant | None:
    measures = subject.protocol["measures"]
    held = subject.protocol["runs"]["set_points"]["of"]
    name = rng.choice(list(measures))
    del measures[name]
    if not measures:
        return None
    if name == held:
        rule = "set-point-not-measured"
    elif name.startswith("speed") and not any(n.startswith("speed") for n in measures):
        rule = "no-speed-measured"
    elif name.startswith("fuel"):
        rule = "worthwhile-not-measured"
    else:
        return None
    return _of("measure dropped", name, subject, rule)


def worthwhile_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    worthwhile = subject.protocol["analysis"]["worthwhile"]
    if rng.random() < 0.5 and len(worthwhile) > 1:
        del worthwhile[rng.choice(list(worthwhile))]
    else:
        del subject.protocol["analysis"]["worthwhile"]
    return _of("worthwhile removed", "", subject, "no-worthwhile-difference")


def worthwhile_shrunk(subject: Subject, rng: random.Random) -> Mutant | None:
    """Smaller than the tolerance on the set point, the instruments or the receiver allow."""
    worthwhile = subject.protocol["analysis"]["worthwhile"]
    name = rng.choice(list(worthwhile))
    worthwhile[name] = f"{rng.uniform(0.01, 0.2):.3f} %"
    rules = ("hold-too-wide", "instrument-too-coarse", "record-too-short")
    return _of("worthwhile shrunk", f"{name} {worthwhile[name]}", subject, *rules)


def worthwhile_of_nothing(subject: Subject, rng: random.Random) -> Mutant | None:
    name = rng.choice(["shaft_power", "torque", "thrust", "trim", "sound_level"])
    unit = {"trim": "deg", "sound_level": "dB"}.get(name, "%")
    if name in subject.protocol["measures"]:
        return None
    subject.protocol["analysis"]["worthwhile"][name] = f"{rng.randint(1, 9)} {unit}"
    return _of("worthwhile not measured", name, subject, "worthwhile-not-measured")


def family_single(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["analysis"]["family"] = "single"
    subject.protocol["analysis"]["confidence"] = f"{rng.randint(90, 99)} %"
    return _of("no family", "", subject, "no-family")


def confidence_lowered(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["analysis"]["confidence"] = value = f"{rng.uniform(50, 89.9):.1f} %"
    return _of("confidence lowered", value, subject, "low-confidence")


def current_left_in(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["analysis"]["current"] = "none"
    subject.protocol["runs"]["double_runs"] = str(rng.randint(2, 9))
    return _of("current left in", "", subject, "current-left-in")


def tide_unheeded(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["analysis"]["current"] = "double_run"
    subject.protocol["runs"]["double_runs"] = str(rng.randint(24, 60))
    return _of("tide unheeded", subject.protocol["runs"]["double_runs"], subject, "tide-may-turn")


def headings_apart(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["runs"]["reciprocal_within"] = value = f"{rng.uniform(20.5, 120):.0f} deg"
    return _of("headings apart", value, subject, "reciprocal-too-wide")


def limits_reported(subject: Subject, rng: random.Random) -> Mutant | None:
    subject.protocol["analysis"]["limits_broken"] = "report"
    subject.protocol["analysis"]["confidence"] = f"{rng.randint(90, 99)} %"
    return _of("broken limits reported", "", subject, "broken-limits-reported")


def noise_too_large(subject: Subject, rng: random.Random) -> Mutant | None:
    name = rng.choice(list(subject.protocol["analysis"]["worthwhile"]))
    value = f"{rng.uniform(6, 20):.1f} %"
    count = str(rng.randint(2, 30))
    subject.protocol["noise"] = {name: {"between_sessions": value, "sessions": count}}
    return _of("underpowered", f"{name} {value}", subject, "underpowered")


def too_shallow(subject: Subject, rng: random.Random) -> Mutant | None:
    top = rng.uniform(12, 30)
    subject.protocol["runs"]["set_points"] |= {
        "of": "speed_over_ground",
        "values": ["6 kn", f"{top:.1f} kn"],
        "hold": "0.01 kn",
    }
    depth = rng.uniform(1, 0.95 * 2.75 * (top * 1852 / 3600) ** 2 / 9.80665)
    _part(subject.protocol, "conditions")["water_depth"] = {"at_least": f"{depth:.1f} m"}
    return _of("too shallow", f"{depth:.1f} m at {top:.1f} kn", subject, "shallow-water")


def text_removed(subject: Subject, rng: random.Random) -> Mutant | None:
    name, rule = rng.choice([("sources", "no-sources"), ("cautions", "no-cautions")])
    if name not in subject.protocol:
        return None
    del subject.protocol[name]
    return _of("text removed", name, subject, rule)


def waiver_misspelt(subject: Subject, rng: random.Random) -> Mutant | None:
    rule = rng.choice(["one-block", "few-sessions", "no-wind-limit", "tide-may-turn", "no-repeats"])
    at = rng.randrange(1, len(rule) - 1)
    if rule[at - 1] == "-" or rule[at] == "-" or rule[at + 1] == "-":
        return None
    wrong = rule[:at] + rule[at + 1 :]
    subject.protocol.setdefault("waive", []).append({"rule": wrong, "reason": "A reason."})
    return _of("waiver misspelt", wrong, subject, "unknown-waiver")


def key_misspelt(subject: Subject, rng: random.Random) -> Mutant | None:
    holders = [subject.protocol, subject.protocol["runs"], subject.protocol["analysis"]]
    holders += [subject.protocol["sessions"], subject.protocol["runs"]["set_points"]]
    holder = rng.choice(holders)
    key = rng.choice(list(holder))
    at = rng.randrange(1, len(key))
    wrong = key[:at] + key[at + 1 :] if rng.random() < 0.5 else key[:at] + key[at - 1] + key[at:]
    if wrong in holder:
        return None
    holder[wrong] = holder.pop(key)
    # Without a top key that decides what the file is, it is neither protocol nor trial.
    return _of("key misspelt", wrong, subject, "unknown-key", "unknown-document")


def key_twice(subject: Subject, rng: random.Random) -> Mutant | None:
    key = rng.choice(list(subject.protocol))
    text = yaml.safe_dump(subject.protocol, sort_keys=False, allow_unicode=True)
    text += yaml.safe_dump({key: subject.protocol[key]}, sort_keys=False, allow_unicode=True)
    return Mutant("key twice", key, frozenset({"duplicate-key"}), subject, text)


FAULTS: dict[str, Fault] = {
    fault.__name__: fault
    for fault in (
        limit_removed,
        limit_turned,
        limit_loosened,
        unit_of_limit_exchanged,
        unit_dropped,
        order_in_blocks,
        order_unbalanced,
        baseline_first_only,
        one_session,
        order_miscounted,
        one_configuration,
        few_sessions,
        one_way,
        no_repeats,
        direction_fixed,
        set_points_sorted,
        hold_widened,
        settle_cut,
        record_cut,
        uncertainty_removed,
        uncertainty_enlarged,
        instruments_separate,
        measure_dropped,
        worthwhile_removed,
        worthwhile_shrunk,
        worthwhile_of_nothing,
        family_single,
        confidence_lowered,
        current_left_in,
        tide_unheeded,
        headings_apart,
        limits_reported,
        noise_too_large,
        too_shallow,
        text_removed,
        waiver_misspelt,
        key_misspelt,
        key_twice,
    )
}
