"""An instrument does not serve all configurations."""

from __future__ import annotations

from slackwater.protocol.rules._kit import Example, Found, Protocol, ProtocolRule, Severity


def check(protocol: Protocol) -> Found:
    for name, measure in protocol.measures.items():
        if not measure.shared:
            told = "shared" in (protocol.document.data.get("measures") or {}).get(name, {})
            loc = ("measures", name, "shared") if told else ("measures", name)
            yield RULE.found(
                protocol.document.place(loc, key=not told),
                f"{name}: {'' if told else 'nothing says that '}one instrument "
                f"{'does not serve' if told else 'serves'} all configurations",
            )


RULE = ProtocolRule(
    id="separate-instruments",
    severity=Severity.WARNING,
    title="An instrument does not serve all configurations.",
    looks_at=("measures",),
    why=(
        "Two instruments differ by their calibration errors, and that difference is added to "
        "the one looked for. One instrument that stays aboard cancels its own error in a ratio."
    ),
    fix="keep one instrument aboard throughout and write 'shared: true'",
    source="JCGM 100:2008 (GUM), 5.2: correlated input quantities",
    passes=Example(
        protocol=(
            "measures: {speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: true}}"
        )
    ),
    fails=Example(
        protocol=(
            "measures: {speed_over_ground: {unit: kn, standard_uncertainty: 0.05 kn, shared: "
            "false}}"
        )
    ),
    check=check,
)
