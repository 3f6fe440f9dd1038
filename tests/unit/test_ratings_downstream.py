"""What becomes of ratings after the verdict: page, statement, audit, plan, noise, sheet; each says how blind."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path

import pytest

from slackwater.analysis import analyse
from slackwater.analysis.cli import main
from slackwater.analysis.planning.power import Design, Noise, Setting, floors, power_of
from slackwater.analysis.report.trial import pictures_ratings, rating_words
from slackwater.analysis.result.result import Result

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "ride-felt-blind"
PROTOCOL = str(ROOT / "protocols" / "blind-rating.yaml")


@pytest.fixture(scope="module")
def result() -> Result:
    return analyse(EXAMPLE / "trial.yaml")


@pytest.fixture(scope="module")
def aware(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The same trial, one rater of which knew."""
    folder = tmp_path_factory.mktemp("aware") / "trial"
    shutil.copytree(EXAMPLE, folder)
    path = folder / "trial.yaml"
    path.write_text(path.read_text(encoding="utf-8") + "raters_aware: [R2]\n", encoding="utf-8")
    return path


def run(*arguments: str, capsys: pytest.CaptureFixture[str]) -> str:
    code = main([*arguments])
    out = capsys.readouterr().out
    assert code in (0, 1), out
    return " ".join(out.split())


def test_the_page_shows_each_rater(result: Result) -> None:
    page = result.to_html()
    part = page[page.index('<section id="ratings">') : page.index('<section id="further">')]
    assert page.index('id="deciding"') < page.index('<section id="ratings">')
    pictures = re.findall(r"<svg.*?</svg>", part, flags=re.DOTALL)
    assert len(pictures) == 3
    for picture in pictures:
        assert [f">R{i}</text>" in picture for i in range(1, 6)] == [True] * 5
    assert "slams throughout" in pictures[0]
    assert "agreement" in part or "ICC" in part


def test_a_mark_for_every_score(result: Result) -> None:
    item = result.records("ratings")[0]
    rows = rating_words.used_scores(result, "ride")
    picture = pictures_ratings.scores(rows, item, result.configurations, "scores")
    marks = picture.count("<circle") + picture.count('Z" fill=')
    assert marks == len(rows) + 2  # two more in the legend


def test_the_text_says_agreement_blinding_and_ranks(result: Result) -> None:
    told = " ".join(rating_words.sentences(result))
    for words in (
        "Blinding: blind",
        "Bang's index",
        "5 raters scored",
        "By ranks within each rater",
    ):
        assert words in told
    assert "ICC" in " ".join(str(result).split())


@pytest.mark.parametrize("form", ["text", "json"])
def test_not_blind_is_said_by_every_command(
    aware: Path, form: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    claims = tmp_path / "claims.yaml"
    claims.write_text(
        f'trial: {aware}\nclaims:\n  - {{id: C1, quantity: ride, baseline: "off", modified: "on", '
        "stated: {difference: 1.7 points}}\n",
        encoding="utf-8",
    )
    for command in (("analyse", str(aware)), ("audit", str(claims))):
        assert "not blind" in run(*command, "--format", form, capsys=capsys)
    if form == "text":
        told = run("statement", str(aware), capsys=capsys)
        assert "not blind" in told
        assert "R2 knew which configuration was fitted" in told


def test_claims_are_held_against_ratings(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    claims = tmp_path / "claims.yaml"
    entries = (("C1", "ride", "1.7"), ("C2", "ride", "4"), ("C3", "noise_felt", "-1"))
    listed = "".join(
        f'  - {{id: {id}, quantity: {name}, baseline: "off", modified: "on", '
        f"stated: {{difference: {size} points}}}}\n"
        for id, name, size in entries
    )
    claims.write_text(f"trial: {EXAMPLE / 'trial.yaml'}\nclaims:\n{listed}", encoding="utf-8")
    found = json.loads(run("audit", str(claims), "--format", "json", capsys=capsys))
    assert [each["verdict"] for each in found["claims"]] == [
        "compatible",
        "overstated",
        "untestable",
    ]


def test_a_plan_counts_raters(capsys: pytest.CaptureFixture[str]) -> None:
    noise = ("--between", "0.5 points", "--within", "0.7 points", "--effect", "1.2 points")
    ask = ("plan", PROTOCOL, *noise, "--sessions", "4-6", "--double-runs", "3-5")
    found = json.loads(run(*ask, "--format", "json", capsys=capsys))
    assert found["repeats"] == "raters"
    assert found["unit"] == "points"
    options = {(o["sessions_per_configuration"], o["double_runs"]): o for o in found["options"]}
    assert options[4, 5]["power"] > options[4, 3]["power"]
    assert options[4, 5]["hours"] == options[4, 3]["hours"]  # another rater costs no time
    assert "5 raters" in run(*ask, capsys=capsys)


def test_raters_have_to_agree_in_every_chance_that_a_plan_tells(capsys: pytest.CaptureFixture[str]) -> None:  # fmt: skip
    """The table, the answer and the trials that it is tried out on are of one power."""
    noise = ("--between", "0.3 points", "--within", "1 points", "--effect", "1.2 points")
    ask = ("plan", PROTOCOL, *noise, "--sessions", "4-6", "--double-runs", "3-5", "--power", "60 %")
    found = json.loads(run(*ask, "--format", "json", capsys=capsys))
    options = {(o["sessions_per_configuration"], o["double_runs"]): o for o in found["options"]}
    answer, declared, check = found["recommended"], found["declared"], found["check"]
    assert options[answer["sessions_per_configuration"], answer["double_runs"]] == answer
    assert options[4, 5] == declared
    assert abs(answer["power"] - check["power"]) < 0.02 + 3 * check["monte_carlo_error"]
    # without agreement the declared design would tell it in 75 % of trials
    setting = Setting(set_points=1)
    supposed, design = Noise(0.3, 0.0, 1.0), Design(4, 5)
    alone = power_of(floors(design, supposed, setting), setting.spread(design, supposed), 1.2)
    assert alone > declared["power"] + 0.05
    assert "in which they do" in run(*ask, capsys=capsys)


def test_noise_is_told_between_sessions_and_between_raters(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    told = run("noise", str(EXAMPLE / "trial.yaml"), capsys=capsys)
    assert "raters in a session by 0.59 points" in told
    found = re.search(r"ride: \{between_sessions: ([0-9.]+) points, sessions: 7", told)
    assert found is not None
    assert float(found[1]) == pytest.approx(0.56, abs=0.005)
    assert "noise felt" not in told  # on which nobody agrees


def test_the_sheet_has_slips_that_name_nothing_fitted(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    page = tmp_path / "sheet.html"
    run("sheet", str(EXAMPLE / "trial.yaml"), "--output", str(page), capsys=capsys)
    text = page.read_text(encoding="utf-8")
    parts = re.findall(r'<section class="ratings">.*?</section>', text, flags=re.DOTALL)
    assert len(parts) == 8
    for part in parts:
        assert part.count('class="slip"') == 5
        # Both names stand among the guesses, as often and in one order: which is fitted is not said.
        assert part.count("Ride control off") == part.count("Ride control on") == 5
        assert part.index("Ride control off") < part.index("Ride control on")
        # Each rater has an order of the items; that of a session has nothing to do with what it has fitted.
        orders = re.findall(r"<tr><th>(Ride|Steering effort|Noise as felt)<", part)
        assert sorted(orders) == sorted(["Ride", "Steering effort", "Noise as felt"] * 5)
        assert len({tuple(orders[place : place + 3]) for place in range(0, 15, 3)}) == 5
    sorted_lines = {tuple(sorted(re.sub(r"F\d", "", part).splitlines())) for part in parts}
    assert len(sorted_lines) == 1
