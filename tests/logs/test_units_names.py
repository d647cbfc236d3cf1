"""Units and names as loggers write them. Conversion factors: SI brochure and NIST SP 811 appendix B."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heatproof.logs.reading.log_units import UNITS, mend_text, parse_unit
from heatproof.logs.reading.names import guess_name, split_unit
from heatproof.logs.reading.quantities import TABLE

# (text, number, SI value): NIST SP 811 (2008) appendix B.8 for psi, inHg, lb, mile, ft·lbf; exact for the
# rest.
CASES = [
    ("°C", 25, 298.15), ("Â°C", 25, 298.15), ("Ã‚Â°C", 25, 298.15), ("ºC", 25, 298.15), ("degC", 25, 298.15),
    ("[°C]", 25, 298.15), ("°C °C", 25, 298.15), ("°C°C", 25, 298.15), ("deg. C", 25, 298.15),
    ("Celcius", 25, 298.15),
    ("celsuis", 25, 298.15), ("?C", 25, 298.15), ("\ufffdC", 25, 298.15), ("℃", 25, 298.15),
    ("°F", 77, 298.15),
    ("Farenheit", 77, 298.15), ("K", 300, 300), ("kPa", 101.325, 101325), ("KPA", 100, 1e5),
    ("[kPa](kPa)", 100, 1e5),
    ("psi", 14.695949, 101325), ("psig", 1, 6894.757), ("mbar", 1013.25, 101325), ("bar", 1, 1e5),
    ("inHg", 1, 3386.389),
    ("km/h", 36, 10), ("kmh", 36, 10), ("KPH", 36, 10), ("km\\h", 36, 10), ("mph", 1, 0.44704),
    ("knots", 1, 0.5144444),
    ("RPM", 60, 1), ("1/min", 60, 1), ("U/min", 60, 1), ("min-1", 60, 1), ("g/s", 1, 1e-3),
    ("gm/sec", 1, 1e-3),
    ("lb/min", 1, 7.559873e-3), ("kg/h", 3600, 1), ("%", 50, 0.5), ("pct", 50, 0.5), ("ms", 1, 1e-3),
    ("Sec", 1, 1),
    ("lb-ft", 1, 1.355818), ("hp", 1, 745.6999), ("km", 1, 1000), ("V", 1, 1), ("deg", 180, 3.14159265),
]  # fmt: skip


@pytest.mark.parametrize(("text", "number", "si"), CASES)
def test_units(text, number, si):
    unit = parse_unit(text)
    assert unit is not None
    assert unit.to_si(number) == pytest.approx(si, rel=1e-6)


@pytest.mark.parametrize("text", ["", "   ", "[]", "()", "banana", "km/banana", "°"[:0]])
def test_no_unit(text):
    assert parse_unit(text) is None


def test_repairs_are_marked():
    assert not parse_unit("°C").repaired
    assert not parse_unit("kPa").repaired
    assert parse_unit("Â°C").repaired
    assert parse_unit("Celcius").repaired
    assert parse_unit("psig").gauge


@given(st.text(max_size=40))
def test_any_text_is_survived(text):
    unit, guess, (name, unit_text) = parse_unit(text), guess_name(text), split_unit(text)
    assert unit is None or unit.name in UNITS
    assert guess.column == text
    assert (guess.quantity is None) == (guess.sure == "none")
    assert guess.quantity is None or guess.quantity in TABLE
    assert not set(mend_text(text)) & set("\ufeff\xa0\x00")
    assert len(name) + len(unit_text) <= len(text)


NAMES = {
    "Engine Coolant Temperature [°C]": "coolant_temperature", "ECT": "coolant_temperature",
    "CLT": "coolant_temperature",
    "Water temp": "coolant_temperature", "engin coolent temprature": "coolant_temperature",
    "Intake Air Temperature [°C]": "intake_temperature", "IAT (°C)": "intake_temperature",
    "Manifold Air Temp": "intake_temperature", "Intake Manifold Absolute Pressure [kPa]": "manifold_pressure",
    "MAP": "manifold_pressure", "Boost (psi)": "boost_pressure", "Engine RPM [RPM]": "engine_speed",
    "rpm": "engine_speed", "EngineSpeed": "engine_speed", "Vehicle Speed Sensor [km/h]": "vehicle_speed",
    "GPS Speed (km/h)": "gps_speed", "Air Flow Rate from Mass Flow Sensor [g/s]": "air_flow",
    "MAF g/s": "air_flow",
    "Absolute Throttle Position [%]": "throttle", "TPS": "throttle",
    "Accelerator Pedal Position D [%]": "pedal",
    "Ambient Air Temperature [°C]": "ambient_temperature", "Outside temp": "ambient_temperature",
    "EGT (°C)": "exhaust_temperature", "Exhaust Gas Temp": "exhaust_temperature",
    "Oil Temp": "oil_temperature",
    "Oil [kPa]": "oil_pressure", "Oil pressure (bar)": "oil_pressure", "Lambda": "lambda",
    "Intercooler out temp": "charge_out_temperature", "Charge cooler in temp": "charge_in_temperature",
    "Latitude": "gps_latitude", "GPS Longitude": "gps_longitude", "Baro": "ambient_pressure",
    "Radiator out temp": "radiator_out_temperature", "ENGINE_RUN_TINE": "run_time", "Battery Voltage":
    "voltage",
    "Gearbox temp": "transmission_temperature", "Under bonnet temp": "bay_air_temperature",
    "Time (s)": "time",
    "oil_temp_degC": "oil_temperature", "Calculated Load": "engine_load",
}  # fmt: skip


@pytest.mark.parametrize(("name", "quantity"), NAMES.items())
def test_names(name, quantity):
    """Names met in open logs or common in the trade (common practice, no source)."""
    guess = guess_name(name)
    assert guess.quantity is not None
    assert guess.quantity.key == quantity


@pytest.mark.parametrize("name", ["channel 7", "foo", "", "xyz [°C]", "AIN3 [V]"])
def test_unknown_names_stay_unknown(name):
    assert guess_name(name).quantity is None


def test_misspelt_names_are_less_sure():
    assert guess_name("Engine coolant temp [°C]").sure == "exact"
    assert guess_name("Engin coolent temp [°C]").sure == "near"


@pytest.mark.parametrize(
    ("text", "name", "unit"),
    [("Oil T [°C]", "Oil T", "°C"), ("Oil T (degC)", "Oil T", "degC"), ("Oil T ()", "Oil T", ""),
        ("rpm", "rpm", ""),
     ("Speed, km/h", "Speed", "km/h"), ("Pos (left)", "Pos (left)", "")],
)  # fmt: skip
def test_split_unit(text, name, unit):
    assert split_unit(text) == (name, unit)
