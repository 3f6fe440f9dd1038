"""The JSON of `plan` and of `noise` described."""

from __future__ import annotations

from slackwater.analysis.planning.plan_model import PLURALS
from slackwater.analysis.wording.json_schema import (
    COUNT,
    COUNT_OR_NULL,
    FLAG,
    NUMBER,
    NUMBER_OR_NULL,
    SEAL,
    TEXT,
    TEXTS,
    Schema,
    a_list,
    an_answer,
    an_object,
    described,
    one_of,
    or_null,
)

_SIZE = "[fraction, or the unit of a difference]"
_CHANCE: Schema = {"type": "number", "minimum": 0, "maximum": 1}


def plan_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `plan --format json` writes."""
    option = _option()
    return an_answer(
        "Plan of a trial",
        "What `slackwater plan --format json` writes. null stands for what cannot be computed or was "
        "not asked.",
        seal=described(SEAL, "of the protocol"),
        quantity=TEXT,
        repeats=described(one_of(list(PLURALS.values())), "what `double_runs` counts"),
        scale=one_of(["ratio", "difference"]),
        unit=described(TEXT, "of a difference; empty where fractions are compared"),
        effect=described(NUMBER, f"the difference to be seen {_SIZE}"),
        power=described(_CHANCE, "the chance wanted of seeing it [1]"),
        noise=an_object(
            between_sessions=described(NUMBER_OR_NULL, f"standard deviation {_SIZE}"),
            session_by_set_point=described(NUMBER_OR_NULL, f"standard deviation {_SIZE}"),
            within_session=described(NUMBER_OR_NULL, f"standard deviation of a double run {_SIZE}"),
            sessions=described(NUMBER_OR_NULL, "behind the noise; null where it is assumed"),
            assumed=FLAG,
            assumed_components=TEXTS,
            source=TEXT,
        ),
        max_hours=described(NUMBER_OR_NULL, "[h]"),
        max_fuel=described(NUMBER_OR_NULL, "[L]"),
        units=an_object(hours=TEXT, distance=TEXT, fuel=TEXT),
        times_assumed=TEXTS,
        declared=described(option, "the design that the protocol declares"),
        supposed=a_list(
            an_object(
                between_sessions=NUMBER_OR_NULL,
                within_session=NUMBER_OR_NULL,
                declared=option,
                recommended=or_null(option),
            ),
            "what other noises would mean, where none is known",
        ),
        options=a_list(option, "every design asked about"),
        recommended=or_null(option, "the cheapest affordable one with the power wanted"),
        best=or_null(option, "the affordable one that sees the smallest difference"),
        elsewhere=or_null(option, "the cheapest that would do, where none asked about does"),
        one_more_session=or_null(option),
        one_more_double_run=or_null(option),
        sureness=or_null(
            an_object(
                degrees_of_freedom=NUMBER,
                chance=described(_CHANCE, "that the plan truly has the power wanted [1]"),
                expected_power=_CHANCE,
                surer=or_null(option),
                surer_chance=_CHANCE,
            )
        ),
        check=or_null(
            an_object(
                trials=COUNT,
                seed=COUNT,
                power=_CHANCE,
                monte_carlo_error=NUMBER,
                power_everywhere=_CHANCE,
            ),
            "the recommended option tried out on simulated trials",
        ),
        sessions_at_least=described(
            COUNT_OR_NULL, "that the noise between sessions alone asks for"
        ),
        seed=COUNT,
        notes=TEXTS,
        caution=TEXT,
    )


def _option() -> Schema:
    return an_object(
        sessions_per_configuration=COUNT,
        double_runs=COUNT,
        order=TEXT,
        detectable=described(NUMBER_OR_NULL, f"smallest difference with the power wanted {_SIZE}"),
        power=described(_CHANCE, "chance of establishing the effect at one set point [1]"),
        hours=described(NUMBER, "on the water [h]"),
        hours_in_all=described(NUMBER, "with the changes of configuration [h]"),
        changes=COUNT,
        distance=described(NUMBER_OR_NULL, "[nmi]"),
        fuel=described(NUMBER_OR_NULL, "[L]"),
        reaches=described(FLAG, "has the power wanted"),
        affordable=FLAG,
    )


def noise_schema() -> Schema:
    """The JSON Schema (draft 2020-12) of what `noise --format json` writes."""
    size = described(NUMBER_OR_NULL, _SIZE)
    return an_answer(
        "Noise of trials",
        "What `slackwater noise --format json` writes: standard deviations as fractions, or in `unit`.",
        trials=TEXTS,
        noise=a_list(
            an_object(
                quantity=TEXT,
                component=TEXT,
                value=size,
                low=size,
                high=size,
                degrees_of_freedom=NUMBER_OR_NULL,
                part=described(NUMBER_OR_NULL, "of the variance of a session value [1]"),
                sessions=COUNT,
                unit=TEXT,
            )
        ),
        precision=a_list(
            an_object(
                quantity=TEXT,
                unit=TEXT,
                within_session=size,
                repeatability=size,
                reproducibility=size,
                repeatability_limit=size,
                reproducibility_limit=size,
                double_runs=NUMBER_OR_NULL,
                between_sessions_degrees_of_freedom=NUMBER_OR_NULL,
            )
        ),
        trends=a_list(
            an_object(
                quantity=TEXT,
                unit=TEXT,
                kind=TEXT,
                subject=TEXT,
                value=NUMBER_OR_NULL,
                low=NUMBER_OR_NULL,
                high=NUMBER_OR_NULL,
                p_value=described(NUMBER_OR_NULL, "[1]"),
                found=FLAG,
            )
        ),
        loading=a_list(
            an_object(
                quantity=TEXT,
                shape=TEXT,
                labels=TEXTS,
                strengths=a_list(
                    NUMBER_OR_NULL,
                    "standard deviation between sessions at each label, about one [1]",
                ),
                evenness=described(
                    NUMBER_OR_NULL,
                    "how often chance alone gives mean squares as different were the noise even [1]",
                ),
                fit=described(NUMBER_OR_NULL, "the same for the shape proposed [1]"),
                degrees_of_freedom=NUMBER_OR_NULL,
                trials=COUNT,
            ),
            "how strongly what disturbs a whole session shows along the sweep, as measured",
        ),
    )
