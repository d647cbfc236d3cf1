"""After key-off: lumped bodies with exact solutions, buoyant bay ventilation."""

import math
from dataclasses import dataclass

import numpy as np

from heatproof.numerics.compiled import compiled


@compiled
def lumped_temperature(t: float, T0: float, T_ambient: float, tau: float) -> float:
    """Temperature of one lumped body [K] at t [s]: T_a + (T0 - T_a) exp(-t/tau); T [K], tau = m c/(h A) [s].

    Source: Incropera/DeWitt eq. 5.6; Biot number < 0.1.
    """
    return T_ambient + (T0 - T_ambient) * math.exp(-t / tau)


@compiled
def radiative_cooling_time(
    T_start: float, T_end: float, T_sur: float, capacity_over_area: float, eps: float
) -> float:
    """Time for a lumped body to cool by radiation alone [s]; T [K], C/A [J/(m2 K)], eps [-].

    T_sur = 0: C/(3 eps sigma A)(1/T_end^3 - 1/T_start^3); else the closed form in logarithm and arctangent.
    Source: Incropera/DeWitt eqs. 5.18, 5.19.
    """
    sigma = 5.670374419e-8
    if T_sur <= 0.0:
        return float(capacity_over_area / (3.0 * eps * sigma) * (T_end**-3 - T_start**-3))
    s = T_sur
    logs = math.log(abs((s + T_end) / (s - T_end))) - math.log(abs((s + T_start) / (s - T_start)))
    arcs = 2.0 * (math.atan(T_end / s) - math.atan(T_start / s))
    return float(capacity_over_area / (4.0 * eps * sigma * s**3) * (logs + arcs))


@dataclass(frozen=True)
class TwoNodes:
    """Turbine and bearing housing after key-off: C_T, C_B [J/K]; K_TB, K_Ta, K_Ba, K_Bw [W/K]; T_a, T_w [K].

    C_T dT_T/dt = -K_TB (T_T - T_B) - K_Ta (T_T - T_a)
    C_B dT_B/dt = K_TB (T_T - T_B) - K_Ba (T_B - T_a) - K_Bw (T_B - T_w)
    Source: linear two-node balance, exact by eigenvectors.
    """

    C_T: float
    C_B: float
    K_TB: float
    K_Ta: float
    K_Ba: float
    K_Bw: float
    T_a: float
    T_w: float

    def matrix(self) -> np.ndarray:
        """System matrix [1/s], shape [2, 2]. Source: the balance above."""
        return np.array(
            [
                [-(self.K_TB + self.K_Ta) / self.C_T, self.K_TB / self.C_T],
                [self.K_TB / self.C_B, -(self.K_TB + self.K_Ba + self.K_Bw) / self.C_B],
            ]
        )

    def eigenvalues(self) -> np.ndarray:
        """Both decay rates [1/s], slow one first. Source: the balance above."""
        return np.sort(np.linalg.eigvals(self.matrix()).real)[::-1]

    def temperatures(self, t: np.ndarray, T_T: float, T_B: float) -> np.ndarray:
        """Temperatures [K] of turbine and bearing housing, shape [2, n], at times t [s] [n] from a start [K].

        Source: exact eigen solution.
        """
        A = self.matrix()
        drive = np.array(
            [self.K_Ta * self.T_a / self.C_T, (self.K_Ba * self.T_a + self.K_Bw * self.T_w) / self.C_B]
        )
        steady = np.linalg.solve(A, -drive)
        rate, shape = np.linalg.eig(A)
        weight = np.linalg.solve(shape, np.array([T_T, T_B]) - steady)
        return steady[:, None] + shape @ (weight[:, None] * np.exp(rate[:, None] * np.asarray(t)))

    def bearing_peak(self, T_T: float, T_B: float, horizon: float = 7200.0) -> tuple[float, float]:
        """Peak of the bearing housing [K] and its time [s] within the horizon [s].

        Source: exact solution, peak by golden refinement of a 1 s grid.
        """
        t = np.arange(0.0, horizon, 1.0)
        i = int(np.argmax(self.temperatures(t, T_T, T_B)[1]))
        fine = np.linspace(max(t[i] - 1.0, 0.0), t[i] + 1.0, 2001)
        T = self.temperatures(fine, T_T, T_B)[1]
        j = int(np.argmax(T))
        return float(T[j]), float(fine[j])


@compiled
def time_to_peak(tau_source: float, tau_receiver: float) -> float:
    """Time of the peak of a receiver heated by a decaying source [s]; time constants [s].

    t = ln(tau1/tau2) tau1 tau2/(tau1 - tau2); equal ones: tau. Source: two first-order lags in series.
    """
    if abs(tau_source - tau_receiver) < 1e-9 * tau_source:
        return tau_source
    return math.log(tau_source / tau_receiver) * tau_source * tau_receiver / (tau_source - tau_receiver)


@compiled
def buoyant_flow(rho: float, Cd: float, area: float, height: float, dT: float, T_ambient: float) -> float:
    """Mass flow through a warm space by its own buoyancy [kg/s]: rho Cd A sqrt(2 g H dT/T_a).

    rho [kg/m3], Cd [-], effective opening A [m2], height between openings H [m], dT [K], T_a [K].
    Source: stack effect, Bernoulli between two openings.
    """
    if dT <= 0.0 or height <= 0.0:
        return 0.0
    return rho * Cd * area * math.sqrt(2.0 * 9.80665 * height * dT / T_ambient)


@compiled
def semi_infinite_temperature(x: float, t: float, T0: float, T_surface: float, alpha: float) -> float:
    """Temperature at depth x [m] and t [s] of a thick wall whose surface jumps to T_surface [K], alpha
    [m2/s].

    (T - T_s)/(T0 - T_s) = erf(x/(2 sqrt(alpha t))). Source: Incropera/DeWitt eq. 5.57.
    """
    return T_surface + (T0 - T_surface) * math.erf(x / (2.0 * math.sqrt(alpha * t)))
