"""An invented trial's result, for the tests of what the reader sees. No boat was measured for it."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import numpy as np
from scipy import stats

from slackwater.analysis.result.result import InputFile, ProtocolStamp, Result, RunCount, table
from slackwater.protocol.findings import Finding, Place, Severity

ORDER = "ABBAAB"
SPEEDS = {1000: 6.1, 1500: 8.4, 2000: 10.3, 2500: 14.2, 3000: 19.6, 3500: 24.1, 4000: 27.8}
WORTHWHILE = {"speed": 0.01, "economy": 0.03, "fuel_flow": None}
CONFIGURATIONS = {"bare": "As delivered", "fitted": "Interceptors fitted"}


def _law(set_points: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    rpm = np.linspace(1000.0, 4000.0, set_points)
    speed = np.interp(rpm, list(SPEEDS), list(SPEEDS.values()))
    return rpm, speed, 1.9e-9 * rpm**3 + 0.012 * rpm - 6.0


def _sessions(set_points: int, seed: int) -> dict[str, dict[str, np.ndarray]]:
    """Session values of each quantity: {quantity: {session: values}}."""
    rng = np.random.default_rng(seed)
    rpm, speed, flow = _law(set_points)
    lift = 0.034 * np.exp(-(((rpm - 2900.0) / 520.0) ** 2)) - 0.004
    values: dict[str, dict[str, np.ndarray]] = {"speed": {}, "fuel_flow": {}, "economy": {}}
    for number, letter in enumerate(ORDER, start=1):
        gain = lift if letter == "B" else 0.0 * lift
        v = speed * np.exp(gain + rng.normal(0, 0.003) + rng.normal(0, 0.002, rpm.size))
        f = flow * np.exp(-0.2 * gain + rng.normal(0, 0.008) + rng.normal(0, 0.005, rpm.size))
        for quantity, found in (("speed", v), ("fuel_flow", f), ("economy", v / f)):
            values[quantity][f"S{number}"] = found
    return values


def _verdict(low: float, high: float, better: str, worth: float | None) -> tuple[str, str | None]:
    if low > 0 or high < 0:
        up = low > 0
        word = "gain" if up == (better == "more") else "loss"
        near, far = sorted((abs(low), abs(high)))
        if worth is None:
            return word, None
        return word, "exceeds" if near > worth else "less than" if far < worth else "may exceed"
    if worth is not None and -worth < low and high < worth:
        return "equivalent", None
    return "within noise", None


def _quantity_rows(quantity: str, by_session: dict[str, np.ndarray], rpm: np.ndarray) -> Any:
    unit = {"speed": "kn", "fuel_flow": "L/h", "economy": "nmi/L"}[quantity]
    better = "less" if quantity == "fuel_flow" else "more"
    logs = {s: np.log(v) for s, v in by_session.items()}
    sides = {
        "bare": np.array([logs[s] for s, c in zip(logs, ORDER, strict=True) if c == "A"]),
        "fitted": np.array([logs[s] for s, c in zip(logs, ORDER, strict=True) if c == "B"]),
    }
    spread = float(np.sqrt(np.mean([side.var(axis=0, ddof=1) for side in sides.values()])))
    t = float(stats.t.ppf(1 - 0.025 / rpm.size, 7.4))
    set_points, comparisons = [], []
    for side, found in sides.items():
        half = t * spread / np.sqrt(3)
        for x, m in zip(rpm, found.mean(axis=0), strict=True):
            set_points.append(
                {
                    "configuration": side,
                    "quantity": quantity,
                    "at": f"{x:g} rpm",
                    "position": x,
                    "mean": np.exp(m),
                    "low": np.exp(m - half),
                    "high": np.exp(m + half),
                    "unit": unit,
                    "sessions": 3,
                    "double_runs": 9,
                }
            )
    error = spread * np.sqrt(2 / 3)
    for i, x in enumerate(rpm):
        d = sides["fitted"].mean(axis=0)[i] - sides["bare"].mean(axis=0)[i]
        low, high = np.expm1(d - t * error), np.expm1(d + t * error)
        verdict, worth = _verdict(low, high, better, WORTHWHILE[quantity])
        comparisons.append(
            {
                "baseline": "bare",
                "modified": "fitted",
                "quantity": quantity,
                "at": f"{x:g} rpm",
                "position": x,
                "baseline_mean": np.exp(sides["bare"].mean(axis=0)[i]),
                "modified_mean": np.exp(sides["fitted"].mean(axis=0)[i]),
                "unit": unit,
                "change": np.expm1(d),
                "low": low,
                "high": high,
                "confidence": 0.95,
                "simultaneous": True,
                "family": rpm.size,
                "p_value": min(1.0, rpm.size * 2 * float(stats.t.sf(abs(d) / error, 7.4))),
                "noise_floor": np.expm1(t * error),
                "worthwhile": WORTHWHILE[quantity],
                "verdict": verdict,
                "worth": worth,
                "reason": "the interval is clear of zero" if worth else "the interval holds zero",
                "degrees_of_freedom": 7.4,
                "scale": "ratio",
                "better": better,
                "sessions_baseline": 3,
                "sessions_modified": 3,
            }
        )
    last = comparisons[-1]
    if quantity == "speed":
        last.update(
            low=None,
            high=None,
            p_value=None,
            noise_floor=None,
            verdict="untestable",
            worth=None,
            degrees_of_freedom=None,
            vanishes_at=0.0081,
            reason="only one session with the baseline reached this set point",
        )
    return set_points, comparisons, unit


def _session_values(values: Any, rpm: np.ndarray, units: dict[str, str]) -> list[dict[str, Any]]:
    return [
        {
            "session": session,
            "configuration": "bare" if ORDER[int(session[1:]) - 1] == "A" else "fitted",
            "date": f"2031-05-{3 + int(session[1:]):02d}",
            "quantity": quantity,
            "at": f"{x:g} rpm",
            "position": x,
            "value": value,
            "unit": units[quantity],
            "double_runs": 3,
        }
        for quantity, by_session in values.items()
        for session, found in by_session.items()
        for x, value in zip(rpm, found, strict=True)
    ]


def _current(rpm: np.ndarray, seed: int) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    rng = np.random.default_rng(seed)
    curve, runs = [], []
    for number in range(1, len(ORDER) + 1):
        start = datetime(2031, 5, 3 + number, 8 + number % 3, 10)
        phase = rng.uniform(0, 2 * np.pi)

        def flow(minutes: float, phase: float = phase) -> float:
            return 0.1 + 0.7 * np.sin(2 * np.pi * minutes / 745.0 + phase)

        common = {"session": f"S{number}", "outing": number, "unit": "kn"}
        length = 6 * rpm.size * 3.5
        for minutes in np.linspace(0, length, 50):
            at = (start + timedelta(minutes=float(minutes))).isoformat(timespec="seconds")
            v = flow(float(minutes))
            curve.append({**common, "at": at, "value": v, "low": v - 0.05, "high": v + 0.05})
        for k in range(6 * rpm.size):
            at = (start + timedelta(minutes=3.5 * k)).isoformat(timespec="seconds")
            runs.append(
                {
                    **common,
                    "at": at,
                    "value": flow(3.5 * k) + rng.normal(0, 0.08),
                    "direction": "out" if k % 2 else "back",
                    "set_point": f"{rpm[k // 6]:g} rpm",
                }
            )
    return curve, runs


NOISE = [
    ("speed", "between sessions", 0.0034, 0.0021, 0.0083, 6, ""),
    ("speed", "session by set point", 0.0019, 0.0015, 0.0026, 6, ""),
    ("speed", "within session (runs)", 0.0041, 0.0037, 0.0046, 6, ""),
    ("fuel_flow", "between sessions", 0.0082, 0.0051, 0.0201, 6, ""),
    ("fuel_flow", "within session (runs)", 0.0107, None, None, 6, ""),
    ("economy", "between sessions", 0.0089, 0.0056, 0.0219, 6, ""),
]


def findings() -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    deviations = (
        Finding(
            "wind-above-limit",
            Severity.WARNING,
            "session S4 was sailed in 9 kn of wind; the protocol allows 8 kn at most",
            "give the reason in a waiver, or repeat the session",
            Place("/somewhere/private/trial.yaml", 31, 5, "  - {id: S4, configuration: bare}"),
            "common practice",
            "S4",
        ),
        Finding(
            "fuel-outside-limits",
            Severity.ADVICE,
            "session S6 began with 38 % of fuel; the protocol asks for 40 to 100 %",
            session="S6",
        ),
    )
    found = (
        Finding(
            "short-record",
            Severity.WARNING,
            "run 17 was recorded for 48 s; 60 s are asked for",
            "set the run aside, with its reason",
            Place("/somewhere/private/runs.csv", 18, 6),
            run="17",
        ),
    )
    return deviations, found


def invented(set_points: int = 8, seed: int = 20310504) -> Result:
    """The whole thing: three quantities, ABBAAB, a gain of speed in the middle of the sweep."""
    rpm = (
        np.round(_law(set_points)[0] / 10) * 10
        if set_points != 8
        else np.array([1000.0, 1400.0, 1800.0, 2200.0, 2600.0, 3000.0, 3500.0, 4000.0])
    )
    values = _sessions(set_points, seed)
    rows: list[Any] = []
    comparisons: list[Any] = []
    units: dict[str, str] = {}
    for quantity, by_session in values.items():
        found, compared, units[quantity] = _quantity_rows(quantity, by_session, rpm)
        rows += found
        comparisons += compared
    curve, runs = _current(rpm, seed)
    names = ("quantity", "component", "value", "low", "high", "sessions", "unit")
    aside = {
        "row": 23,
        "session": "S2",
        "set_point": f"{rpm[2]:g} rpm",
        "double_run": 3,
        "direction": "back",
        "reason": "a vessel crossed ahead and the helm was moved",
    }
    deviations, found = findings()
    return Result(
        trial="invented-launch-interceptors",
        title="Invented launch, interceptors fitted",
        boat="Invented launch of 9 m",
        protocol=ProtocolStamp(
            "two-way-sweep", "1.0", "ab" * 32, "Speed and fuel at fixed engine speeds"
        ),
        configurations=dict(CONFIGURATIONS),
        inputs=(
            InputFile("trial.yaml", "0123456789abcdef" * 4, "trial"),
            InputFile("two-way-sweep.yaml", "ab" * 32, "protocol"),
            InputFile("runs.csv", "fedcba9876543210" * 4, "runs"),
        ),
        runs=RunCount(36 * set_points, 36 * set_points - 1, 1),
        set_points=table("set_points", rows),
        comparisons=table("comparisons", comparisons),
        current=table("current", curve),
        current_runs=table("current_runs", runs),
        noise=table("noise", [dict(zip(names, each, strict=True)) for each in NOISE]),
        session_values=table("session_values", _session_values(values, rpm, units)),
        set_aside=table("set_aside", [aside]),
        deviations=deviations,
        findings=found,
        method=(
            "The current was taken out by one fit over all runs of an outing.",
            "Session values were compared on the log scale, for the whole family at once.",
        ),
        sources=("JCGM 100:2008, Guide to the expression of uncertainty in measurement.",),
        waivers=("wind-above-limit in S4: the course lay in the lee of the breakwater.",),
    )


def without_tables() -> Result:
    """A result with nothing in its tables."""
    full = invented()
    names = ("set_points", "comparisons", "current", "current_runs", "noise", "session_values")
    empty: dict[str, Any] = {name: table(name) for name in (*names, "set_aside")}
    return replace(
        full, **empty, deviations=(), findings=(), method=(), sources=(), waivers=(), inputs=()
    )


def untestable() -> Result:
    """One session a configuration: no verdict anywhere."""
    full = invented()
    rows = full.records("comparisons")
    for row in rows:
        row.update(
            low=None,
            high=float("nan"),
            p_value=None,
            noise_floor=float("inf"),
            verdict="untestable",
            worth=None,
            reason="one session a configuration and no noise from earlier trials",
            degrees_of_freedom=None,
            vanishes_at=abs(row["change"]) / 2.8,
            sessions_baseline=1,
            sessions_modified=1,
        )
    points = full.records("set_points")
    for point in points:
        point.update(low=None, high=None, sessions=1)
    return replace(
        full,
        comparisons=table("comparisons", rows),
        set_points=table("set_points", points),
        noise=table("noise"),
        current=table("current"),
        current_runs=table("current_runs"),
    )
