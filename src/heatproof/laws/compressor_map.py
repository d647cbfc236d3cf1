"""A compressor map: speed lines in, a regular table of efficiency, speed and flag out.

Between speed lines and along them the map is read in a monotone parameter (surge 0, choke 1), never by
straight
interpolation in flow and pressure ratio. Outside the measured lines the table continues by similarity and
says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator

from heatproof.laws.turbo import ReferenceState
from heatproof.numerics.compiled import compiled

INSIDE, SURGE, CHOKE, BELOW, ABOVE = 0, 1, 2, 3, 4
"""Flags of the table: inside the lines, left of surge, right of choke, under the lowest, over the highest."""

_ALONG = 41


@dataclass(frozen=True)
class SpeedLine:
    """One corrected speed [rev/s] with points from surge to choke: corrected flow [kg/s], PR_tt [-], eta_tt
    [-].
    """

    speed: float
    flow: tuple[float, ...]
    pressure_ratio: tuple[float, ...]
    efficiency: tuple[float, ...]


@dataclass(frozen=True)
class MapTable:
    """Regular table over corrected flow [kg/s] and pressure ratio [-]; arrays [n_flow, n_pr]."""

    flow: np.ndarray
    pressure_ratio: np.ndarray
    efficiency: np.ndarray
    speed: np.ndarray
    flag: np.ndarray
    reference: ReferenceState

    def at(self, flow: float, pressure_ratio: float) -> tuple[float, float, int]:
        """Efficiency [-], corrected speed [rev/s] and flag at corrected flow [kg/s], PR [-].

        Source: the table.
        """
        return map_lookup(
            flow, pressure_ratio, self.flow, self.pressure_ratio, self.efficiency, self.speed, self.flag
        )


def _along(line: SpeedLine, flow_span: float, pr_span: float) -> np.ndarray:
    """Flow, PR, eta at equal steps of normalised arc length, shape [3, _ALONG]."""
    x = np.array([line.flow, line.pressure_ratio, line.efficiency], dtype=float)
    step = np.hypot(np.diff(x[0]) / flow_span, np.diff(x[1]) / pr_span)
    s = np.concatenate([[0.0], np.cumsum(step)]) / step.sum()
    return np.asarray(PchipInterpolator(s, x, axis=1)(np.linspace(0.0, 1.0, _ALONG)))


def _check(lines: Sequence[SpeedLine]) -> None:
    if len(lines) < 2:
        raise ValueError(f"a map needs at least two speed lines, got {len(lines)}")
    for line in lines:
        if not len(line.flow) == len(line.pressure_ratio) == len(line.efficiency) >= 3:
            raise ValueError(f"speed line {line.speed:g} rev/s needs three or more full points")
        if np.any(np.diff(line.flow) <= 0.0):
            raise ValueError(f"speed line {line.speed:g} rev/s: flow must rise from surge to choke")
        if min(line.efficiency) <= 0.0 or max(line.efficiency) >= 1.0 or min(line.pressure_ratio) <= 1.0:
            raise ValueError(
                f"speed line {line.speed:g} rev/s: efficiency in 0..1 and PR above 1 are required"
            )


def map_sheet(lines: Sequence[SpeedLine], n_speed: int = 81) -> tuple[np.ndarray, np.ndarray]:
    """Dense sheet of the map: speeds [n_speed] [rev/s] and flow [kg/s], PR [-], eta [-] as [3, n_speed, 41].

    Monotone cubic interpolation between lines at equal surge-to-choke parameter.
    Source: common practice of map reading (monotone parameter), interpolation by Fritsch and Carlson.
    """
    _check(lines)
    ordered = sorted(lines, key=lambda line: line.speed)
    flow_span = max(line.flow[-1] for line in ordered)
    pr_span = max(max(line.pressure_ratio) for line in ordered) - 1.0
    stack = np.array([_along(line, flow_span, pr_span) for line in ordered])
    speeds = np.array([line.speed for line in ordered])
    dense = np.linspace(speeds[0], speeds[-1], n_speed)
    return dense, np.moveaxis(PchipInterpolator(speeds, stack, axis=0)(dense), 1, 0)


def _coefficient(flow: np.ndarray, pr: np.ndarray) -> np.ndarray:
    """Flow over root of isentropic head: constant along similar operating points."""
    return np.asarray(flow / np.sqrt(np.maximum(pr, 1.0 + 1e-6) ** (0.4 / 1.4) - 1.0))


def _similar(line: np.ndarray, speed: float, flow: float, pr: float) -> tuple[float, float, float]:
    """Efficiency, speed and place (0 surge .. 1 choke; outside beyond) of the similar point on one line."""
    phi = _coefficient(line[0], line[1])
    phi = np.maximum.accumulate(phi + 1e-12 * np.arange(len(phi)))
    here = float(_coefficient(np.array(flow), np.array(pr)))
    s = np.interp(here, phi, np.arange(len(phi)))
    on_line = float(np.interp(s, np.arange(len(phi)), line[0]))
    place = -1.0 if here < phi[0] else 2.0 if here > phi[-1] else float(s) / (len(phi) - 1)
    return float(np.interp(s, np.arange(len(phi)), line[2])), speed * flow / on_line, place


def _row(sheet: np.ndarray, speeds: np.ndarray, pr: float) -> np.ndarray:
    """Crossings of every dense speed line with one PR: flow, eta, speed, sorted by flow, shape [3, k]."""
    found = []
    for i, speed in enumerate(speeds):
        flow, ratio, eta = sheet[:, i]
        top = int(np.argmax(ratio))
        falling = ratio[top:]
        if falling[-1] <= pr <= falling[0]:
            s = np.interp(-pr, -falling, np.arange(top, len(ratio)))
            found.append(
                (np.interp(s, np.arange(len(ratio)), flow), np.interp(s, np.arange(len(ratio)), eta), speed)
            )
    return np.array(sorted(found)).T if found else np.empty((3, 0))


def tabulate_map(
    lines: Sequence[SpeedLine], reference: ReferenceState, n_flow: int = 81, n_pr: int = 61
) -> MapTable:
    """Regular lookup table of a compressor map over corrected flow [kg/s] and PR [-], for the solver.

    Outside the lines: below the lowest and above the highest by similarity (flow over root of head
    constant, speed
    with flow); left of surge and right of choke the edge value of the row; each flagged.
    Source: `map_sheet`; similarity of turbomachines at small Mach number.
    """
    speeds, sheet = map_sheet(lines)
    flow = np.linspace(0.0, 1.1 * sheet[0].max(), n_flow)
    ratios = np.linspace(1.0, 1.0 + 1.1 * (sheet[1].max() - 1.0), n_pr)
    eta, speed = np.zeros((n_flow, n_pr)), np.zeros((n_flow, n_pr))
    flag = np.zeros((n_flow, n_pr), dtype=np.int64)
    for j, pr in enumerate(ratios):
        row = _row(sheet, speeds, pr)
        for i, m in enumerate(flow):
            eta[i, j], speed[i, j], flag[i, j] = _cell(row, sheet, speeds, float(m), float(pr))
    return MapTable(flow, ratios, eta, speed, flag, reference)


def _cell(
    row: np.ndarray, sheet: np.ndarray, speeds: np.ndarray, m: float, pr: float
) -> tuple[float, float, int]:
    if row.shape[1] > 1 and row[0, 0] <= m <= row[0, -1]:
        return float(np.interp(m, row[0], row[1])), float(np.interp(m, row[0], row[2])), INSIDE
    m, pr = max(m, 1e-6), max(pr, 1.0 + 1e-4)
    low_eta, low_speed, low_place = _similar(sheet[:, 0], speeds[0], m, pr)
    if low_speed < speeds[0] and 0.0 <= low_place <= 1.0:
        return low_eta, low_speed, BELOW
    top_eta, top_speed, top_place = _similar(sheet[:, -1], speeds[-1], m, pr)
    if top_speed > speeds[-1] and 0.0 <= top_place <= 1.0:
        return top_eta, top_speed, ABOVE
    nearest = top_eta if top_speed > speeds[-1] else low_eta
    left = (low_place if m < sheet[0, 0, -1] else top_place) < 0.0
    if row.shape[1] > 1:
        left = m < row[0, 0]
        edge = 0 if left else -1
        return float(row[1, edge]), float(row[2, edge]), SURGE if left else CHOKE
    return nearest, top_speed if top_speed > speeds[-1] else low_speed, SURGE if left else CHOKE


@compiled
def map_lookup(
    flow: float,
    pressure_ratio: float,
    flow_axis: np.ndarray,
    pr_axis: np.ndarray,
    efficiency: np.ndarray,
    speed: np.ndarray,
    flag: np.ndarray,
) -> tuple[float, float, int]:
    """Efficiency [-], corrected speed [rev/s] and flag by bilinear lookup; corrected flow [kg/s], PR [-].

    Axes are regular; outside them the edge is held. The flag is that of the nearest node.
    Source: bilinear interpolation.
    """
    n, k = flow_axis.size, pr_axis.size
    x = (flow - flow_axis[0]) / (flow_axis[1] - flow_axis[0])
    y = (pressure_ratio - pr_axis[0]) / (pr_axis[1] - pr_axis[0])
    x = min(max(x, 0.0), n - 1.0)
    y = min(max(y, 0.0), k - 1.0)
    i, j = min(int(x), n - 2), min(int(y), k - 2)
    u, v = x - i, y - j
    w00, w10, w01, w11 = (1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v
    eta = w00 * efficiency[i, j] + w10 * efficiency[i + 1, j]
    eta += w01 * efficiency[i, j + 1] + w11 * efficiency[i + 1, j + 1]
    rev = w00 * speed[i, j] + w10 * speed[i + 1, j] + w01 * speed[i, j + 1] + w11 * speed[i + 1, j + 1]
    return eta, rev, flag[int(x + 0.5), int(y + 0.5)]
