"""Quantities and units, against NIST SP 811, pint's own registry, and what people get wrong."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from slackwater.protocol.units.possible import is_possible, possible_in
from slackwater.protocol.units.quantity import (
    Quantity,
    QuantityError,
    conversion,
    convert,
    fitting,
    normal_unit,
    parse_any,
    parse_number,
    parse_quantity,
    same_dimension,
)
from slackwater.protocol.units.unit_table import SPELLINGS

# NIST Special Publication 811 (2008), appendix B.8, factors to SI as printed; exact ones in full.
# The tolerance is half the last printed digit, none beyond rounding for the exact ones.
NIST = [
    ("kn", "m/s", 5.144444e-01, 5e-8),
    ("nmi", "m", 1852.0, 0.0),
    ("mi", "m", 1609.344, 0.0),
    ("mph", "m/s", 0.44704, 0.0),
    ("ft", "m", 0.3048, 0.0),
    ("in", "m", 0.0254, 0.0),
    ("yd", "m", 0.9144, 0.0),
    ("gal", "L", 3.785411784, 0.0),
    ("imp_gal", "L", 4.54609, 0.0),
    ("hp", "W", 745.69987, 5e-6),
    ("PS", "W", 735.49875, 0.0),
    ("lb", "kg", 0.45359237, 0.0),
    ("lbf", "N", 4.4482216, 5e-8),
    ("kgf", "N", 9.80665, 0.0),
    ("psi", "Pa", 6894.7573, 5e-5),
    ("long_ton", "kg", 1016.04691, 5e-6),
    ("short_ton", "kg", 907.18474, 5e-6),
    ("deg", "rad", 1.745329e-02, 5e-9),
    ("kWh", "J", 3.6e6, 0.0),
    ("bar", "Pa", 1e5, 0.0),
    # Worked from the factors above: knots in miles per hour, and specific consumption.
    ("kn", "mph", 1.150779448, 5e-10),
    ("lb/(hp*h)", "g/kWh", 608.2774, 5e-5),
]


@pytest.mark.parametrize(("unit", "si", "factor", "half_digit"), NIST)
def test_factors_of_nist_sp_811(unit: str, si: str, factor: float, half_digit: float) -> None:
    assert conversion(unit, si) == pytest.approx(factor, rel=1e-14, abs=half_digit)
    assert conversion(si, unit) == pytest.approx(1 / conversion(unit, si), rel=1e-14)


def test_nautical_miles_per_gallon_from_litres_per_mile() -> None:
    # 2 L per nautical mile is 3.785411784 / 2 nautical miles per US gallon.
    per_litre = 1 / Quantity(2.0, "L/nmi").value
    assert convert(per_litre, "nmi/L", "nmi/gal") == pytest.approx(3.785411784 / 2, rel=1e-14)


# Names that pint's default registry has otherwise. It is silent on a decibel of sound and on points of a
# rating scale, and its fathom is that of the US survey foot, withdrawn in 2022; ours is six feet of 0.3048 m.
ELSEWHERE = {
    "degree_celsius": "degree_Celsius",
    "degree_fahrenheit": "degree_Fahrenheit",
    "delta_degree_celsius": "delta_degree_Celsius",
    "delta_degree_fahrenheit": "delta_degree_Fahrenheit",
    "tonne": "metric_ton",
    "kilometre_per_hour": "kilometre/hour",
    "litre_per_hour": "litre/hour",
    "gallon_per_hour": "gallon/hour",
    "newton_metre": "newton*metre",
}


def test_every_unit_agrees_with_pints_own_registry() -> None:
    import pint

    theirs = pint.UnitRegistry()
    checked = 0
    for name in sorted(set(SPELLINGS.values()) - {"decibel", "fathom", "rating_point"}):
        other = ELSEWHERE.get(name, name)
        base = theirs.get_base_units(other)[1]
        for value in (0.0, 1.0, 37.5):
            expected = theirs.Quantity(value, other).to(base).magnitude
            ours = _base_value(value, name, str(base))
            assert ours == pytest.approx(expected, rel=1e-12, abs=1e-12), name
        checked += 1
    assert checked >= 50  # the loop has run over the list and not over nothing
    assert conversion("fathom", "ft") == pytest.approx(6.0, rel=1e-14)


def _base_value(value: float, name: str, base: str) -> float:
    """By way of our own spelling; pint counts a turn as a number, we as an angle."""
    spelling = next(
        s for s, n in SPELLINGS.items() if n == name and not s.startswith(("Δ", "delta_degree"))
    )
    units = {
        "meter": "m", "kilogram": "kg", "second": "s", "radian": "rad", "kelvin": "K",
        "dimensionless": "1", "ampere": "A",
    }  # fmt: skip
    text = base.replace(" ", "").replace("**", "^")
    for theirs, ours in units.items():
        text = text.replace(theirs, ours)
    return convert(value, spelling, text)


@pytest.mark.parametrize(
    ("text", "like", "value", "unit", "spread"),
    [
        ("8 kn", "kn", 8.0, "kn", None),
        ("8kn", "m/s", 8.0, "kn", None),
        ("8 knots", "kn", 8.0, "kn", None),
        ("1 %", "%", 1.0, "%", None),
        ("+5.6%", "%", 5.6, "%", None),
        ("6200 ± 40 kg", "kg", 6200.0, "kg", 40.0),
        ("6200 +/- 40 kg", "kg", 6200.0, "kg", 40.0),
        ("6200 kg ± 40 kg", "t", 6200.0, "kg", 40.0),
        ("045 deg", "deg", 45.0, "deg", None),
        ("5 delta_degC", "delta_degC", 5.0, "delta_degC", None),
        ("-2 °C", "degC", -2.0, "degC", None),
        ("−2 degC", "degC", -2.0, "degC", None),
        ("284 K", "degC", 284.0, "K", None),
        ("5 K", "delta_degC", 5.0, "K", None),
        ("0.25", "1", 0.25, "1", None),
        ("25 %", "1", 25.0, "%", None),
        ("2.5e3 rpm", "rpm", 2500.0, "rpm", None),
        ("1025 kg/m³", "kg/m^3", 1025.0, "kg/m^3", None),
        ("31 l/hr", "L/h", 31.0, "L/h", None),
        ("80 N·m", "N*m", 80.0, "N*m", None),
        (".5 nmi/gal", "nmi/L", 0.5, "nmi/gal", None),
    ],
)
def test_reads(text: str, like: str, value: float, unit: str, spread: float | None) -> None:
    assert parse_quantity(text, like) == Quantity(value, unit, spread)


@pytest.mark.parametrize(
    ("text", "like", "message", "fix"),
    [
        ("8", "kn", "'8' has no unit; a speed (kn, m/s, km/h, mph) is needed",
         "write '8 kn' or another of m/s, km/h, mph"),
        ("95", "%", "'95' has no unit; a percentage (%) is needed", "write '95 %'"),
        ("8 kg", "kn", "'8 kg' is a mass; a speed (kn, m/s, km/h, mph) is needed", ""),
        ("8 knts", "kn", "the unit 'knts' is not known", "did you mean 'knots'?"),
        ("8 KN", "kn", "the unit 'KN' is not known", "did you mean 'kN' or 'kn'?"),
        ("8 nm", "nmi", "the unit 'nm' is not known", "did you mean 'nmi' or 'N*m'?"),
        ("8,5 kn", "kn", "'8,5 kn' has a comma in its number",
         "write a decimal point, and nothing between thousands: '8.5 kn'"),
        ("1.299,5 kg", "kg", "'1.299,5 kg' has a comma in its number",
         "write a decimal point, and nothing between thousands: '1299.5 kg'"),
        ("6,200 kg", "kg", "'6,200 kg' has a comma in its number",
         "write '6200 kg' or '6.200 kg', whichever is meant"),
        ("0.95", "%", "'0.95' has no unit; a percentage (%) is needed",
         "write '95 %' if a fraction is meant, else '0.95 %'"),
        ("6 200 kg", "kg", "'6 200 kg' has its thousands set apart",
         "write the digits together: '6200 kg'"),
        ("1_000 kg", "kg", "'1_000 kg' has its thousands set apart",
         "write the digits together: '1000 kg'"),
        ("5 degC", "delta_degC", "'5 degC' is a temperature; a temperature difference is needed",
         "write '5 delta_degC'"),
        ("5 delta_degF", "degC",
         "'5 delta_degF' is a temperature difference; a temperature is needed", "write '5 degF'"),
        ("10 - 12 kn", "kn", "'10 - 12 kn' is a span; a single value is needed",
         "give one value, with its standard uncertainty after ± where it is known"),
        ("<= 8 kn", "kn", "'<= 8 kn' starts with a sign of comparison; a value is needed",
         "leave the sign away; limits are written {at_most: ...} or {at_least: ...}"),
        ("", "kn", "no value is given; a speed (kn, m/s, km/h, mph) is needed",
         "write it such as '10 kn'"),
        ("1e400 kn", "kn", "'1e400' is too large a number", "give a number within reason"),
        ("40 ± -1 kg", "kg", "'40 ± -1 kg' has a negative uncertainty",
         "give the size of the uncertainty"),
        ("3 kn", "1", "'3 kn' is a speed; a plain number is needed", ""),
    ],
)  # fmt: skip
def test_says_what_is_wrong(text: str, like: str, message: str, fix: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, like)
    assert (caught.value.message, caught.value.fix) == (message, fix)


@pytest.mark.parametrize(
    "text", ["inf kn", "nan kn", "inf", "kn", "٣ kn", "1 kn ± 2 % ± 3", "0x10 kn"]
)
def test_is_no_quantity(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(text, "kn")


def test_fuel_may_be_of_several_kinds() -> None:
    kinds = ("%", "L", "kg")
    assert [parse_quantity(t, kinds).unit for t in ("80 %", "560 L", "470 kg")] == ["%", "L", "kg"]
    with pytest.raises(QuantityError, match=r"a percentage .* or a volume .* or a mass"):
        parse_quantity("80 kn", kinds)


@pytest.mark.parametrize(
    ("text", "value"), [("045", 45.0), ("010", 10.0), ("1e-3", 0.001), ("-0.5", -0.5), ("3.", 3.0)]
)
def test_numbers_are_decimal(text: str, value: float) -> None:
    assert parse_number(text) == value


@pytest.mark.parametrize(
    "text", ["1_000", "nan", "inf", "-inf", "1,5", "1 000", "0x10", "1e400", ""]
)
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_number(text)


def test_temperatures_have_an_offset() -> None:
    # Ice point and boiling point of water: 0 and 100 degC are 32 and 212 degF by definition.
    assert convert(0.0, "degC", "degF") == pytest.approx(32.0, abs=1e-9)
    assert convert(212.0, "degF", "degC") == pytest.approx(100.0, abs=1e-9)
    assert convert(5.0, "delta_degC", "delta_degF") == pytest.approx(9.0, abs=1e-12)
    warm = Quantity(11.0, "degC", 0.5).to("degF")
    assert warm.uncertainty == pytest.approx(0.9, abs=1e-12)
    with pytest.raises(QuantityError, match="offset"):
        conversion("degC", "degF")
    assert not same_dimension("degC", "delta_degC")


def test_an_angle_is_not_a_number_and_rpm_not_a_frequency() -> None:
    assert not same_dimension("deg", "%")
    assert not same_dimension("rpm", "1/s")
    # Metres a minute over revolutions a minute are metres a revolution.
    assert same_dimension("m/min/rpm", "m/rev")


@pytest.mark.parametrize(
    ("written", "usual"),
    [("knots", "kn"), ("l/hr", "L/h"), ("Nm", "N*m"), ("kg/m3", "kg/m^3"), ("°", "deg"),
     ("delta_°C", "delta_degC"), ("lb/(hp*h)", "lb/hp/h"), ("1", "1")],
)  # fmt: skip
def test_units_have_one_spelling(written: str, usual: str) -> None:
    assert normal_unit(written) == usual
    assert normal_unit(usual) == usual


@pytest.mark.parametrize("text", ["", "kn kn", "kn/", "degC/s", "2**9999 m", "__import__", "m^99"])
def test_what_is_no_unit(text: str) -> None:
    with pytest.raises(QuantityError):
        normal_unit(text)


def test_units_that_fit_do_fit() -> None:
    for unit in set(SPELLINGS):
        noun, units = fitting(unit)
        assert noun
        assert all(same_dimension(unit, one) for one in units if one != "K")


UNITS = ["kn", "rpm", "L/h", "%", "kg", "m", "nmi/L", "delta_degC", "degF"]
NUMBERS = st.floats(-1e9, 1e9, allow_nan=False).map(lambda x: float(f"{x:.9g}"))


@given(
    NUMBERS, st.sampled_from(UNITS), st.none() | st.floats(0, 1e6).map(lambda x: float(f"{x:.9g}"))
)
def test_what_is_written_is_read_back(value: float, unit: str, spread: float | None) -> None:
    low, high = possible_in(unit)
    assume(is_possible(value, unit) and (spread is None or spread <= high - low))
    quantity = Quantity(value, unit, spread)
    assert parse_any(str(quantity)) == quantity


@given(NUMBERS, st.sampled_from([("kn", "mph"), ("L/h", "gal/h"), ("degC", "degF"), ("m", "ft")]))
def test_there_and_back(value: float, pair: tuple[str, str]) -> None:
    there = convert(value, *pair)
    assert convert(there, pair[1], pair[0]) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.text(max_size=40), st.sampled_from(UNITS))
def test_any_text_is_a_quantity_or_an_error(text: str, like: str) -> None:
    try:
        quantity = parse_quantity(text, like)
    except QuantityError:
        return
    assert math.isfinite(quantity.value)
    assert same_dimension(quantity.unit, like)


def test_the_table_of_units_is_what_pint_makes_of_their_definitions() -> None:
    from slackwater.protocol.units import unit_making, unit_table

    assert Path(unit_table.__file__).read_text("utf-8") == unit_making.render()


def test_the_size_of_a_difference_of_temperatures_has_no_zero() -> None:
    """9 degrees Fahrenheit of difference are 5 of Celsius: their degrees are as 5 to 9, by definition."""
    assert Quantity(9.0, "delta_degF").size_in("degC") == pytest.approx(5.0)
    assert Quantity(1.0, "delta_degC").size_in("degC") == 1.0
    assert Quantity(1.0, "kn").size_in("km/h") == pytest.approx(1.852)
    with pytest.raises(QuantityError):
        Quantity(1.0, "delta_degC").size_in("kn")
