"""Invented outcomes of trials, for tests of what many trials tell together. No boat was measured."""

from __future__ import annotations

from dataclasses import replace

from slackwater.analysis.many.boats import Entered
from slackwater.analysis.many.outcome import Change, Outcome
from slackwater.protocol.declared.pool import Pool

CHANGE = Change(
    baseline="bare",
    modified="fitted",
    quantity="speed",
    kind="set points",
    at="2000 rpm",
    position=2000.0,
    axis_unit="rpm",
    speed=6.0,
    unit="kn",
    scale="ratio",
    better="more",
    value=0.03,
    standard_error=0.006,
    df=8.0,
    worthwhile=0.01,
    one_sided=False,
    confidence=0.95,
    simultaneous=True,
    deciding=True,
    sessions_baseline=3,
    sessions_modified=3,
    verdict="gain",
    reason="",
)


def changes(
    value: float, points: tuple[float, ...] = (2000.0,), **more: object
) -> tuple[Change, ...]:
    """The same change at some set points; speed rises with the engine's. [m/s]"""
    return tuple(
        replace(
            CHANGE,
            **{  # type: ignore[arg-type]
                "value": value,
                "at": f"{point:g} rpm",
                "position": point,
                "speed": point * 0.003,
                **more,
            },
        )
        for point in points
    )


def outcome(name: str, found: tuple[Change, ...], **more: object) -> Outcome:
    """A trial that found these changes."""
    made = Outcome(
        trial=name,
        title="",
        boat=f"Invented {name}",
        protocol="sweep",
        version="1.0",
        protocol_sha256="0" * 64,
        tool="0.1.0",
        trial_sha256=name,
        runs_sha256=name,
        content=name,
        waterline_length=9.0,
        length_overall=None,
        displacement=None,
        wave_height=None,
        first_day="2026-05-01",
        last_day="2026-05-09",
        invented=True,
        confidence=0.95,
        decides="speed",
        configurations={"bare": "Bare", "fitted": "Fitted"},
        changes=found,
        levels=(),
        noise=(),
    )
    return replace(made, **more)  # type: ignore[arg-type]


def entered(*outcomes: Outcome) -> list[Entered]:
    """The outcomes as trials of a pool."""
    return [Entered(f"{each.trial}.yaml", each) for each in outcomes]


def asked(**keys: object) -> Pool:
    """What is asked of a pool."""
    return Pool.model_validate({"pool": "invented", "trials": ["a.yaml"], **keys})
