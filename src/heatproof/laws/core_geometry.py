"""Geometry of charge coolers and radiators, turned into sides for `core.core_side`. All lengths [m]."""

from dataclasses import dataclass

from heatproof.laws.core import Side, SurfaceLaw
from heatproof.laws.ducts import channel_j_f
from heatproof.laws.fin_surfaces import (
    louver_diameter,
    louver_f,
    louver_j,
    offset_strip_diameter,
    offset_strip_f,
    offset_strip_j,
)
from heatproof.laws.kays_london import surface, surface_j_f

K_ALUMINIUM = 180.0
"""Conductivity of brazed aluminium fins [W/(m K)], 150-200 (handbook, from memory)."""


@dataclass(frozen=True)
class OffsetStrip:
    """Offset strip fin: pitch, plate spacing, fin thickness, strip length [m]."""

    pitch: float
    spacing: float
    thickness: float
    strip: float


@dataclass(frozen=True)
class PlainFin:
    """Plain rectangular fin: pitch, plate spacing, thickness [m]."""

    pitch: float
    spacing: float
    thickness: float


@dataclass(frozen=True)
class TabulatedFin:
    """A plate-fin surface of `kays_london` by name."""

    name: str


PlateFin = OffsetStrip | PlainFin | TabulatedFin


@dataclass(frozen=True)
class BarAndPlate:
    """Bar-and-plate core: width along the charge flow, height of the stack, depth along the air flow [m];
    fins of both sides, plate thickness [m], conductivity of the metal [W/(m K)]."""

    width: float
    height: float
    depth: float
    charge: PlateFin
    air: PlateFin
    plate: float = 0.5e-3
    fin_k: float = K_ALUMINIUM

    def layers(self) -> float:
        """Number of charge passages = air passages [-], not rounded. Source: stack geometry."""
        return self.height / (_spacing(self.charge) + _spacing(self.air) + 2.0 * self.plate)

    def charge_side(self) -> Side:
        """Charge-air side [Side, SI]. Source: stack geometry and the fin's law."""
        return _plate_fin_side(
            self.charge, self.layers(), self.depth, self.width, self.height * self.depth, self.fin_k
        )

    def air_side(self) -> Side:
        """Cooling-air side [Side, SI]. Source: stack geometry and the fin's law."""
        return _plate_fin_side(
            self.air, self.layers(), self.width, self.depth, self.height * self.width, self.fin_k
        )


def _spacing(fin: PlateFin) -> float:
    if isinstance(fin, TabulatedFin):
        spacing = surface(fin.name).spacing
        if spacing is None:
            raise ValueError(f"surface {fin.name!r} is not a plate-fin surface")
        return spacing
    return fin.spacing


def _plate_fin_side(
    fin: PlateFin, layers: float, across: float, length: float, frontal: float, fin_k: float
) -> Side:
    """Side of `layers` passages, `across` wide, `length` long; frontal area of the whole core [m2]."""
    b = _spacing(fin)
    volume = layers * across * length * b
    if isinstance(fin, TabulatedFin):
        s = surface(fin.name)
        if s.beta is None or s.fin_share is None or s.thickness is None:
            raise ValueError(f"surface {fin.name!r} has no plate-fin geometry")
        area = s.beta * volume
        free, share, t, Dh = s.Dh * area / (4.0 * length), s.fin_share, s.thickness, s.Dh
    else:
        t, gap, h = fin.thickness, fin.pitch - fin.thickness, b - fin.thickness
        cells = layers * across / fin.pitch
        free = cells * gap * h
        area = cells * length * 2.0 * (gap + h)
        share = h / (gap + h)
        if isinstance(fin, OffsetStrip):
            Dh = offset_strip_diameter(gap, h, t, fin.strip)
            area = 4.0 * free * length / Dh
        else:
            Dh = 2.0 * gap * h / (gap + h)
    return Side(area, free, frontal, Dh, length, share, 0.5 * b, t, fin_k, _plate_fin_law(fin, Dh / length))


def _plate_fin_law(fin: PlateFin, diameter_over_length: float) -> SurfaceLaw:
    if isinstance(fin, TabulatedFin):
        return lambda Re, Pr: surface_j_f(Re, fin.name)
    s, h = fin.pitch - fin.thickness, fin.spacing - fin.thickness
    if isinstance(fin, OffsetStrip):
        shape = (s / h, fin.thickness / fin.strip, fin.thickness / s)
        return lambda Re, Pr: (offset_strip_j(Re, *shape), offset_strip_f(Re, *shape))
    aspect = min(s, h) / max(s, h)
    return lambda Re, Pr: channel_j_f(Re, Pr, aspect, diameter_over_length)


@dataclass(frozen=True)
class TubeAndFin:
    """Flat-tube radiator with louvered fins. Face width (along the tubes) and height, core depth [m];
    tube height (outside), tube wall, tube depth (outside width of one tube), rows of tubes, passes of the
    coolant;
    fin pitch, fin thickness, louver pitch, louver angle [deg], louver length as a share of the fin length
    [-].
    """

    width: float
    height: float
    depth: float
    tube_height: float
    tube_wall: float
    fin_length: float
    fin_pitch: float
    fin_thickness: float = 0.1e-3
    louver_pitch: float = 1.2e-3
    louver_angle: float = 27.0
    louver_share: float = 0.85
    passes: int = 1
    fin_k: float = K_ALUMINIUM

    @property
    def tube_pitch(self) -> float:
        """Distance between tube centres [m]. Source: geometry."""
        return self.fin_length + self.tube_height

    def tubes(self) -> float:
        """Number of tubes one above the other [-], not rounded. Source: geometry."""
        return self.height / self.tube_pitch

    def air_side(self) -> Side:
        """Air side with louvered fins [Side, SI]; the law takes Re on Dh.

        Source: Chang and Wang, Chang et al.
        """
        Fp, Fl, t = self.fin_pitch, self.fin_length, self.fin_thickness
        cells = (self.tubes() + 1.0) * self.width / Fp
        free = cells * (Fp - t) * (Fl - t)
        fins = cells * 2.0 * Fl * self.depth
        tubes = self.tubes() * 2.0 * self.width * self.depth * (Fp - t) / Fp
        Dh = louver_diameter(Fp, Fl, t)
        area = fins + tubes
        frontal = self.width * (self.height + self.fin_length)
        return Side(
            area, free, frontal, Dh, self.depth, fins / area, 0.5 * Fl, t, self.fin_k, self._louver_law(Dh)
        )

    def _louver_law(self, Dh: float) -> SurfaceLaw:
        Lp, Fl, Tp = self.louver_pitch, self.fin_length, self.tube_pitch
        louver = self.louver_share * Fl
        to_louver = Lp / Dh

        def law(Re: float, Pr: float) -> tuple[float, float]:
            R = Re * to_louver
            j = louver_j(
                R, self.louver_angle, self.fin_pitch, Lp, Fl, self.depth, louver, Tp, self.fin_thickness
            )
            f = louver_f(
                R,
                self.louver_angle,
                self.fin_pitch,
                Lp,
                Fl,
                self.depth,
                louver,
                Tp,
                self.tube_height,
                self.fin_thickness,
            )
            return j, f

        return law

    def coolant_side(self) -> Side:
        """Coolant side of plain flat tubes [Side, SI]. Source: rectangular duct laws of `ducts`."""
        inner_h = self.tube_height - 2.0 * self.tube_wall
        inner_w = self.depth - 2.0 * self.tube_wall
        per_pass = self.tubes() / self.passes
        free = per_pass * inner_h * inner_w
        length = self.width * self.passes
        area = per_pass * 2.0 * (inner_h + inner_w) * length
        Dh = 2.0 * inner_h * inner_w / (inner_h + inner_w)
        aspect, end = inner_h / inner_w, Dh / self.width
        frontal = per_pass * self.tube_pitch * self.depth
        return Side(
            area,
            free,
            frontal,
            Dh,
            length,
            0.0,
            0.0,
            self.tube_wall,
            self.fin_k,
            lambda Re, Pr: channel_j_f(Re, Pr, aspect, end),
        )
