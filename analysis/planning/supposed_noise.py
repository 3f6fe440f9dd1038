"""The noise that a plan supposes, which of it is assumed, and where the rest comes from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from slackwater.analysis.planning.power import Noise
from slackwater.analysis.planning.usual_noise import usual_noise
from slackwater.analysis.planning.wanted import Wanted, likes_of, read_option, refusal, size_of
from slackwater.protocol.catalogue.measures import Measure
from slackwater.protocol.declared.noise_file import load_noise, noise_place
from slackwater.protocol.declared.protocol import Protocol
from slackwater.protocol.declared.protocol_parts import PriorNoise
from slackwater.protocol.units.quantity import Quantity

_COMPONENTS = {
    "between_sessions": ("between", "between sessions"),
    "session_by_set_point": ("session_by_set_point", "session by set point"),
    "within_session": ("within", "between double runs"),
}


@dataclass(frozen=True, slots=True)
class Supposed:
    """The noise that a plan reckons with.

    Attributes
    ----------
    noise : Noise
    assumed : tuple of str
        The components that nothing measured stands behind.
    source : str
    usual : tuple of Noise
        Noises to suppose beside it, where nothing at all is said of it.
    """

    noise: Noise
    assumed: tuple[str, ...]
    source: str
    usual: tuple[Noise, ...] = ()


def supposed_noise(
    protocol: Protocol, wanted: Wanted, name: str, measure: Measure, level: float | None
) -> Supposed:
    """The noise of a quantity as the protocol, a file or the command line tells it, else the usual."""
    usual = _usual(protocol, wanted, name, measure)
    if usual:
        every = tuple(words for _, words in _COMPONENTS.values())
        return Supposed(usual[1], every, "assumed", usual)
    return _told(protocol, wanted, name, measure, level)


def _usual(protocol: Protocol, wanted: Wanted, name: str, measure: Measure) -> tuple[Noise, ...]:
    """Noises to suppose, where nothing at all is said of it; empty where something is."""
    said = (wanted.noise, wanted.between, wanted.within, wanted.session_by_set_point)
    if name in protocol.noise or any(each is not None for each in said):
        return ()
    if measure.scale != "ratio":
        return ()
    return usual_noise(name, protocol.measures, tried=name in protocol.tried)


def _told(
    protocol: Protocol, wanted: Wanted, name: str, measure: Measure, level: float | None
) -> Supposed:
    declared: PriorNoise | None = protocol.noise.get(name)
    source = f"protocol {protocol.protocol}"
    if wanted.noise is not None:
        found = load_noise(wanted.noise)
        declared, source = found.get(name), Path(wanted.noise).name
        if declared is None:
            raise refusal(
                wanted.noise,
                f"the file says nothing of the noise of {name}",
                f"it has {', '.join(found)}; name one of these with --quantity",
                "missing-noise",
            )
    values: dict[str, float] = {}
    assumed: list[str] = []
    for key, (option, words) in _COMPONENTS.items():
        text, flag = getattr(wanted, option), f"--{option.replace('_', '-')}"
        if text is not None:
            values[key] = size_of(flag, read_option(flag, text, likes_of(measure)), measure, level)
            assumed.append(words)
        elif declared is not None:
            given: Quantity | None = getattr(declared, key)
            at = f"noise: {name}" if wanted.noise is None else noise_place(wanted.noise, name, key)
            values[key] = 0.0 if given is None else size_of(at, given, measure, level)
        else:
            values[key] = 0.0
            assumed.append(words)
    if declared is None and wanted.between is None:
        raise refusal(
            f"noise: {name}",
            f"nothing says how much {name} differs between sessions when nothing is changed",
            "estimate it from earlier trials with 'slackwater noise TRIAL', or assume it with "
            "--between '0.6 %' --within '0.4 %'",
            "missing-noise",
        )
    if sum(values.values()) == 0:
        raise refusal("--between", "without any noise there is nothing to plan", "give the noise")
    df: float | None = None if declared is None else float(declared.sessions - 1)
    if "between sessions" in assumed:
        df = None if wanted.known_from is None else float(wanted.known_from - 1)
    if declared is None or len(assumed) == len(_COMPONENTS):
        source = "assumed"
    return Supposed(Noise(**values, df=df), tuple(assumed), source)
