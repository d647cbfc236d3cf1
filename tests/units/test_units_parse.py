"""Text ↔ SI. Factors are checked against scipy.constants (CODATA and NIST), not against our own table."""

from contextlib import suppress
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants as c

from heatproof.kit.fields import fields_of
from heatproof.kit.records.duty import Duty
from heatproof.kit.records.variant import CarFile, KitFile
from heatproof.units.grammar import unit
from heatproof.units.parse import read, read_half_width
from heatproof.units.quantity import Quantity, UnitError
from heatproof.units.show import display, show

WIDE = 1e15


def q(unit_text: str, kind: str = "plain") -> Quantity:
    return Quantity(unit_text, -WIDE, WIDE, "test", kind)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "unit_text", "kind", "si"),
    [
        ("75 mm", "mm", "plain", 0.075),
        ("75mm", "mm", "plain", 0.075),
        ("3 in", "mm", "plain", 3 * c.inch),
        ("2.5 ft", "m", "plain", 2.5 * c.foot),
        ("12 psi gauge", "bar gauge", "gauge", 12 * c.psi),
        ("12 psig", "bar gauge", "gauge", 12 * c.psi),
        ("1.1 bar gauge", "bar gauge", "gauge", 1.1 * c.bar),
        ("101 kPa absolute", "kPa absolute", "absolute", 101e3),
        ("1 atm absolute", "kPa absolute", "absolute", c.atm),
        ("180 hp", "kW", "plain", 180 * c.hp),
        ("35 degC", "degC", "temperature", 35 + c.zero_Celsius),
        ("35 °C", "degC", "temperature", 35 + c.zero_Celsius),
        ("−10 °C", "degC", "temperature", c.zero_Celsius - 10),
        ("95 degF", "degC", "temperature", c.convert_temperature(95, "F", "K")),
        ("12 L/min", "L/min", "plain", 12 * c.liter / c.minute),
        ("5 gpm", "L/min", "plain", 5 * c.gallon_US / c.minute),
        ("350 W/K", "W/K", "plain", 350),
        ("40 cm2", "m2", "plain", 40e-4),
        ("40 cm²", "m2", "plain", 40e-4),
        ("40 cm^2", "m2", "plain", 40e-4),
        ("85 %", "%", "plain", 0.85),
        ("0.85", "%", "plain", 0.85),
        ("15 min", "s", "plain", 15 * c.minute),
        ("110 km/h", "km/h", "plain", 110 * c.kmh),
        ("70 mph", "km/h", "plain", 70 * c.mph),
        ("6000 rpm", "rpm", "plain", 100.0),
        ("6000 1/min", "rpm", "plain", 100.0),
        ("700 W/m2/K", "W/m2/K", "plain", 700),
        ("700 W/(m2 K)", "W/m2/K", "plain", 700),
        ("700 W·m⁻²·K⁻¹", "W/m2/K", "plain", 700),
        ("1 BTU/h/ft2/degF", "W/m2/K", "plain", c.Btu / c.hour / c.foot**2 / c.degree_Fahrenheit),
        ("1.9e-5 kg*m2", "kg*m2", "plain", 1.9e-5),
        ("42.8 MJ/kg", "MJ/kg", "plain", 42.8e6),
        ("27 deg", "deg", "plain", 27 * pi / 180),
        ("15 kJ/K", "J/K", "plain", 15e3),
        ("2 lb/min", "kg/s", "plain", 2 * c.pound / c.minute),
        ("3 mmHg", "Pa", "plain", 3 * c.mmHg),
        ("40 K", "K", "difference", 40),
        ("9 degF difference", "K", "difference", 5),
        ("58 EUR", "EUR", "money", 58),
    ],
)
def test_reads_what_people_write(text, unit_text, kind, si):
    # inHg, mmHg and Btu are conventional: NIST SP 811 rounds them to seven figures.
    assert read(text, q(unit_text, kind), "EUR" if kind == "money" else "") == pytest.approx(si, rel=2e-6)


@pytest.mark.parametrize(
    ("text", "unit_text", "kind", "says"),
    [
        ("350 W", "W/K", "plain", "nearest: 350 W/K"),
        ("350 kg", "W/K", "plain", "kg is a mass, but a heat flow per kelvin is needed"),
        ("628 rad/s", "rpm", "plain", "angular speed"),
        ("12 KW", "kW", "plain", "nearest: kW"),
        ("12 psy", "bar", "plain", "nearest: psi"),
        ("700 W/m2 K", "W/m2/K", "plain", "two ways"),
        ("75", "mm", "plain", "unit is missing"),
        ("1,5 mm", "mm", "plain", "decimal point"),
        ("1_000 mm", "mm", "plain", "cannot read a number"),
        ("mm", "mm", "plain", "cannot read a number"),
        ("nan mm", "mm", "plain", "cannot read a number"),
        ("1e999 mm", "mm", "plain", "too large"),
        ("5 (m", "m", "plain", "bracket"),
        ("1.1 bar", "bar gauge", "gauge", "gauge or absolute pressure is not stated"),
        ("1.1 bar absolute", "bar gauge", "gauge", "absolute pressure, but this one counts over the ambient"),
        ("1.1 bar gauge", "bar absolute", "absolute", "not converted by guess"),
        ("1.1 bar gauge", "bar", "plain", "leave out the word"),
        ("300 K", "degC", "temperature", "nearest: 26.85 degC"),
        ("40 degC", "K", "difference", "nearest: 40 K"),
        ("40", "degC", "temperature", "unit is missing"),
        ("-300 degC", "degC", "temperature", "absolute zero"),
        ("58 USD", "EUR", "money", "not the kit's currency"),
        ("5 " + "m" * 90, "m", "plain", ""),
        ("5 " + "(" * 58 + "m", "m", "plain", ""),
    ],
)
def test_refuses_and_says_why(text, unit_text, kind, says):
    with pytest.raises(UnitError) as caught:
        read(text, q(unit_text, kind), "EUR" if kind == "money" else "")
    assert says in str(caught.value)


def test_range_is_checked_with_bounds_in_the_declared_unit():
    thickness = Quantity("mm", 1e-4, 0.2, "Thickness")
    with pytest.raises(UnitError, match=r"greater than zero.*0\.1 mm to 200 mm"):
        read("-2 mm", thickness)
    with pytest.raises(UnitError, match="too large"):
        read("3 m", thickness)


def test_spread_is_relative_or_in_the_unit_and_never_guessed():
    assert read_half_width("15 %", q("W/K"), 350.0) == pytest.approx(52.5)
    assert read_half_width("40 K", q("degC", "temperature"), 700.0) == 40
    assert read_half_width("0.1 bar", q("bar gauge", "gauge"), 1e5) == pytest.approx(1e4)
    assert read_half_width("3 points", q("%"), 0.66) == pytest.approx(0.03)
    assert read_half_width("3 % of value", q("%"), 0.66) == pytest.approx(0.0198)
    for text, quantity in (("3 %", q("%")), ("5 %", q("degC", "temperature")), ("-5 %", q("W/K"))):
        with pytest.raises(UnitError):
            read_half_width(text, quantity, 1.0)


def declared() -> list[Quantity]:
    """Every quantity of every file."""
    seen, found, todo = set(), [], [CarFile, KitFile, Duty]
    while todo:
        record = todo.pop()
        if record in seen:
            continue
        seen.add(record)
        for field in fields_of(record).values():
            todo += field.classes
            if isinstance(field.declaration, Quantity):
                found.append(field.declaration)
    return found


@given(st.data())
def test_every_declared_quantity_round_trips_exactly(data):
    quantity = data.draw(st.sampled_from(declared()))
    value = data.draw(st.floats(quantity.low, quantity.high, allow_nan=False, allow_subnormal=False))
    assert read(show(value, quantity), quantity) == value


@given(st.floats(1e-6, 1e6), st.sampled_from(["mm", "cm", "in", "ft", "km"]))
def test_any_unit_of_the_dimension_round_trips(value, other):
    assert read(show(value, q("m"), other), q("m")) == value


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused_and_nothing_else(text):
    for quantity in (
        q("W/m2/K"),
        q("degC", "temperature"),
        q("bar gauge", "gauge"),
        q("K", "difference"),
        q("1"),
    ):
        with suppress(UnitError):
            assert isinstance(read(text, quantity), float)


@given(
    st.lists(
        st.tuples(st.sampled_from(["m", "s", "kg", "W", "K", "mm", "Pa"]), st.integers(1, 3)),
        min_size=1,
        max_size=3,
    ),
    st.lists(
        st.tuples(st.sampled_from(["m", "s", "kg", "W", "K", "mm", "Pa"]), st.integers(1, 3)), max_size=3
    ),
)
def test_products_and_quotients_multiply_factors(over, under):
    text = "*".join(f"{name}{power}" for name, power in over) + "".join(
        f"/{name}{power}" for name, power in under
    )
    expected = 1.0
    for name, power in over:
        expected *= unit(name)[0] ** power
    for name, power in under:
        expected /= unit(name)[0] ** power
    assert unit(text)[0] == pytest.approx(expected, rel=1e-12)


def test_display_is_for_people():
    assert display(308.15, q("degC", "temperature")) == "35 degC"
    assert display(-0.0123, q("mm")) == "−12.3 mm"
    assert display(333.333, q("rpm")) == "20000 rpm"
