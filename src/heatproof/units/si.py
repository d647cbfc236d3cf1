"""Factors to SI, so that code can say `40 * mm` or `6000 * rpm` (rotation is in rev/s)."""

percent = 1e-2
mm, cm, km = 1e-3, 1e-2, 1e3
mm2, cm2 = 1e-6, 1e-4
cm3, litre = 1e-6, 1e-3
gram = 1e-3
minute, hour = 60.0, 3600.0
rpm = 1 / 60.0
km_h = 1 / 3.6
litre_min = litre / minute
kW, MW = 1e3, 1e6
kPa, bar = 1e3, 1e5
MJ = 1e6


def degC(celsius: float) -> float:
    """Temperature in K from degrees Celsius."""
    return celsius + 273.15
