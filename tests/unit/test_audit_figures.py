"""Published figures: how they are read, and what their rounding leaves open."""

from __future__ import annotations

import contextlib
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slackwater.analysis.audit.rounding import Span, coarseness, span_of, would_print
from slackwater.protocol.claims.figure_reading import parse_figure
from slackwater.protocol.units.quantity import QuantityError


@pytest.mark.parametrize(
    ("text", "low", "high", "unit"),
    [
        ("16.2 kn", "16.2", "16.2", "kn"),
        ("13 to 15 kn", "13", "15", "kn"),
        ("13-15 kn", "13", "15", "kn"),
        ("13 kn to 15 kn", "13", "15", "kn"),
        ("between 13 and 15 knots", "13", "15", "kn"),
        ("+5.6 %", "5.6", "5.6", "%"),
        ("−5.6 %", "-5.6", "-5.6", "%"),
        ("5 % less", "-5", "-5", "%"),
        ("4 to 6 % less", "-6", "-4", "%"),
        ("-4 to -6 %", "-6", "-4", "%"),
        ("a quarter less", "-25", "-25", "%"),
        ("half as fast again", "50", "50", "%"),
        ("twice", "100", "100", "%"),
        ("0.25", "0.25", "0.25", "1"),
        ("–5.6 %", "-5.6", "-5.6", "%"),
        ("-3 – +3 %", "-3", "3", "%"),
        ("5 per cent", "5", "5", "%"),
        ("2 percentage points", "2", "2", "%"),
        ("8.2 mpg", "8.2", "8.2", "mi/gal"),
        ("8.2 imp mpg", "8.2", "8.2", "mi/imp_gal"),
        ("30 US gal", "30", "30", "gal"),
        ("30 imperial gallons", "30", "30", "imp_gal"),
        ("6.5 litres per hour", "6.5", "6.5", "L/h"),
        ("30 miles an hour", "30", "30", "mph"),
        ("15 L/100 nmi", "0.15", "0.15", "L/nmi"),
        ("2 min 30 s for a mile", "24", "24", "kn"),
        ("a nautical mile in 2:30", "24", "24", "kn"),
        ("no change", "0", "0", "%"),
        ("half", "50", "50", "%"),
        ("half the fuel", "-50", "-50", "%"),
        ("a fifth", "20", "20", "%"),
        ("three times", "200", "200", "%"),
        ("halved", "-50", "-50", "%"),
    ],
)
def test_reads_what_people_print(text: str, low: str, high: str, unit: str) -> None:
    figure = parse_figure(text)
    assert (figure.low, figure.high, figure.unit) == (Decimal(low), Decimal(high), unit)


def test_says_what_it_says() -> None:
    assert parse_figure("about 30 %").about
    assert parse_figure("up to 20 %").bound == "up to"
    assert parse_figure("at least 20 %").bound == "at least"
    both = parse_figure("up to about 20 %")
    assert both.about
    assert both.bound == "up to"
    assert parse_figure("17.1 ± 0.2 kn").uncertainty == Decimal("0.2")
    assert parse_figure("17.10 kn").step == Decimal("0.01")
    assert parse_figure("5 % ± 1 %").uncertainty == Decimal(1)
    assert parse_figure("+2.0 % (0.2 to 3.8 %)").ends == (Decimal("0.2"), Decimal("3.8"))
    assert parse_figure("5 % on average").average
    assert parse_figure("nearly 5 %").side == "below"
    for text in ("no more than 3 % slower", "less than 3 %", "3 % or less", "under 3 %"):
        assert parse_figure(text).bound == "at most"
    for text in ("over 3 %", "3 % or more", "not less than 3 %"):
        assert parse_figure(text).bound == "at least"
    assert parse_figure("1 % either way").bound == "within"
    assert "US gallon" in parse_figure("8.2 mpg").assumed
    assert parse_figure("8.2 US mpg").assumed == ""


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("=1+1", "not a quantity"),
        ("@SUM(A1)", "not a quantity"),
        ("<script>5 kn</script>", "not a quantity"),
        ("1e400 kn", "beyond anything"),
        ("99999999999999 kn", "beyond anything"),
        ("16,2 kn", "comma"),
        ("1 200 rpm", "thousands"),
        ("nan kn", "not a quantity"),
        ("12 furlongs", "not known"),
        ("-5 % less", "minus and a word"),
        ("15 to 13 kn", "goes down"),
        ("13 mph to 15 kn", "two units"),
        ("", "no value"),
        ("1" * 500, "500 characters"),
    ],
)
def test_refuses_what_is_none(text: str, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        parse_figure(text)


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    figure = None
    with contextlib.suppress(QuantityError):
        figure = parse_figure(text)
    assert figure is None or figure.low <= figure.high


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("16.2 kn", "16.15", "16.25"),
        ("about 30 %", "25", "35"),
        ("about 25 %", "22.5", "27.5"),
        ("about 32 %", "31", "33"),
        ("up to 20 %", "0", "20.5"),
        ("up to 20 % less", "-20.5", "0"),
        ("13 to 15 kn", "12.5", "15.5"),
        ("11.5 ± 0.25 kn", "11.2", "11.8"),  # and half its last digit
        ("2.0 % (0.2 to 3.8 %)", "0.15", "3.85"),
        ("nearly 5 %", "4.5", "5"),
        ("just over 20 %", "20", "22"),
        ("almost 20 % less", "-20", "-18"),
        ("a tenth more", "8.5", "11.5"),
        ("half less", "-57.5", "-42.5"),
        ("twice", "85", "115"),
        ("within 3 %", "-3", "3"),
    ],
)
def test_rounding_leaves_open(text: str, low: str, high: str) -> None:
    assert span_of(parse_figure(text)) == Span(Decimal(low), Decimal(high))


def test_digits_cut_off() -> None:
    figures = [parse_figure("16.2 kn"), parse_figure("-3.1 %")]
    spans = [span_of(f, rounding="down") for f in figures]
    assert spans == [
        Span(Decimal("16.2"), Decimal("16.3")),
        Span(Decimal("-3.2"), Decimal("-3.1")),
    ]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("at least 5 %", "5", None),
        ("over 5 %", "5", None),  # a bound is not rounded in its own favour
        ("at least 3 % less", None, "-3"),
        ("at least -1 %", "-1", None),
        ("at most 3 % less", "-3", None),
        ("at most 3 %", None, "3"),
        ("no loss", "0", None),
    ],
)
def test_a_bound_has_one_end(text: str, low: str | None, high: str | None) -> None:
    span = span_of(parse_figure(text))
    assert (span.low == Decimal(low)) if low else (span.low < -(10**20))
    assert (span.high == Decimal(high)) if high else (span.high > 10**20)


def test_round_figures_need_three_digits_and_company_that_is_round_too() -> None:
    def step(*texts: str) -> Decimal:
        return coarseness([parse_figure(text) for text in texts])

    assert step("250 nmi") == 10
    assert step("255 nmi") == 5
    assert step("250 nmi", "261 nmi") == 0
    assert step("20 kn", "30 kn") == 0
    assert step("250.0 nmi") == 0
    # Read to the nearest half knot; two whole numbers do not show it.
    assert step("18.5 kn", "19.0 kn") == Decimal("0.5")
    assert step("18.0 kn", "19.0 kn") == 0
    assert step("18.5 kn", "19.2 kn") == 0
    assert step("18.5 kn") == 0


@given(
    st.decimals("0.1", "500", places=4),
    st.sampled_from(["0.01", "0.1", "1"]),
    st.sampled_from(["ROUND_HALF_EVEN", "ROUND_HALF_UP", "ROUND_HALF_DOWN"]),
)
def test_a_value_lies_in_the_span_of_its_print(value: Decimal, step: str, how: str) -> None:
    printed = value.quantize(Decimal(step), rounding=how)
    span = span_of(parse_figure(f"{printed:f} kn"))
    assert span.holds(value)
    ends = would_print(Span(value, value), Decimal(step))
    assert ends is not None
    assert ends[0] <= printed <= ends[1]


def test_units_are_changed_without_losing_the_ends() -> None:
    span = span_of(parse_figure("20.0 mph"), "kn")
    # 1 mi = 1609.344 m and 1 nmi = 1852 m exactly (NIST SP 811).
    assert float(span.low) == pytest.approx(19.95 * 1609.344 / 1852, rel=1e-11)
    assert float(span.high) == pytest.approx(20.05 * 1609.344 / 1852, rel=1e-11)
