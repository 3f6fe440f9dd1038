"""The letter to an author: polite and whole; every question can be answered, and the reply is read."""

from __future__ import annotations

import io
import json
import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

import slackwater
from slackwater.analysis.audit.letter import FOUND, letter
from slackwater.analysis.audit.outcome import VERDICTS, AuditResult
from slackwater.analysis.audit.reply_form import form
from slackwater.analysis.cli import main
from slackwater.analysis.report.letter.text import render
from slackwater.protocol.claims.reply import load_reply

ARTICLES = Path(__file__).resolve().parents[2] / "examples" / "published-article"
NAMES = sorted(path.stem for path in ARTICLES.glob("*.yaml"))
# Nothing known: every question is asked.
BARE = """\
title: A change that pays (invented)
claims:
  - {id: C 1, quantity: speed, says: She is faster by 6 per cent., stated: {change: 6 %}}
  - {id: c.2, quantity: range, stated: {baseline: 201 nmi, modified: 211 nmi, change: 9 %}}
"""
#: An answer that fits each place of the form.
ANSWERS = {
    "sessions": "4",
    "double_runs": "3",
    "directions": "both",
    "current": "0.4 kn",
    "set_points": "8",
    "chosen": "beforehand",
    "fuel_reserve": "10 %",
    "at": "3000 rpm",
    "stated": {"baseline": "201 nmi", "modified": "219 nmi", "change": "9 %"},
}


@pytest.fixture
def bare(tmp_path: Path) -> Path:
    path = tmp_path / "claims.yaml"
    path.write_text(BARE, "utf-8")
    return path


def audited(name: str) -> AuditResult:
    return slackwater.audit(ARTICLES / f"{name}.yaml")


def filled(text: str, **answers: Any) -> str:
    """A form with every place that has a known answer filled in, but for the trial."""
    data = yaml.safe_load(text)
    known = {**ANSWERS, **answers}

    def fill(node: Any, key: str = "", above: str = "") -> Any:
        if isinstance(node, dict):
            return {name: fill(value, name, key) for name, value in node.items()}
        if isinstance(node, list):
            return [fill(value, key, above) for value in node]
        if node != "?":
            return node
        return (
            "0.1 kn"
            if above == "instruments" and key == "speed"
            else known.get(key, "1 %")
            if (above == "instruments" or key in known)
            else node
        )

    return yaml.safe_dump(fill(data), allow_unicode=True)


@pytest.mark.parametrize("name", NAMES)
def test_it_is_whole(name: str) -> None:
    result = audited(name)
    text = " ".join(render(letter(result)).split())
    for claim in result.claims:
        assert " ".join(claim.why.split()).replace("\u00a0", " ") in text
        assert claim.id in text
    for question in result.asked:
        assert question.text in text
        assert question.why in text
        assert question.source in text


@pytest.mark.parametrize("name", NAMES)
def test_it_blames_nobody(name: str) -> None:
    """Every verdict has words of its own for the author, and none of the report's capitals is there."""
    result = audited(name)
    text = render(letter(replace(result, title="An article")))
    assert not re.search(r"\b(false|liar?|lies|dishonest|mistaken|fraud|careless|sloppy)\b", text)
    assert not any(word.upper() in text for word in VERDICTS)
    assert set(FOUND) == set(VERDICTS)


@pytest.mark.parametrize("name", NAMES)
def test_a_form_left_blank_answers_nothing(name: str, tmp_path: Path) -> None:
    before = audited(name)
    path = tmp_path / "reply.yaml"
    path.write_text(form(before), "utf-8")
    after = slackwater.audit(ARTICLES / f"{name}.yaml", reply=path)
    assert [c.verdict for c in after.claims] == [c.verdict for c in before.claims]
    assert after.questions == before.questions
    assert not [f for f in after.findings if f.rule.startswith("reply-")]


def test_every_question_that_has_a_place_goes_when_it_is_answered(
    bare: Path, tmp_path: Path
) -> None:
    before = slackwater.audit(bare)
    assert len(before.asked) >= 10
    path = tmp_path / "reply.yaml"
    path.write_text(filled(form(before)), "utf-8")
    after = slackwater.audit(bare, reply=path)
    left = {question.key for question in after.asked}
    # What takes words, and the runs, of which a number is no answer.
    assert left <= {"", "runs"}
    assert before.claims[1].verdict == "inconsistent"
    assert after.claims[1].verdict != "inconsistent"


def test_the_form_asks_for_all_that_the_letter_asks(bare: Path) -> None:
    result = slackwater.audit(bare)
    text = form(result)
    assert [int(n) for n in sorted(set(re.findall(r"\[(\d+)\]", text)), key=int)] == [
        *range(1, len(result.asked) + 1)
    ]


def test_the_answers_stand_in_the_audit(bare: Path, tmp_path: Path) -> None:
    path = tmp_path / "reply.yaml"
    text = form(slackwater.audit(bare)).replace('answer: "?"', 'answer: "The same <b>crew</b>."', 1)
    path.write_text(text.replace('by: "?"', 'by: "A. N. Author (invented)"'), "utf-8")
    result = slackwater.audit(bare, reply=path)
    told = " ".join(str(result).split())
    assert "The reply by A. N. Author (invented) (reply.yaml)" in told
    assert "The same <b>crew</b>." in told
    assert "<b>crew</b>" not in result.to_html()
    data = json.loads(result.to_json())
    assert data["reply"]["answers"][0]["answer"] == "The same <b>crew</b>."
    assert "reply" in {each["role"] for each in data["inputs"]}


def test_a_trial_sent_along_is_what_the_claims_are_held_against(tmp_path: Path) -> None:
    """The author sends the runs: the claims are no longer held against themselves alone."""
    source = ARTICLES / "honest-without-runs.yaml"
    shutil.copytree(ARTICLES.parent / "workboat-interceptors", tmp_path / "sent")
    path = tmp_path / "sent" / "reply.yaml"
    before = slackwater.audit(source)
    path.write_text(form(before).replace('\nruns: "?"', "\ntrial: trial.yaml"), "utf-8")
    after = slackwater.audit(source, reply=path)
    assert not before.trial
    assert after.trial == "workboat-interceptors"
    assert "untestable" in {claim.verdict for claim in before.claims}
    assert "untestable" not in {claim.verdict for claim in after.claims}


def as_sent(folder: Path, *, configurations: bool = True) -> None:
    """The workboat's runs as an author might send them: one table, with or without what was fitted."""
    fitted = dict(zip(("S1", "S2", "S3", "S4", "S5", "S6"), "bffbbf", strict=True))
    rows = (ARTICLES.parent / "workboat-interceptors" / "runs.csv").read_text("utf-8").splitlines()
    lines = [f"{rows[0]},configuration" if configurations else rows[0]]
    for row in rows[1:]:
        name = {"b": "bare", "f": "fitted"}[fitted[row.split(",")[0]]]
        lines.append(f"{row},{name}" if configurations else row)
    (folder / "sent.csv").write_text("\n".join(lines) + "\n", "utf-8")


def test_a_table_of_runs_sent_along_gives_what_the_trial_gives(tmp_path: Path) -> None:
    """The same runs by another door: the same changes and intervals as from the trial's own file."""
    as_sent(tmp_path)
    path = tmp_path / "reply.yaml"
    source = tmp_path / "honest.yaml"
    text = (ARTICLES / "honest.yaml").read_text("utf-8")
    source.write_text(re.sub(r"(?m)^trial: .*\n", "", text), "utf-8")
    path.write_text(
        form(slackwater.audit(source)).replace('\nruns: "?"', "\nruns: sent.csv"), "utf-8"
    )
    told = {claim.id: claim for claim in slackwater.audit(source, reply=path).claims}
    known = {claim.id: claim for claim in slackwater.audit(ARTICLES / "honest.yaml").claims}
    same = [id for id in told if known.get(id) and told[id].at.endswith("rpm")]
    assert len(same) >= 2
    assert told["speed"].verdict == known["speed"].verdict == "upheld"
    for id in same:
        assert told[id].recomputed == pytest.approx(known[id].recomputed)
        assert (told[id].low, told[id].high) == pytest.approx((known[id].low, known[id].high))


def test_sessions_that_the_table_does_not_tell_of(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    as_sent(tmp_path, configurations=False)
    path = tmp_path / "reply.yaml"
    source = str(ARTICLES / "honest-without-runs.yaml")
    path.write_text("reply: 1\nruns: sent.csv\n", "utf-8")
    assert main(["audit", source, "--reply", str(path)]) == 2
    assert "which configuration session S1 had" in capsys.readouterr().err
    sides = ", ".join(
        f"S{n}: {{configuration: {'fitted' if n in (2, 3, 6) else 'bare'}}}" for n in range(1, 7)
    )
    path.write_text(f"reply: 1\nruns: sent.csv\nsessions: {{{sides}}}\n", "utf-8")
    assert slackwater.audit(source, reply=path).trial == "as-replied"


def test_what_differs_from_the_printed_text_is_told(bare: Path, tmp_path: Path) -> None:
    path = tmp_path / "reply.yaml"
    path.write_text('reply: 1\nclaims: {"C 1": {stated: {change: 3 %}}}\n', "utf-8")
    result = slackwater.audit(bare, reply=path)
    (finding,) = [each for each in result.findings if each.rule == "reply-differs"]
    assert "'3 %' for claims.C 1.stated.change, the claims had '6 %'" in finding.message
    assert finding.place is not None
    assert finding.place.line == 2
    assert finding.message[1:] in " ".join(str(result).split())


def test_a_reply_mends_a_claim_that_could_not_be_read(tmp_path: Path) -> None:
    source, path = tmp_path / "claims.yaml", tmp_path / "reply.yaml"
    source.write_text(
        "claims:\n"
        "  - {id: [1], quantity: speed, stated: {change: 5 %}}\n"
        "  - {id: C2, quantity: speed, stated: {change: lots}}\n",
        "utf-8",
    )
    path.write_text("reply: 1\nclaims: {C2: {stated: {change: +5 %}}}\n", "utf-8")
    first, second = slackwater.audit(source, reply=path).claims
    assert "could not be read" in first.why
    assert second.stated == {"change": "+5 %"}


def test_a_reply_to_claims_that_have_changed_since(bare: Path, tmp_path: Path) -> None:
    path = tmp_path / "reply.yaml"
    path.write_text(form(slackwater.audit(bare)), "utf-8")
    bare.write_text(BARE + "# a word more\n", "utf-8")
    result = slackwater.audit(bare, reply=path)
    assert "reply-to-others" in {finding.rule for finding in result.findings}


# --- the command ---------------------------------------------------------------------------------


def test_letter_and_form_are_written(
    bare: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    reply = tmp_path / "reply.yaml"
    assert main(["audit", str(bare), "--letter", "--reply-form", str(reply)]) == 0
    text = capsys.readouterr().out
    assert text.startswith("To the author of: A change that pays (invented)")
    assert reply.read_text("utf-8").rstrip() in text
    assert load_reply(reply).answers
    assert main(["check", str(reply)]) == 0
    assert all(len(line) <= 80 for line in text.partition("--- the form")[0].splitlines())


def test_the_page_is_harmless(bare: Path, tmp_path: Path) -> None:
    bare.write_text(BARE.replace("She is faster", "<script>alert(1)</script> She"), "utf-8")
    page = tmp_path / "letter.html"
    assert main(["audit", str(bare), "--letter", "--output", str(page)]) == 0
    text = page.read_text("utf-8")
    assert "<script" not in text
    assert "Dear author" in text
    assert "reply: 1" in text


def test_the_document_says_the_same(bare: Path, tmp_path: Path) -> None:
    docx = pytest.importorskip("docx")
    path = tmp_path / "letter.docx"
    assert main(["audit", str(bare), "--letter", "--output", str(path)]) == 0
    document = docx.Document(io.BytesIO(path.read_bytes()))
    text = "\n".join(paragraph.text for paragraph in document.paragraphs)
    for question in slackwater.audit(bare).asked:
        assert question.text in text
    assert 'current: "?"' not in text  # directions are asked first
    assert 'directions: "?"' in text


@pytest.mark.parametrize(
    ("words", "reply", "said"),
    [
        (["--reply-form", "r.yaml"], "", "--reply-form goes with --letter"),
        (["--letter", "--format", "csv"], "", "not written as csv"),
        (["--letter", "--format", "docx"], "", "a document goes into a file"),
        (["--format", "docx"], "", "only a letter is written as docx"),
        (["--reply", "reply.yaml"], "reply: 1\nclaims: {C9: {at: 3000 rpm}}\n", "no claim 'C9'"),
        (["--reply", "reply.yaml"], "reply: 1\nbehind_each_figure: {sessions: many}\n", "reply.yaml:2"),
        (["--reply", "reply.yaml"], "reply: 1\nanswer: yes\n", "'answer'"),
        (["--reply", "reply.yaml"], "reply: 1\ntrial: gone.yaml\n", "gone.yaml"),
        (["--reply", "reply.yaml"], "reply: 1\nruns: gone.csv\n", "gone.csv"),
        (["--reply", "reply.yaml"], "reply: 1\nruns: claims.yaml\n", "claims.yaml"),
        (["--reply", "claims.yaml"], "", "this is a file of claims"),
        (["--reply", "gone.yaml"], "", "no such file"),
    ],
)  # fmt: skip
def test_what_does_not_go_is_refused(
    words: list[str],
    reply: str,
    said: str,
    bare: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(bare.parent)
    (bare.parent / "reply.yaml").write_text(reply, "utf-8")
    assert main(["audit", "claims.yaml", *words]) == 2
    told = capsys.readouterr().err
    assert said in told
    assert "Traceback" not in told


def test_the_form_is_never_written_over_the_claims(
    bare: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["audit", str(bare), "--letter", "--reply-form", str(bare)]) == 2
    assert "overwrite" in capsys.readouterr().err
    assert bare.read_text("utf-8") == BARE
