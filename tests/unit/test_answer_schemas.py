"""The JSON Schemas of the answers: up to date, true to what is written, and whole."""

from __future__ import annotations

import copy
import json
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from fleet_trials import BROKEN, fleet
from invented_handling import write_handling
from invented_log import write_trial
from jsonschema import Draft202012Validator

import slackwater
from slackwater.analysis.report.schemas import ANSWERS, render

EXAMPLES = Path(__file__).parents[2] / "examples"
WORKBOAT = EXAMPLES / "workboat-interceptors"
ARTICLE = EXAMPLES / "published-article"


def strict(node: Any) -> Any:
    """The same schema, but no key beside those that are described."""
    if isinstance(node, list):
        return [strict(one) for one in node]
    if not isinstance(node, dict):
        return node
    made = {key: strict(value) for key, value in node.items()}
    if "properties" in made and isinstance(made["properties"], dict):
        made.setdefault("additionalProperties", False)
    return made


def archives(folder: Path) -> list[Any]:
    """Of invented trials, one of them broken; and what another confidence would change."""
    fleet(folder, 2, first=2)
    (folder / "broken.yaml").write_text(BROKEN, encoding="utf-8")
    slackwater.archive(folder)
    return [
        slackwater.archive(folder),
        slackwater.archive(folder, setting={"analysis.confidence": "60 %"}),
    ]


def found_tries(folder: Path) -> Any:
    folder.mkdir(exist_ok=True)
    return slackwater.tries(write_handling(folder), folder / "day1.log", folder / "day2.log")


def answers(log: Path) -> dict[str, Any]:
    plan = slackwater.plan(
        WORKBOAT / "protocol.yaml", between="0.8 %", within="0.5 %", sessions=(2, 6), effect="4 %"
    )
    return {
        "result.schema.json": [
            slackwater.analyse(WORKBOAT / "trial.yaml"),
            slackwater.analyse(log.parent / "trial.yaml"),
        ],
        "provenance.schema.json": [slackwater.cut(log.parent / "trial.yaml")],
        "tries.schema.json": [found_tries(log.parent / "handling")],
        "check.schema.json": [
            slackwater.check(WORKBOAT / "trial.yaml", WORKBOAT / "runs.csv"),
            slackwater.check(EXAMPLES / "one-morning-each" / "trial.yaml"),
            slackwater.check("hull-coating-before-after.yaml"),
        ],
        "plan.schema.json": [plan],
        "since.schema.json": [
            slackwater.since("two-way-sweep", WORKBOAT / "protocol.yaml", WORKBOAT / "trial.yaml")
        ],
        "logs.schema.json": [slackwater.logs(log)],
        "noise.schema.json": [slackwater.noise(WORKBOAT / "trial.yaml")],
        "method.schema.json": [
            slackwater.method(WORKBOAT / "trial.yaml", by="sea", reference="Workboat (invented)")
        ],
        "pooled.schema.json": [slackwater.pool(EXAMPLES / "five-launches" / "pool.yaml")],
        "archive.schema.json": archives(log.parent / "trials"),
        "audit.schema.json": [
            slackwater.audit(ARTICLE / f"{name}.yaml")
            for name in ("careless", "honest", "careless-without-runs")
        ],
    }


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    log = tmp_path_factory.mktemp("invented") / "day.log"
    write_trial(log.parent)
    log.write_text(
        "# head\n" + "$GPRMC,1015%02d,A,5051.2,N,00106.1,W,6.2,84.0,140625,,,A\n" * 2 % (1, 2)
    )
    return {
        name: [json.loads(one.to_json()) for one in several]
        for name, several in answers(log).items()
    }


@pytest.mark.parametrize("name", ANSWERS)
def test_the_files_are_those_that_are_made(name: str) -> None:
    stored = (files("slackwater.protocol.schemas") / name).read_text("utf-8")
    assert stored == render(name), "run: python -m slackwater.analysis.report.schemas"
    Draft202012Validator.check_schema(json.loads(stored))


@pytest.mark.parametrize("name", ANSWERS)
def test_every_key_that_is_written_is_described(name: str, written: dict[str, Any]) -> None:
    schema = Draft202012Validator(strict(ANSWERS[name]()))
    for answer in written[name]:
        assert [f"{e.json_path}: {e.message}" for e in schema.iter_errors(answer)] == []


@pytest.mark.parametrize("name", ANSWERS)
def test_a_missing_key_is_noticed(name: str, written: dict[str, Any]) -> None:
    schema = Draft202012Validator(ANSWERS[name]())
    for key in written[name][0]:
        short = copy.deepcopy(written[name][0])
        del short[key]
        assert not schema.is_valid(short), key


def test_an_outcome_of_ones_own_is_noticed(written: dict[str, Any]) -> None:
    answer = copy.deepcopy(written["check.schema.json"][0])
    answer["files"][0]["rules"][0]["outcome"] = "fine"
    assert not Draft202012Validator(ANSWERS["check.schema.json"]()).is_valid(answer)
