"""The speed that is expected is impossible for the propeller."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Severity, Trial, TrialRule
from slackwater.protocol.rules._slip import LEAST, MOST, SOURCE, apparent_slip
from slackwater.protocol.rules._trials import listed, touched
from slackwater.protocol.units.quantity import conversion, show_number


def check(trial: Trial) -> Found:
    protocol = trial.protocol
    if protocol.set_point_measure != "engine_speed":
        yield RULE.not_applicable("no engine speed is held")
        return
    speeds = protocol.expected_values("speed", "kn")
    if speeds is None:
        yield RULE.not_applicable("no speeds are expected; those of the runs are looked at")
        return
    to_ms, to_turns = conversion("kn", "m/s"), conversion(protocol.set_point_unit, "rpm") / 60
    for name, fitted in trial.configurations.items():
        if fitted.propeller_pitch is None or not fitted.gear_ratio:
            continue
        pitch = fitted.propeller_pitch.to("m").value
        odd = []
        for point, speed in zip(protocol.set_point_values, speeds, strict=True):
            slip = apparent_slip(speed * to_ms, point * to_turns, pitch, fitted.gear_ratio)
            if not LEAST <= slip <= MOST:
                odd.append(f"{100 * slip:.0f} % at {show_number(point)} {protocol.set_point_unit}")
        run = [each.id for each in trial.sessions if each.configuration == name]
        if odd:
            yield RULE.found(
                trial.document.place(("configurations", name, "propeller_pitch")),
                f"the speeds expected would be an apparent slip of {listed(odd)} with {name}"
                + (touched(trial, run) if run else ""),
            )


RULE = TrialRule(
    id="expected-slip",
    severity=Severity.WARNING,
    title="The speed that is expected is impossible for the propeller.",
    looks_at=(
        "protocol.expected.speed",
        "configurations.propeller_pitch",
        "configurations.gear_ratio",
    ),
    why=(
        "A boat does not go faster than her propeller screws through the water. A pitch, a gear "
        "ratio or a speed that is wrong here would be wrong in every figure of advance and slip."
    ),
    fix=(
        "check the pitch (m or in), the gear ratio (turns of the engine for one of the propeller) and "
        "the speeds under 'expected:'"
    ),
    source=SOURCE,
    passes=Example(
        protocol="expected: {speed: [7 kn, 12 kn]}",
        trial="configurations: {bare: {propeller_pitch: 21 in, gear_ratio: 1.75}}",
    ),
    fails=Example(
        protocol="expected: {speed: [7 kn, 12 kn]}",
        trial="configurations: {bare: {propeller_pitch: 21 in, gear_ratio: 3.5}}",
    ),
    check=check,
)
