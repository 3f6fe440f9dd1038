"""From what one wants to know to a plan: how many sessions, how many double runs, at what cost."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import product

import numpy as np
from scipy.special import chdtr, chdtri

from slackwater.analysis.planning.plan_model import (
    SURE,
    USUAL_DOUBLE_RUNS,
    USUAL_SESSIONS,
    Check,
    Option,
    Plan,
    Question,
    Span,
    Supposed,
    Sureness,
    cost,
)
from slackwater.analysis.planning.power import (
    SEED,
    Design,
    Noise,
    Setting,
    detectable_by,
    floors,
    power_of,
    realised_power,
)
from slackwater.analysis.planning.surface import Surface, learn
from slackwater.analysis.statistics.t_power import t_sample_size
from slackwater.analysis.working.workers import Workers

CHECK_TRIALS = 4000


def make_plan(
    question: Question, seed: int = SEED, *, protocol: str = "", workers: Workers | None = None
) -> Plan:
    """Answer a question.

    Parameters
    ----------
    question : Question
    seed : int
        Of the simulated trials.
    protocol : str
        Id and version of the protocol, for whoever reads the plan.
    workers : Workers or None
        Who simulates; None for this process. The plan is the same.

    Raises
    ------
    InputError
        When there is nobody left to work.
    """
    asked = _designs(question.sessions, question.double_runs)
    usual = _designs(_wider(USUAL_SESSIONS, question.setting), USUAL_DOUBLE_RUNS)
    every = sorted(
        {*asked, *usual, *_tellable(question)}, key=lambda d: (d.sessions, d.double_runs)
    )
    surface = _surface(question, every, seed)
    supposing = [_Supposing(question, noise, asked, seed) for noise in question.usual]
    learn([surface, *(each.surface for each in supposing)], workers)
    by_design = dict(zip(every, options_of(question, surface, every), strict=True))
    declared = by_design.get(question.declared) or _tells_nothing(question)
    options = tuple(by_design[design] for design in asked)
    affordable = [option for option in options if option.affordable]
    recommended = min((o for o in affordable if o.reaches), key=cost, default=None)
    told = [option for option in affordable if option.detectable is not None]
    best = min(told, key=lambda o: (o.detectable or 0.0, cost(o)), default=None)
    elsewhere = None
    if recommended is None:
        elsewhere = min((o for o in by_design.values() if o.reaches), key=cost, default=None)
    base = recommended or best
    more = (None, None) if base is None else _one_more(question, surface, base.design)
    return Plan(
        question=question,
        options=options,
        recommended=recommended,
        best=best,
        elsewhere=elsewhere,
        more_session=more[0],
        more_double_run=more[1],
        sureness=None
        if recommended is None
        else _sureness(question, surface, recommended, options),
        check=None if recommended is None else _check(question, recommended, seed),
        sessions_at_least=_at_least(question),
        declared=declared,
        supposed=tuple(each.supposed() for each in supposing),
        seed=seed,
        protocol=protocol,
    )


def _tellable(question: Question) -> list[Design]:
    """The design declared, where it can tell anything."""
    lone = question.declared.sessions == 1 and question.setting.prior is None
    return [] if lone else [question.declared]


def _tells_nothing(question: Question) -> Option:
    """The design declared, with one session each and nothing known of how sessions differ."""
    return _option(question, question.declared, 0.0, float("inf"))


class _Supposing:
    """What one of the noises supposed would mean for the design declared and for the plan."""

    def __init__(self, question: Question, noise: Noise, asked: list[Design], seed: int) -> None:
        self._question = replace(question, noise=noise, usual=())
        self._asked, self._own = asked, _tellable(self._question)
        self._designs = sorted({*asked, *self._own}, key=lambda d: (d.sessions, d.double_runs))
        self.surface = _surface(self._question, self._designs, seed)

    def supposed(self) -> Supposed:
        one = self._question
        options = dict(
            zip(self._designs, options_of(one, self.surface, self._designs), strict=True)
        )
        able = [options[d] for d in self._asked if options[d].reaches and options[d].affordable]
        declared = options[self._own[0]] if self._own else _tells_nothing(one)
        return Supposed(one.noise, declared, min(able, key=cost, default=None))


def options_of(question: Question, surface: Surface, designs: Iterable[Design]) -> list[Option]:
    """What each design sees and costs."""
    designs = list(designs)
    sessions = np.array([design.sessions for design in designs])
    double_runs = np.array([design.double_runs for design in designs])
    floor, spread = surface.floors(sessions, double_runs), surface.spreads(sessions, double_runs)
    power = power_of(floor, spread, np.full(len(designs), question.effect))
    seen = detectable_by(floor, spread, question.power)
    return [
        _option(question, design, float(power[i]), float(seen[i]))
        for i, design in enumerate(designs)
    ]


def _option(question: Question, design: Design, power: float, seen: float) -> Option:
    effort = question.effort
    hours, fuel = effort.hours_in_all(design), effort.fuel(design)
    too_long = question.max_hours is not None and hours > question.max_hours + 1e-9
    too_much = (
        question.max_fuel is not None and fuel is not None and fuel > question.max_fuel + 1e-9
    )
    return Option(
        sessions_per_configuration=design.sessions,
        double_runs=design.double_runs,
        order=effort.order(design),
        detectable=question.natural(seen) if np.isfinite(seen) else None,
        power=power,
        hours=effort.hours(design),
        hours_in_all=hours,
        changes=effort.changes(design),
        distance=effort.distance(design),
        fuel=fuel,
        reaches=power >= question.power,
        affordable=not (too_long or too_much),
    )


def _designs(sessions: Span, double_runs: Span) -> list[Design]:
    return [
        Design(n, m)
        for n, m in product(
            range(sessions[0], sessions[1] + 1), range(double_runs[0], double_runs[1] + 1)
        )
    ]


def _wider(sessions: Span, setting: Setting) -> Span:
    """With noise known from earlier trials, one session a configuration can tell something."""
    return (1, sessions[1]) if setting.prior is not None else sessions


def _surface(question: Question, designs: list[Design], seed: int) -> Surface:
    """Floors over all these designs and one step beyond, for what one more would bring."""
    sessions = [design.sessions for design in designs]
    double_runs = [design.double_runs for design in designs]
    return Surface(
        question.noise,
        question.setting,
        (min(sessions), max(sessions) + 1),
        (min(double_runs), max(double_runs) + 1),
        seed,
    )


def _one_more(question: Question, surface: Surface, base: Design) -> tuple[Option, Option]:
    """The option with one more session a configuration, and with one more double run."""
    session, double_run = options_of(
        question,
        surface,
        [
            replace(base, sessions=base.sessions + 1),
            replace(base, double_runs=base.double_runs + 1),
        ],
    )
    return session, double_run


def _sureness(
    question: Question, surface: Surface, option: Option, options: tuple[Option, ...]
) -> Sureness | None:
    """How sure the recommended option is, over what the noise may truly be.

    All components are scaled together by what the degrees of freedom leave open; that between
    sessions, the least known, decides the number.
    """
    df = question.noise.df
    if df is None:
        return None
    at = (np.arange(15) + 0.5) / 15
    factors = np.sqrt(df / chdtri(df, at))  # from small noise to large
    spread = question.setting.spread(option.design, question.noise)
    if question.setting.prior is None:
        floor = surface.floors(np.array([option.design.sessions]), np.array([option.double_runs]))
        powers = power_of(factors[:, None] * floor, factors * spread, question.effect)
    else:
        powers = np.array(
            [
                power_of(
                    floors(option.design, noise, question.setting, trials=1000, seed=surface.seed),
                    question.setting.spread(option.design, noise),
                    question.effect,
                )
                for noise in (question.noise.scaled(float(factor)) for factor in factors)
            ]
        )
    order = np.argsort(factors)
    least = float(np.interp(-question.power, -powers[order], factors[order]))
    chance = 1 - float(chdtr(df, df / least**2))
    return Sureness(
        df=df,
        chance=chance,
        expected=float(powers.mean()),
        surer=_surer(question, surface, options),
    )


def _surer(question: Question, surface: Surface, options: tuple[Option, ...]) -> Option | None:
    """The cheapest option that still reaches the power when the noise is larger than estimated."""
    df = question.noise.df or 1.0
    factor = float(np.sqrt(df / chdtri(df, SURE)))
    sessions = np.array([option.sessions_per_configuration for option in options])
    double_runs = np.array([option.double_runs for option in options])
    floor, spread = surface.floors(sessions, double_runs), surface.spreads(sessions, double_runs)
    power = power_of(factor * floor, factor * spread, np.full(len(options), question.effect))
    able = [o for o, p in zip(options, power, strict=True) if p >= question.power and o.affordable]
    return min(able, key=cost, default=None)


def _check(question: Question, option: Option, seed: int) -> Check:
    """Try the recommended option out on simulated trials."""
    common = (option.design, question.noise, question.setting, question.effect, CHECK_TRIALS, seed)
    power, error = realised_power(*common)
    everywhere, _ = realised_power(*common, everywhere=True)
    return Check(CHECK_TRIALS, seed, power, error, everywhere)


def _at_least(question: Question) -> int | None:
    """Sessions a configuration without which no number of double runs will do."""
    between = float(np.hypot(question.noise.between_sessions, question.noise.session_by_set_point))
    setting = question.setting
    if between == 0 or setting.prior is not None or setting.blocked or setting.configurations > 2:
        return None
    needed = t_sample_size(question.effect / between, question.power, confidence=setting.confidence)
    return int(np.ceil(needed - 1e-9))
