"""Loading and conditions without a limit: a row each."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def _rule(
    of: str,
    group: str,
    name: str,
    kinds: tuple[str, ...],
    severity: Severity,
    *,
    why: str,
    fix: str,
    source: str,
    passes: str,
    fails: str,
    unless: tuple[str, ...] = (),
) -> ProtocolRule:
    """The rule that one limit is missing, or is of a kind that does not bound anything.

    Parameters
    ----------
    of : str
        What the rule's id calls it.
    group, name : str
        Where the limit stands: under `loading` or `conditions`, by its key.
    kinds : tuple of str
        The kinds of limit that serve, such as `at_most`.
    unless : tuple of str
        Measures that show the limit to be of no concern, such as those of an electric drive.
    """
    words = name.replace("_", " ")

    def check(protocol: Protocol) -> Found:
        if any(each in protocol.measures for each in unless):
            yield rule.not_applicable(f"{words} is of no concern with what is measured")
            return
        limit = protocol.limits.get(name)
        if limit is None:
            yield rule.found(protocol.document.place((group,)), f"no limit on {words}")
        elif not any(getattr(limit, kind) for kind in kinds):
            where = group if name in getattr(protocol, group) else _other(group)
            yield rule.found(
                protocol.document.place((where, name)),
                f"the limit on {words} ({limit}) does not bound it; {' or '.join(kinds)} is needed",
            )

    rule = ProtocolRule(
        id=f"no-{of}-limit",
        severity=severity,
        title=f"No limit on {words}.",
        looks_at=(f"{group}.{name}",),
        why=why,
        fix=fix,
        source=source,
        passes=Example(protocol=passes),
        fails=Example(protocol=fails),
        check=check,
    )
    return rule


def _other(group: str) -> str:
    return "loading" if group == "conditions" else "conditions"


RULES = (
    _rule(
        "crew",
        "loading",
        "crew",
        ("same", "within", "between", "at_most"),
        Severity.ADVICE,
        why="One person is 75 kg that moves about, in a light boat a percent of her mass or more. "
        "Another crew is another loading and another trim.",
        fix="add 'crew: {same: true}' under 'loading:'",
        source="ISO 14946:2021, clause 5: 75 kg a person",
        passes="loading: {crew: {same: true}}",
        fails="loading: {displacement: {within: 1 %}}",
    ),
    _rule(
        "current",
        "conditions",
        "current",
        ("at_most", "between"),
        Severity.WARNING,
        why="The current is taken out along the course only, and only as well as its changes are "
        "followed. The stronger it runs, the more of it is left in the speeds.",
        fix="add 'current: {at_most: 1.5 kn}' under 'conditions:'",
        source=(
            "algebra: a current c across the course leaves sqrt(V^2 - c^2); ITTC 7.5-04-01-01.1 "
            "(2017): there is a clause on current"
        ),
        passes="conditions: {current: {at_most: 1.5 kn}}",
        fails="conditions: {wind_speed: {at_most: 8 kn}}",
    ),
    _rule(
        "depth",
        "conditions",
        "water_depth",
        ("at_least", "between", "within", "same"),
        Severity.WARNING,
        why="Shallow water slows a boat below its critical speed and can speed her up above it. A "
        "difference in depth can therefore pass for a difference between configurations.",
        fix="add 'water_depth: {at_least: ...}' under 'conditions:'; see the rule shallow-water for"
        " how deep",
        source="D. Radojcic and J. Bowles, Chesapeake Power Boat Symposium (2010): shallow water below"
        " and above critical speed",
        passes="conditions: {water_depth: {at_least: 20 m}}",
        fails="conditions: {wind_speed: {at_most: 8 kn}}",
    ),
    _rule(
        "displacement",
        "loading",
        "displacement",
        ("within", "same", "between"),
        Severity.WARNING,
        why="Resistance follows displacement: by the admiralty coefficient 5 % more mass costs 1 % "
        "of speed at equal power, and more when planing. A boat that is lighter after the yard "
        "has been at her gains speed whatever was fitted.",
        fix="add 'displacement: {within: 1 %}' under 'loading:'",
        source=(
            "admiralty coefficient: displacement^(2/3) V^3 / P; common practice: published ship "
            "trials hold displacement within 2 %"
        ),
        passes="loading: {displacement: {within: 1 %}}",
        fails="loading: {crew: {same: true}}",
    ),
    _rule(
        "fuel",
        "loading",
        "fuel",
        ("at_least", "between", "within", "same", "at_most"),
        Severity.ADVICE,
        why="Fuel is the load that changes while a trial goes on, and its tank is seldom at the "
        "centre of gravity. The same displacement with full or empty tanks is another trim.",
        fix="add 'fuel: {between: [40 %, 100 %]}' under 'loading:'",
        source=(
            "ISO 14946:2021, clause 5: tanks count at 95 % into the maximum load; common practice"
        ),
        passes="loading: {fuel: {between: [40 %, 100 %]}}",
        fails="loading: {displacement: {within: 1 %}}",
        unless=("electric_power", "electric_energy"),
    ),
    _rule(
        "temperature",
        "conditions",
        "water_temperature",
        ("at_most", "between", "within", "same"),
        Severity.WARNING,
        why="Water changes density and viscosity with temperature, and an engine its power with "
        "what cools it. A baseline in spring and a change in summer differ by that too.",
        fix="add 'water_temperature: {within: 5 delta_degC}' under 'conditions:'",
        source=(
            "TEOS-10: sea water at 35.165 g/kg has 1026.95 kg/m^3 at 10 degC and 1024.77 at 20 "
            "degC; ISO 15016:2015: the reference is 15 degC"
        ),
        passes="conditions: {water_temperature: {within: 5 delta_degC}}",
        fails="conditions: {wind_speed: {at_most: 8 kn}}",
    ),
    _rule(
        "wave",
        "conditions",
        "wave_height",
        ("at_most", "between"),
        Severity.WARNING,
        why="Waves add resistance in both directions, so that no averaging takes it out. A rougher "
        "day costs one configuration what it spares the other.",
        fix="add 'wave_height: {at_most: 0.3 m}' under 'conditions:'",
        source=(
            "ITTC 7.5-04-01-01.1 (2017), 7.6.5: the waves are recorded; common practice: the "
            "limit, for small craft"
        ),
        passes="conditions: {wave_height: {at_most: 0.3 m}}",
        fails="conditions: {wind_speed: {at_most: 8 kn}}",
    ),
    _rule(
        "wind",
        "conditions",
        "wind_speed",
        ("at_most", "between"),
        Severity.WARNING,
        why="Air drag grows with the square of the apparent wind and does not cancel between out "
        "and back. Half the speed in wind adds a quarter to the mean air drag of the pair.",
        fix="add 'wind_speed: {at_most: 8 kn}' under 'conditions:'",
        source=(
            "algebra: the mean of (V+W)^2 and (V-W)^2 is V^2+W^2; ITTC 7.5-04-01-01.1 (2017), "
            "7.6.3: the wind is measured"
        ),
        passes="conditions: {wind_speed: {at_most: 8 kn}}",
        fails="conditions: {wave_height: {at_most: 0.3 m}}",
    ),
)
