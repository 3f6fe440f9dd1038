"""The JSON Schemas that editors use: up to date, and true to the files."""

from __future__ import annotations

import copy
import json
from importlib.resources import files
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from slackwater.protocol.library import shipped
from slackwater.protocol.schemas.making import SCHEMAS, render

# Invented.
TRIAL: dict[str, Any] = {
    "trial": "pilot-launch",
    "protocol": "two-way-sweep",
    "boat": {"title": "Pilot launch", "fuel_capacity": "700 L", "fuel_reserve": "10 %"},
    "configurations": {"bare": {"gear_ratio": 1.75}, "fitted": {"propeller_pitch": "24 in"}},
    "comparisons": [{"baseline": "bare", "modified": "fitted"}],
    "sessions": [
        {"id": "S1", "configuration": "bare", "date": "2026-05-04", "displacement": "6200 ± 40 kg",
         "fuel": "80 %", "crew": 3, "water_temperature": "11 degC", "start": "09:30"}
    ],
    "runs": "runs.csv",
    "units": {"speed_over_ground": "kn"},
    "columns": {"speed_over_ground": "GPS speed"},
}  # fmt: skip


def schema(name: str) -> Draft202012Validator:
    text = (files("slackwater.protocol.schemas") / f"{name}.schema.json").read_text("utf-8")
    return Draft202012Validator(json.loads(text))


def shipped_data(name: str) -> Any:
    """A shipped protocol as another YAML reader sees it."""
    with shipped()[name].open(encoding="utf-8") as stream:
        return yaml.safe_load(stream)


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_files_are_those_the_models_make(name: str) -> None:
    stored = (files("slackwater.protocol.schemas") / name).read_text("utf-8")
    assert stored == render(name), "run: python -m slackwater.protocol.schemas.making"


@pytest.mark.parametrize("name", ["protocol", "trial"])
def test_they_are_schemas(name: str) -> None:
    Draft202012Validator.check_schema(schema(name).schema)
    assert schema(name).schema["$schema"] == Draft202012Validator.META_SCHEMA["$id"]


@pytest.mark.parametrize("name", shipped())
def test_shipped_protocols_pass(name: str) -> None:
    assert [e.message for e in schema("protocol").iter_errors(shipped_data(name))] == []


def test_a_trial_passes_with_its_protocol_named_or_inline() -> None:
    assert [e.message for e in schema("trial").iter_errors(TRIAL)] == []
    inline = {**TRIAL, "protocol": shipped_data("two-way-sweep")}
    assert [e.message for e in schema("trial").iter_errors(inline)] == []


BAD_PROTOCOL: list[tuple[tuple[Any, ...], Any]] = [
    (("rnus",), {}),
    (("runs", "set_point"), {}),
    (("runs", "set_points", "values"), []),
    (("runs", "directions"), "recprocal"),
    (("runs", "steady", "settle"), 20),
    (("conditions", "wind_speed"), {"at_mst": "8 kn"}),
    (("conditions", "wind_speed"), {"at_most": 8}),
    (("conditions", "wind_speed"), {"at_most": "8,5 kn"}),
    (("conditions", "wind_speed"), {"at_most": "8 kn", "at_least": "2 kn"}),
    (("measures", "fuel_flow", "shared"), "yes"),
    (("analysis", "confidence"), 0.95),
    (("analysis", "familly"), "all"),
    (("sessions", "per_configuration"), 0),
    (("protocol",), "My Protocol"),
]


@pytest.mark.parametrize(("path", "value"), BAD_PROTOCOL)
def test_a_slip_in_a_protocol_is_marked(path: tuple[Any, ...], value: Any) -> None:
    data = copy.deepcopy(shipped_data("two-way-sweep"))
    holder = data
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    assert not schema("protocol").is_valid(data)
    assert not schema("trial").is_valid({**TRIAL, "protocol": data})


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("sesions",), []),
        (("sessions", 0, "wind_sped"), "5 kn"),
        (("sessions", 0, "displacement"), 6200),
        (("sessions", 0, "crew"), 2.5),
        (("configurations", "bare", "gear_ratio"), "1,75"),
        (("boat", "beam"), "wide"),
        (("comparisons", 0, "modfied"), "x"),
        (("protocol",), 3),
    ],
)
def test_a_slip_in_a_trial_is_marked(path: tuple[Any, ...], value: Any) -> None:
    data = copy.deepcopy(TRIAL)
    holder: Any = data
    for step in path[:-1]:
        holder = holder[step]
    holder[path[-1]] = value
    assert not schema("trial").is_valid(data)


def test_every_key_is_explained() -> None:
    bare = []
    for name in ("protocol", "trial"):
        document = schema(name).schema
        for holder in (document, *document["$defs"].values()):
            for key, value in holder.get("properties", {}).items():
                limit = key in ("at_most", "at_least", "between", "within", "same")
                if not limit and "description" not in value and "$ref" not in value:
                    bare.append(key)
    assert bare == []


def test_defaults_are_written_as_people_write_them() -> None:
    definitions = schema("protocol").schema["$defs"]
    assert definitions["Steady"]["properties"]["record"]["default"] == "60 s"
    assert definitions["Analysis"]["properties"]["confidence"]["default"] == "95 %"
    assert definitions["Analysis"]["properties"]["current"]["default"] == "tide_fit"
