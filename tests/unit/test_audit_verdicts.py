"""Verdicts on claims against the trial behind them."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from audited_claims import audited, one

from slackwater.analysis.audit.auditing import audit
from slackwater.analysis.audit.rounding import ENDLESS, Span, scaled, span_of
from slackwater.analysis.audit.verdict_rules import Found, Stated, judge
from slackwater.analysis.intake.claims_table import read_claims_table
from slackwater.protocol.claims.figure_reading import parse_figure

EXAMPLES = Path(__file__).parents[2] / "examples"
ARTICLES = EXAMPLES / "published-article"
TRIAL = str(EXAMPLES / "workboat-interceptors" / "trial.yaml")


def span(low: float, high: float) -> Span:
    return Span(Decimal(str(low)), Decimal(str(high)))


GAIN = ("+5.3 %", 0.038, 0.069, 0.053, True)
LOSS = ("-5.3 %", -0.069, -0.038, -0.053, True)
NOISE = ("-0.3 %", -0.013, 0.007, -0.003, False)
OPEN = ("+5.0 %", 0.004, 0.098, 0.05, True)


@pytest.mark.parametrize(
    ("stated", "trial", "verdict"),
    [
        ("5 %", GAIN, "upheld"),
        ("6.6 %", GAIN, "compatible"),  # in the interval, and a quarter more than measured
        ("9 %", GAIN, "overstated"),
        ("1 %", GAIN, "understated"),
        ("-5 %", GAIN, "contradicted"),
        ("0 %", GAIN, "contradicted"),
        ("-5 %", LOSS, "upheld"),
        ("-9 %", LOSS, "overstated"),
        ("-1 %", LOSS, "understated"),
        ("+0.5 %", NOISE, "within noise"),
        ("+5 %", NOISE, "refuted"),
        ("-5 %", NOISE, "refuted"),
        ("5 %", OPEN, "compatible"),  # anything from a half to ten per cent would do
        ("5.0 % (0.4 to 9.8 %)", OPEN, "upheld"),  # which is what this one says
        ("5.0 ± 4.8 %", OPEN, "upheld"),
        ("at least 3 %", GAIN, "upheld"),
        ("at least 4 %", GAIN, "compatible"),
        ("over 7 %", GAIN, "overstated"),
        ("over 1 %", NOISE, "refuted"),
        ("at least 3 % less", LOSS, "upheld"),
        ("at least 3 % less", GAIN, "contradicted"),
        ("at most 3 % less", NOISE, "upheld"),
        ("no more than 1 % slower", NOISE, "within noise"),
        ("at least -1.5 %", NOISE, "upheld"),
        ("-3 to 3 %", NOISE, "upheld"),
        ("within 1 %", NOISE, "within noise"),
        ("within 3 %", GAIN, "contradicted"),
        ("within 5 %", GAIN, "compatible"),
        ("less than 3 % slower", LOSS, "contradicted"),
        ("no loss", GAIN, "upheld"),
        ("no loss", LOSS, "contradicted"),
        ("no change", NOISE, "within noise"),
        ("nearly 5.5 %", GAIN, "upheld"),
        ("half more", GAIN, "overstated"),
    ],
)
def test_each_kind_of_statement_against_the_interval(
    stated: str, trial: tuple[str, float, float, float, bool], verdict: str
) -> None:
    _, low, high, change, established = trial
    found = Found(span(low, high), Decimal(str(change)), established)
    figure = parse_figure(stated)
    said = Stated(
        scaled(span_of(figure), Decimal("0.01")),
        loose=figure.about,
        none=figure.none or (figure.plain and figure.low == 0),
        spread=figure.spread,
    )
    assert judge(said, found) == verdict


@pytest.mark.parametrize(
    ("stated", "inside", "verdict"),
    [
        ("no change", span(-0.01, 0.01), "upheld"),
        ("0 %", span(-0.01, 0.01), "upheld"),
        ("within 1 %", span(-0.01, 0.01), "upheld"),
        ("within 0.9 %", span(-0.01, 0.01), "within noise"),
        ("no loss", Span(Decimal("-0.01"), ENDLESS), "upheld"),
        ("no change", Span(Decimal("-0.01"), ENDLESS), "within noise"),
        ("no more than 1 % slower", Span(Decimal("-0.01"), ENDLESS), "upheld"),
    ],
)
def test_the_margin_declared_beforehand_serves_where_the_claim_names_none_or_a_wider_one(
    stated: str, inside: Span, verdict: str
) -> None:
    figure = parse_figure(stated)
    said = Stated(
        scaled(span_of(figure), Decimal("0.01")),
        none=figure.none or (figure.plain and figure.low == 0),
    )
    found = Found(span(-0.013, 0.012), Decimal("-0.003"), established=False, inside=(inside,))
    assert judge(said, found) == verdict


@pytest.mark.parametrize(
    ("claim", "verdict"),
    [
        ({"at": "2200 rpm", "stated": {"change": "+5 %"}}, "upheld"),
        ({"at": "2200 rpm", "stated": {"change": "+9 %"}}, "overstated"),
        ({"at": "2200 rpm", "stated": {"difference": "0.2 kn"}}, "understated"),
        ({"at": "2500 rpm", "stated": {"change": "-2 %"}}, "contradicted"),
        ({"at": "3500 rpm", "stated": {"change": "+2 %"}}, "refuted"),
        ({"at": "3500 rpm", "stated": {"change": "+0.4 %"}}, "within noise"),
        ({"at": "3500 rpm", "stated": {"change": "no more than 3 % slower"}}, "upheld"),
        # Values nothing like the runs: both twice as large, and US gallons for imperial ones.
        ({"at": "2200 rpm", "stated": {"baseline": "28.0 kn", "modified": "29.5 kn"}}, "refuted"),
        (
            {
                "at": "2200 rpm",
                "quantity": "fuel_flow",
                "stated": {"baseline": "5.57 US gal/h", "modified": "5.46 US gal/h"},
            },
            "refuted",
        ),
        # Between two set points, by the band; beyond the last one there is none.
        ({"at": "2300 rpm", "stated": {"change": "+5 %"}}, "upheld"),
        ({"at": "2750 rpm", "stated": {"change": "+9 %"}}, "refuted"),
        ({"at": "4000 rpm", "stated": {"change": "+5 %"}}, "untestable"),
        ({"at": "2000 to 2500 rpm", "stated": {"change": "+4 %"}}, "upheld"),
        ({"at": "2000 to 2500 rpm", "stated": {"change": "+9 %"}}, "overstated"),
        ({"at": "2000 to 2500 rpm", "stated": {"change": "up to +5 %"}}, "upheld"),
        ({"at": "everywhere", "stated": {"change": "+5 %"}}, "refuted"),
        ({"at": "everywhere", "stated": {"change": "no more than 4 % slower"}}, "upheld"),
        ({"stated": {"change": "no more than 4 % slower"}}, "upheld"),
        ({"stated": {"change": "no more than 3 % slower"}}, "within noise"),  # at 1000 rpm
        ({"at": "anywhere", "stated": {"change": "+5 %"}}, "upheld"),
        ({"at": "average", "stated": {"change": "+1.7 %"}}, "within noise"),
        ({"stated": {"change": "4 % on average"}}, "refuted"),
        ({"at": "2200 rpm", "stated": {"baseline": "14.0 kn", "modified": "14.7 kn"}}, "upheld"),
        ({"stated": {"change": "up to 5 %"}}, "upheld"),
        ({"stated": {"change": "up to 12 %"}}, "overstated"),
        ({"at": "2200 rpm", "stated": {"change": "at least 3 %"}}, "upheld"),
        ({"at": "2200 rpm", "stated": {"change": "at least 9 %"}}, "overstated"),
        (
            {
                "at": "2200 rpm",
                "quantity": "fuel_flow",
                "stated": {"baseline": "25.3 L/h", "change": "-1.9 % (-3.5 to -0.2 %)"},
            },
            "upheld",
        ),
        ({"stated": {"change": "about 5 %"}}, "within noise"),  # on average
        ({"at": "3500 rpm", "stated": {"modified": "26.3 kn"}}, "upheld"),
        ({"at": "3500 rpm", "stated": {"modified": "27.3 kn"}}, "overstated"),
        ({"at": "2200 rpm", "quantity": "range", "stated": {"change": "+7 %"}}, "upheld"),
        (
            {"at": "2200 rpm", "quantity": "fuel_per_distance", "stated": {"change": "7 % less"}},
            "upheld",
        ),
        ({"at": "2200 rpm", "quantity": "slip", "stated": {"difference": "-3.4 %"}}, "upheld"),
        ({"at": "15 kn", "quantity": "economy", "stated": {"change": "8 %"}}, "upheld"),
        (
            {
                "at": "2200 rpm",
                "stated": {"baseline": "14.0 kn", "modified": "14.7 kn", "change": "12 %"},
            },
            "inconsistent",
        ),
    ],
)
def test_against_the_trial(claim: dict[str, Any], verdict: str) -> None:
    assert one(claim, trial=TRIAL).verdict == verdict


def test_the_number_behind_it_is_the_trials_own_and_can_be_followed() -> None:
    from slackwater.analysis import analyse

    claim = one({"at": "2200 rpm", "stated": {"change": "+5 %"}}, trial=TRIAL)
    rows = analyse(TRIAL).records("comparisons")
    row = next(r for r in rows if r["quantity"] == "speed" and r["at"] == "2200 rpm")
    assert (claim.recomputed, claim.low, claim.high) == (row["change"], row["low"], row["high"])
    runs, sessions = claim.sheets
    assert len(runs.rows) == 36
    means = {r[1]: float(r[2]) for r in sessions.rows if r[0] == "mean"}
    assert means["fitted"] / means["bare"] - 1 == pytest.approx(row["change"], abs=5e-4)
    # From the runs as measured: the current taken out, averaged, session by session.
    through: dict[str, list[float]] = {}
    for run in runs.rows:
        through.setdefault(run[1], []).append(float(run[-1]))
    first = {r[0]: float(r[2]) for r in sessions.rows}
    for session, values in through.items():
        assert sum(values) / len(values) == pytest.approx(first[session], abs=0.006)


def test_a_value_is_answered_in_the_unit_that_it_is_printed_in() -> None:
    claim = one({"at": "3500 rpm", "stated": {"modified": "13.5 m/s"}}, trial=TRIAL)
    assert claim.verdict == "upheld"
    assert claim.unit == "m/s"
    assert claim.recomputed == pytest.approx(26.3 * 1852 / 3600, abs=0.1)


def test_two_claims_that_disagree_are_settled_by_the_data() -> None:
    claims = [{"at": "2200 rpm", "stated": {"change": c}} for c in ("+5 %", "+9 %")]
    found = audited(*claims, trial=TRIAL).claims
    assert [c.verdict for c in found] == ["upheld", "overstated"]
    assert all("together" in [r.check for r in c.reasons] for c in found)
    # Without data the two are told together, and neither is blamed.
    alone = audited(*claims)
    assert [c.verdict for c in alone.claims] == ["untestable", "untestable"]
    assert [c.claims for c in alone.conflicts] == [("C1", "C2")]
    assert "cannot both be true" in alone.claims[0].why


def test_one_session_each_is_untestable_and_says_when_it_would_vanish() -> None:
    trial = str(EXAMPLES / "one-morning-each" / "trial.yaml")
    names = {"baseline": "old", "modified": "new"}
    claim = {"at": "3500 rpm", **names, "stated": {"change": "+6.7 %"}}
    found = one(claim, trial=trial)
    assert found.verdict == "untestable"
    assert "on-the-day" in [r.check for r in found.reasons]
    # With 3 % between sessions the difference on the day is no more than noise.
    noisy = audited(claim, trial=trial, between="3 %").claims[0]
    assert noisy.verdict == "within noise"


def test_conditions_broken_leave_no_verdict(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    shutil.copytree(Path(TRIAL).parent, folder)
    file = folder / "trial.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("wind_speed: 5 kn", "wind_speed: 18 kn", 1), encoding="utf-8")
    claim = one({"at": "2200 rpm", "stated": {"change": "+5 %"}}, trial=str(file))
    assert claim.verdict == "untestable"
    assert "wind speed 18 kn" in claim.why
    assert "conditions" in [r.check for r in claim.reasons]


def test_a_claim_on_what_the_trial_does_not_know_is_untestable_and_the_others_go_on() -> None:
    claims = [
        {"modified": "fited", "at": "2200 rpm", "stated": {"change": "+5 %"}},
        {"quantity": "fuel_used", "stated": {"change": "-5 %"}},
        {"at": "2200 rpm", "stated": {"change": "+5 %"}},
    ]
    found = audited(*claims, trial=TRIAL).claims
    assert [c.verdict for c in found] == ["untestable", "untestable", "upheld"]
    assert "did you mean 'fitted'" in found[0].why
    assert "'fuel_used' is not known" in found[1].why


def test_a_claim_that_cannot_be_read_is_untestable_with_its_line_and_the_others_go_on(
    tmp_path: Path,
) -> None:
    file = tmp_path / "claims.yaml"
    file.write_text(
        "claims:\n"
        "  - {id: C1, quantity: speed, stated: {change: 5 %}}\n"
        "  - {id: C2, quantity: speed, at: 2200 rpm, says: Much faster!, stated: {change: lots}}\n"
        "  - {id: C3, quantity: sped, stated: {change: 5 %}}\n"
        "  - {id: C4, quantity: speed, stated: {baseline: 20.0 kn, modified: 21.0 kn, change: 9 %}}\n",
        encoding="utf-8",
    )
    found = audit(file).claims
    assert [c.id for c in found] == ["C1", "C2", "C3", "C4"]
    assert [c.verdict for c in found] == ["untestable", "untestable", "untestable", "inconsistent"]
    assert "(line 3)" in found[1].why
    assert found[1].says == "Much faster!"
    assert "did you mean 'speed'" in found[2].reasons[0].settle


@pytest.mark.parametrize(
    ("article", "verdicts"),
    [
        ("honest", ["upheld"] * 5),
        (
            "careless",
            [
                "overstated",
                "refuted",
                "overstated",
                "contradicted",
                "inconsistent",
                "inconsistent",
                "understated",
                "untestable",
            ],
        ),
        (
            "careless-without-runs",
            ["untestable", "untestable", "within noise", "within noise", "inconsistent"],
        ),
        ("honest-without-runs", ["untestable", "within noise"]),
        ("propeller-careful", ["upheld"] * 6),
        (
            "propeller-careless",
            [
                "overstated",
                "contradicted",
                "refuted",
                "refuted",
                "refuted",
                "untestable",
                "compatible",
            ],
        ),
    ],
)
def test_the_example_articles(article: str, verdicts: list[str]) -> None:
    found = audit(ARTICLES / f"{article}.yaml")
    assert [c.verdict for c in found.claims] == verdicts


def test_the_careless_propeller_is_seen_through() -> None:
    found = audit(ARTICLES / "propeller-careless.yaml")
    assert [(c.claims, c.explanation) for c in found.conflicts] == [
        (("cruise", "further"), "unexplained")
    ]
    gallons = next(c for c in found.claims if c.id == "gallons")
    assert "it would fit if the unit is another one: 3.70 nmi/imp_gal" in gallons.why


@pytest.mark.parametrize(
    ("table", "explanations"),
    [
        ("propeller-careful", {}),
        ("propeller-careless", {"T4": "wrong-base", "T6": "swapped-digits"}),
    ],
)
def test_the_example_tables(table: str, explanations: dict[str, str]) -> None:
    found = audit(read_claims_table(ARTICLES / f"{table}.csv"))
    told = {
        c.id: r.explanation for c in found.claims for r in c.reasons if r.outcome == "disagrees"
    }
    assert told == explanations
    assert len(found.claims) == 10
