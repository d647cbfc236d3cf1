"""Short random duties: idle, cruise, grade, stop and go, pulls, laps, a trace; each with key-off and soak or without."""

from typing import Any

from pen import Pen, text, word
from sketch import Sketch

Section = dict[str, Any]
KINDS = ("idle", "cruise", "grade", "crawl", "pulls", "lap", "trace")


def duty(pen: Pen, s: Sketch, name: str) -> Section:
    """One duty of 1 to 10 minutes in all."""
    kind = pen.pick(KINDS)
    weather = {
        "ambient": f"{pen.whole(-10, 48)} degC",
        "altitude": f"{100 * pen.whole(0, 25)} m",
        "humidity": f"{pen.whole(5, 90)} %",
        "sun": f"{50 * pen.whole(0, 20)} W/m2",
        "wind": f"{pen.whole(0, 20)} km/h",
    }
    start = (
        {"cold": "true"}
        if pen.flip()
        else {"speed": f"{pen.whole(20, 110)} km/h", "settle": f"{pen.whole(1, 10)} min"}
    )
    return {
        "name": name,
        "air": weather,
        "air_conditioning": word(s.air_conditioning and pen.flip()),
        "start": start,
        "drive": drive(pen, s, kind),
        "idle_before_key_off": f"{pen.pick((0, 20))} s",
        "soak": f"{pen.pick((0, 60, 300))} s",
    }


def drive(pen: Pen, s: Sketch, kind: str) -> Section:
    """A drive of its kind."""
    seconds = f"{pen.whole(30, 200)} s"
    if kind == "idle":
        return {"kind": "cruise", "speed": "0 km/h", "duration": seconds}
    if kind == "cruise":
        return {"kind": kind, "speed": f"{pen.whole(30, 160)} km/h", "duration": seconds}
    if kind == "grade":
        steep = {"speed": f"{pen.whole(30, 110)} km/h", "grade": f"{pen.whole(-4, 12)} %"}
        return {"kind": kind, **steep, "duration": seconds, "added_mass": f"{pen.whole(0, 500)} kg"}
    if kind == "crawl":
        return {"kind": kind, "speed": "14 km/h", "moving": "12 s", "standing": "20 s", "duration": seconds}
    if kind == "pulls":
        return {
            "kind": kind,
            "gear": str(pen.whole(2, 4)),
            "from_speed": "2200 rpm",
            "to_speed": f"{s.speed} rpm",
            "rest": f"{pen.whole(5, 30)} s",
            "rest_speed": "60 km/h",
            "count": str(pen.whole(1, 4)),
        }
    if kind == "lap":
        return {"kind": kind, "duration": seconds, "lap": [stretch(pen, k) for k in range(pen.whole(2, 6))]}
    times = [0, 20, 45, 70, 100]
    return {
        "kind": kind,
        "time": [f"{t} s" for t in times],
        "speed": [f"{pen.whole(0, 120)} km/h" for _ in times],
        "grade": [f"{pen.whole(-5, 8)} %" for _ in times],
    }


def stretch(pen: Pen, k: int) -> Section:
    """Straights and corners in turn."""
    if k % 2 == 0:
        return {"straight": text(pen.number(80, 600), "m")}
    return {"radius": text(pen.number(20, 120), "m"), "length": text(pen.number(30, 200), "m")}
