"""The letter in its forms, and what becomes of text that is meant to do harm."""

from __future__ import annotations

import csv
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from slackwater.analysis.audit.auditing import audit
from slackwater.analysis.audit.outcome import VERDICTS, AuditResult
from slackwater.analysis.cli import main
from slackwater.analysis.report.audit.csv import safe_cell
from slackwater.analysis.report.audit.words import MARKS, MEANINGS
from slackwater.protocol.claims.claims_file import build_claims
from slackwater.protocol.files.source import document_of

ARTICLES = Path(__file__).parents[2] / "examples" / "published-article"
MARKUP = '<img src=x onerror="alert(1)">&amp; {{ 7*7 }} </td><script>alert(2)</script>'


class Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.attributes: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.attributes |= {name for name, _ in attrs}


def hostile() -> AuditResult:
    claims: list[dict[str, Any]] = [
        {
            "id": "=HYPERLINK(1)",
            "quantity": "speed",
            "baseline": "@SUM(A1)",
            "modified": MARKUP[:70],
            "says": MARKUP + "\x1b[31m red \u202e",
            "stated": {"baseline": "16.2 kn", "modified": "17.1 kn", "change": "+9.9 %"},
        },
        {"id": "-1+2", "quantity": "speed", "stated": {"change": "+5 %"}},
    ]
    found, findings = build_claims(document_of({"title": MARKUP, "claims": claims}))
    assert found is not None, findings
    return audit(found)


@pytest.fixture(scope="module")
def careless() -> AuditResult:
    return audit(ARTICLES / "careless.yaml")


def test_every_verdict_has_its_words_and_its_sign() -> None:
    assert set(MEANINGS) == set(MARKS) == set(VERDICTS)
    assert len(set(MARKS.values())) == len(VERDICTS)


def test_json_is_the_contract(careless: AuditResult) -> None:
    data = json.loads(careless.to_json())
    assert len(data["claims"]) == 8
    for claim in data["claims"]:
        needed = {"id", "quantity", "verdict", "stated", "recomputed", "low", "high", "reasons"}
        assert needed <= claim.keys()
        assert claim["verdict"] in VERDICTS
        assert claim["reasons"]
        for reason in claim["reasons"]:
            assert {"check", "outcome", "message"} <= reason.keys()
    assert "NaN" not in careless.to_json()
    assert careless.to_json() == audit(ARTICLES / "careless.yaml").to_json()


def test_the_text_begins_with_what_a_layman_reads(careless: AuditResult) -> None:
    text = str(careless)
    head = text.split("mid-range: speed at 2200 rpm: Interceptors fitted against As delivered\n---")
    assert len(head) == 2
    assert "Of 8 claims" in head[0]
    for word in ("p-value", "degrees of freedom", "standard deviation", "simultaneous"):
        assert word not in head[0]
    assert "The likeliest slip: the reserve was not kept back" in " ".join(head[0].split())
    prose = [line for line in text.splitlines() if not line.startswith("    ")]
    assert max(map(len, prose)) <= 80


def test_the_page_has_a_part_for_each_claim_and_fetches_nothing(careless: AuditResult) -> None:
    page = careless.to_html()
    assert page.count('<section class="claim"') == 8
    assert page.count("<figure>") >= 6
    assert "break-before: page" in page
    assert not re.search(r"(src|href)=[\"']?(https?:|//)", page)
    assert "<script" not in page
    assert page == careless.to_html()


def test_markup_is_text_on_the_page() -> None:
    page = hostile().to_html()
    tags = Tags()
    tags.feed(page)
    assert not tags.names & {"script", "img", "iframe"}
    assert not {name for name in tags.attributes if name.startswith("on")}
    assert "49" not in page.split("<title>")[1].split("</title>")[0]
    assert "\x1b" not in page
    assert "\u202e" not in page


def test_nothing_steers_a_terminal() -> None:
    text = str(hostile())
    assert "\x1b" not in text
    assert "\u202e" not in text


def test_no_cell_becomes_a_formula() -> None:
    rows = list(csv.reader(io.StringIO(hostile().to_csv())))
    number = re.compile(r"-?[0-9.]+(e-?[0-9]+)?")
    for row in rows:
        for cell in row:
            assert not cell.startswith(("=", "+", "@", "\t")), cell
            assert not cell.startswith("-") or number.fullmatch(cell), cell
    assert rows[1][0] == "'=HYPERLINK(1)"
    assert rows[2][0] == "'-1+2"


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", " =", "\r="])
def test_cells_that_start_a_formula(start: str) -> None:
    assert safe_cell(f"{start}1+cmd").startswith("'")


def test_plain_numbers_and_words_stay() -> None:
    assert [safe_cell(t) for t in ("-0.031", "+5", "1e-05", "bare")] == [
        "-0.031",
        "+5",
        "1e-05",
        "bare",
    ]


@pytest.mark.parametrize(("article", "code"), [("honest", 0), ("careless", 1)])
def test_exit_tells_whether_all_are_upheld(
    article: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["audit", str(ARTICLES / f"{article}.yaml"), "--format", "json"]) == code
    out = capsys.readouterr().out
    assert all(c["verdict"] == "upheld" for c in json.loads(out)["claims"]) == (code == 0)


@pytest.mark.parametrize("ending", ["html", "json", "txt", "csv"])
def test_output_follows_the_ending(
    tmp_path: Path, ending: str, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / f"letter.{ending}"
    code = main(["audit", str(ARTICLES / "honest-without-runs.yaml"), "--output", str(target)])
    assert code == 1
    starts = {"html": "<!DOCTYPE html>", "json": "{", "txt": "Audit of", "csv": "id,"}
    assert target.read_text(encoding="utf-8").startswith(starts[ending])
    assert "Of 2 claims" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--between", "much"], "not a quantity"),
        (["--between", "0.6"], "no scatter"),
        (["--between", "-1 %"], "no scatter"),
        (["--noise", "nowhere.yaml"], "no such file"),
        (["--to-claims", "x.yaml"], "goes with a published table"),
    ],
)
def test_unusable_options(words: list[str], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["audit", str(ARTICLES / "honest-without-runs.yaml"), *words])
    assert code == 2
    assert says in capsys.readouterr().err


def test_noise_from_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    noise = tmp_path / "noise.yaml"
    noise.write_text("noise:\n  speed: {between_sessions: 4 %, sessions: 10}\n", encoding="utf-8")
    file = str(ARTICLES / "honest-without-runs.yaml")
    assert main(["audit", file, "--noise", str(noise), "--format", "json"]) == 1
    claims = json.loads(capsys.readouterr().out)["claims"]
    assert [c["verdict"] for c in claims] == ["within noise", "within noise"]


def test_a_claims_file_is_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "claims.yaml"
    file.write_bytes((ARTICLES / "honest-without-runs.yaml").read_bytes())
    assert main(["audit", str(file), "--output", str(file)]) == 2
    assert "overwrite" in capsys.readouterr().err
