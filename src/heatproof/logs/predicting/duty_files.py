"""A logged drive as files of a project: its trace and its duty."""

import json

from heatproof.kit.records.variant import Variant
from heatproof.logs.predicting.logged_duty import LoggedDuty


def trace_csv(logged: LoggedDuty, variant: Variant) -> str:
    """The columns of the drive, one row a second, as a trace file of the project."""
    columns = {"speed [km/h]": logged.speed * 3.6}
    if logged.engine_speed is not None:
        columns["engine_speed [rpm]"] = logged.engine_speed * 60.0
    if logged.air is not None and logged.engine_speed is not None:
        columns["power [kW]"] = logged.power(variant) / 1e3
    if logged.grade is not None:
        columns["grade [%]"] = logged.grade * 100.0
    table = [x[: logged.key_off] for x in columns.values()]
    lines = [",".join(["time [s]", *columns])]
    lines += [",".join([str(k), *(f"{x[k]:.3f}" for x in table)]) for k in range(logged.key_off)]
    return "\n".join(lines) + "\n"


def duty_yaml(logged: LoggedDuty, *, trace: str, source: str, use: str = "test day") -> str:
    """The duty's file."""
    air, start = logged.weather, logged.start
    pressure = f", pressure: {air.pressure / 1e3:.2f} kPa absolute" if air.pressure is not None else ""
    weather = (
        f"ambient: {air.ambient - 273.15:.2f} degC, altitude: {air.altitude:.0f} m{pressure}, "
        f"humidity: {air.humidity * 100:.0f} %, sun: {air.sun:.0f} W/m2"
    )
    begin = (
        "cold: true"
        if start.cold
        else f"speed: {start.speed * 3.6:.1f} km/h, settle: {start.settle / 60:.0f} min"
    )
    added = f", added_mass: {logged.day.added_mass:.0f} kg" if logged.day.added_mass else ""
    name, note = json.dumps(logged.name, ensure_ascii=False), json.dumps(f"As logged in {source}.")
    return f"""format: heatproof duty 1
name: {name}
use: {use}
note: {note}
air: {{{weather}}}
air_conditioning: {str(logged.day.air_conditioning).lower()}
start: {{{begin}}}
drive: {{kind: trace, file: {trace}{added}}}
soak: {logged.soak:.0f} s
"""
