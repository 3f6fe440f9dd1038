"""What a plan is asked and what it answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, ClassVar

import numpy as np

from slackwater.analysis.planning.effort import Effort
from slackwater.analysis.planning.power import SEED, Design, Noise, Setting
from slackwater.analysis.wording.answer import Answer
from slackwater.analysis.wording.json_text import head
from slackwater.protocol.sealing.said import NO_SEAL, SealSaid

if TYPE_CHECKING:
    import pandas as pd

Span = tuple[int, int]

USUAL_SESSIONS: Span = (2, 10)
USUAL_DOUBLE_RUNS: Span = (1, 8)
USUAL_RATERS: Span = (2, 8)

SURE = 0.8  # how sure one would like to be of a plan whose noise is itself an estimate

CAUTION = (
    "A plan counts what the statistics ask for and knows nothing of the day. Local rules, the "
    "skipper's judgement and licensed practice come before it. Its hours and fuel are for what is "
    "counted here and hold no reserve: keep one, and turn back when in doubt."
)


PLURALS = {
    "double run": "double runs",
    "rater": "raters",
    "pair of tries": "pairs of tries",
    "try": "tries",
}


def plural(noun: str) -> str:
    """What a design repeats, as a noun for several of it."""
    return PLURALS[noun]


@dataclass(frozen=True, slots=True)
class Question:
    """What one wants to know, and what is known.

    Attributes
    ----------
    quantity, unit, scale : str
        `scale` is "ratio" or "difference"; `unit` is that of a difference.
    effect : float
        The difference that is to be seen, on the scale of the analysis.
    power : float
        Chance of establishing it that is wanted, 0 to 1.
    noise : Noise
    assumed : tuple of str
        Components of the noise that rest on assumption alone.
    noise_source : str
        Where the noise comes from, in words.
    setting : Setting
    effort : Effort
    declared : Design
        The one that the protocol declares.
    usual : tuple of Noise
        Small, middling and large, where nothing is known; the middling one is `noise`.
    sessions, double_runs : (int, int)
        Designs that are asked about.
    max_hours, max_fuel : float or None
        What can be afforded. [h], [L]
    notes : tuple of str
        What else a reader has to know.
    repeats : str
        What a design repeats within a session, as a noun: "double run", "rater", "pair of tries" or "try".
    """

    quantity: str
    unit: str
    scale: str
    effect: float
    power: float
    noise: Noise
    assumed: tuple[str, ...]
    noise_source: str
    setting: Setting
    effort: Effort
    declared: Design = field(default_factory=lambda: Design(3, 3))
    usual: tuple[Noise, ...] = ()
    sessions: Span = USUAL_SESSIONS
    double_runs: Span = USUAL_DOUBLE_RUNS
    max_hours: float | None = None
    max_fuel: float | None = None
    notes: tuple[str, ...] = ()
    repeats: str = "double run"

    @property
    def several(self) -> str:
        """The noun in the plural."""
        return plural(self.repeats)

    def natural(self, value: float) -> float:
        """From the scale of the analysis to a fraction, or a difference in the unit."""
        return float(np.expm1(value)) if self.scale == "ratio" else float(value)


@dataclass(frozen=True, slots=True)
class Option:
    """One design: what it sees and what it costs.

    Attributes
    ----------
    detectable : float or None
        Smallest difference that has the power wanted; None where the design can tell nothing.
        [fraction, or unit of a difference]
    power : float
        Chance of establishing the effect at one set point. [1]
    hours, hours_in_all : float
        On the water; with the changes of configuration. [h]
    distance, fuel : float or None
        Of all runs and turns. [nmi], [L]
    reaches, affordable : bool
        It has the power wanted; it keeps within the hours and fuel given.
    """

    sessions_per_configuration: int
    double_runs: int
    order: str
    detectable: float | None
    power: float
    hours: float
    hours_in_all: float
    changes: int
    distance: float | None
    fuel: float | None
    reaches: bool
    affordable: bool

    @property
    def design(self) -> Design:
        """Its design."""
        return Design(self.sessions_per_configuration, self.double_runs)

    def to_dict(self) -> dict[str, Any]:
        """The option as the JSON carries it."""
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class Sureness:
    """How sure a plan is when its noise is an estimate.

    Attributes
    ----------
    df : float
        Degrees of freedom behind the noise. [1]
    chance : float
        That the plan truly has the power wanted. [1]
    expected : float
        Power to be expected, over what the noise may be. [1]
    surer : Option or None
        Cheapest one that has the power with a chance of `SURE`; None where none has.
    """

    df: float
    chance: float
    expected: float
    surer: Option | None

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        surer = None if self.surer is None else self.surer.to_dict()
        return {
            "degrees_of_freedom": self.df,
            "chance": self.chance,
            "expected_power": self.expected,
            "surer": surer,
            "surer_chance": SURE,
        }


@dataclass(frozen=True, slots=True)
class Check:
    """A plan tried out on simulated trials, through the whole comparison.

    Attributes
    ----------
    trials, seed : int
    power, error : float
        Share that established the effect at one set point, and its Monte Carlo error. [1]
    everywhere : float
        The same, a set point, when the effect is there at all of them. [1]
    """

    trials: int
    seed: int
    power: float
    error: float
    everywhere: float

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "trials": self.trials,
            "seed": self.seed,
            "power": self.power,
            "monte_carlo_error": self.error,
            "power_everywhere": self.everywhere,
        }


@dataclass(frozen=True, slots=True)
class Supposed:
    """What one of several noises supposed would mean.

    Attributes
    ----------
    noise : Noise
    declared : Option
        The design that the protocol declares.
    recommended : Option or None
        Cheapest affordable one that has the power wanted.
    """

    noise: Noise
    declared: Option
    recommended: Option | None

    def to_dict(self) -> dict[str, Any]:
        """As the JSON carries it."""
        return {
            "between_sessions": self.noise.between_sessions,
            "within_session": self.noise.within_session,
            "declared": self.declared.to_dict(),
            "recommended": None if self.recommended is None else self.recommended.to_dict(),
        }


@dataclass(frozen=True, slots=True, repr=False)
class Plan(Answer):
    """The answer to a question.

    Attributes
    ----------
    question : Question
    declared : Option
        What the design that the protocol declares sees and costs.
    supposed : tuple of Supposed
        The same with each of the noises supposed; empty where the noise is given.
    options : tuple of Option
        Every design asked about.
    recommended : Option or None
        Cheapest affordable one that has the power wanted.
    best : Option or None
        The affordable one that sees the smallest difference.
    elsewhere : Option or None
        Where none of those asked about will do: the cheapest that would.
    more_session, more_double_run : Option or None
        What one more of each would make of the recommended option, or of the best.
    sureness : Sureness or None
        Of the recommended option; None where the noise is assumed.
    check : Check or None
        Of the recommended option.
    sessions_at_least : int or None
        That the noise between sessions alone asks for, at a single set point and with runs
        without any noise.
    seed : int
        Of the simulated trials.
    protocol : str
        Id and version of the protocol.
    seal : SealSaid
        What a seal says of the protocol.
    """

    kind: ClassVar[str] = "plan"
    question: Question
    options: tuple[Option, ...]
    recommended: Option | None
    best: Option | None
    elsewhere: Option | None
    more_session: Option | None
    more_double_run: Option | None
    sureness: Sureness | None
    check: Check | None
    sessions_at_least: int | None
    declared: Option
    supposed: tuple[Supposed, ...] = ()
    seed: int = SEED
    protocol: str = ""
    seal: SealSaid = NO_SEAL

    @property
    def table(self) -> pd.DataFrame:
        """A row for each design asked about."""
        import pandas as pd

        return pd.DataFrame([option.to_dict() for option in self.options])

    @property
    def summary(self) -> str:
        """The design recommended, or that none will do."""
        if self.recommended is None:
            return f"{self.question.quantity}, no design asked about reaches the power wanted"
        return (
            f"{self.question.quantity}, {self.recommended.sessions_per_configuration} sessions "
            f"with each configuration, {self.recommended.double_runs} double runs a set point"
        )

    def to_dict(self) -> dict[str, Any]:
        """The plan as the JSON carries it: fractions, or the unit of a difference; hours, nmi, L."""
        question, noise = self.question, self.question.noise

        def option(found: Option | None) -> dict[str, Any] | None:
            return None if found is None else found.to_dict()

        return {
            **head(),
            "seal": self.seal.to_dict(),
            "quantity": question.quantity,
            "repeats": question.several,
            "scale": question.scale,
            "unit": question.unit,
            "effect": question.natural(question.effect),
            "power": question.power,
            "noise": {
                "between_sessions": noise.between_sessions,
                "session_by_set_point": noise.session_by_set_point,
                "within_session": noise.within_session,
                "sessions": None if noise.df is None else noise.df + 1,
                "assumed": bool(question.assumed),
                "assumed_components": list(question.assumed),
                "source": question.noise_source,
            },
            "max_hours": question.max_hours,
            "max_fuel": question.max_fuel,
            "units": {"hours": "h", "distance": "nmi", "fuel": "L"},
            "times_assumed": list(question.effort.assumed),
            "declared": self.declared.to_dict(),
            "supposed": [each.to_dict() for each in self.supposed],
            "options": [each.to_dict() for each in self.options],
            "recommended": option(self.recommended),
            "best": option(self.best),
            "elsewhere": option(self.elsewhere),
            "one_more_session": option(self.more_session),
            "one_more_double_run": option(self.more_double_run),
            "sureness": self.sureness and self.sureness.to_dict(),
            "check": self.check and self.check.to_dict(),
            "sessions_at_least": self.sessions_at_least,
            "seed": self.seed,
            "notes": list(question.notes),
            "caution": CAUTION,
        }

    def efficient(self) -> tuple[Option, ...]:
        """Options that nothing cheaper sees as much as, the cheapest first."""
        out: list[Option] = []
        for option in sorted(self.options, key=cost):
            seen = option.detectable
            if seen is not None and (not out or seen < (out[-1].detectable or 0.0)):
                out.append(option)
        return tuple(out)


def cost(option: Option) -> tuple[float, int, int]:
    """What options are ranked by: hours in all, then sessions, then double runs."""
    return (option.hours_in_all, option.sessions_per_configuration, option.double_runs)
