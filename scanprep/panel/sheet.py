"""A tall clear sheet as a beam and as a twisting strip: how it bends, leans, sways and buckles.

One upright strip of the panel's width, from the floor up, in short elements: bending stiffness, the softening by the
weight above (P-delta), a foot that may turn, a top that may be held. The same elements with other stiffnesses give its
twisting (Vlasov: warping and Saint-Venant torsion). y up from the sheet's foot. N, mm, MPa, g.

        top  o   <- held or free
             |
             |   <- moments of the objects' weight, offset from the mid-plane
             |
        foot T   <- clamped, or a spring that lets it turn
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.post.beam import assembled, beam_element, mass_element
from scanprep.units import G_M_S2
from scanprep.vectors import F64

ELEMENTS = 32  # tolerance: 70 mm each up a tall panel, far shorter than any of the modes asked for


@dataclass(frozen=True, slots=True)
class Ends:
    """How the strip is held."""

    foot_spring: float | None  # None: cannot turn; else N mm per rad (bending)
    foot_pinned: bool = False  # turns freely
    top_held: bool = False  # cannot move sideways


@dataclass(frozen=True, slots=True)
class Sheet:
    """A rectangular sheet standing on its short side."""

    width_mm: float
    thickness_mm: float
    height_mm: float
    modulus_MPa: float
    poisson: float
    density_g_mm3: float

    @property
    def inertia_mm4(self) -> float:
        """Second moment of area in bending out of plane, b t^3 / 12."""
        return self.width_mm * self.thickness_mm**3 / 12

    @property
    def modulus_mm3(self) -> float:
        """Section modulus, b t^2 / 6."""
        return self.width_mm * self.thickness_mm**2 / 6

    @property
    def torsion_mm4(self) -> float:
        """Saint-Venant torsion constant of a rectangle, b t^3/3 (1 - 0.63 t/b + 0.052 (t/b)^5) (Roark, table 10.1)."""
        ratio = self.thickness_mm / self.width_mm
        return self.width_mm * self.thickness_mm**3 / 3 * (1 - 0.63 * ratio + 0.052 * ratio**5)

    @property
    def warping_mm6(self) -> float:
        """Warping constant of a thin rectangle, b^3 t^3 / 144."""
        return (self.width_mm * self.thickness_mm) ** 3 / 144

    @property
    def shear_modulus_MPa(self) -> float:
        """E / (2 (1 + nu))."""
        return self.modulus_MPa / (2 * (1 + self.poisson))

    @property
    def mass_g(self) -> float:
        """The sheet alone."""
        return self.density_g_mm3 * self.width_mm * self.thickness_mm * self.height_mm

    @property
    def line_g_mm(self) -> float:
        """Mass per height."""
        return self.mass_g / self.height_mm

    @property
    def polar_line_g_mm(self) -> float:
        """Rotary inertia about the upright axis per height, rho t b (b^2 + t^2)/12."""
        return self.line_g_mm * (self.width_mm**2 + self.thickness_mm**2) / 12


@dataclass(frozen=True, slots=True)
class PointMass:
    """Something fixed to the sheet: an object with its mount. x from the middle of the width."""

    y_mm: float
    x_mm: float
    offset_mm: float  # centre of mass from the mid-plane, + in front of face A
    mass_g: float


def _shapes(share: float, length: float) -> tuple[F64, F64]:
    """Return the element's shape functions and their slopes at a share of its length."""
    s = share
    values = np.array([1 - 3 * s**2 + 2 * s**3, length * (s - 2 * s**2 + s**3), 3 * s**2 - 2 * s**3,
                       length * (s**3 - s**2)])
    slopes = np.array([(-6 * s + 6 * s**2) / length, 1 - 4 * s + 3 * s**2, (6 * s - 6 * s**2) / length,
                       3 * s**2 - 2 * s])
    return values, slopes


class Strip:
    """The sheet cut into elements, with what hangs on it; assembled once, asked several times."""

    def __init__(self, sheet: Sheet, masses: tuple[PointMass, ...], ends: Ends) -> None:
        self.sheet, self.masses, self.ends = sheet, masses, ends
        self.length = sheet.height_mm / ELEMENTS
        self._stiff: dict[tuple[float | None, bool], F64] = {}  # as asked for before
        self._mass: F64 | None = None

    def _place(self, y_mm: float) -> tuple[slice, F64, F64]:
        index = min(max(int(y_mm / self.length), 0), ELEMENTS - 1)
        values, slopes = _shapes(y_mm / self.length - index, self.length)
        return slice(2 * index, 2 * index + 4), values, slopes

    def _pressed_N(self, y_mm: float) -> float:
        above = self.sheet.line_g_mm * (self.sheet.height_mm - y_mm)
        above += sum(mass.mass_g for mass in self.masses if mass.y_mm > y_mm)
        return above * 1e-3 * G_M_S2

    def _free(self) -> list[int]:
        fixed = {0}
        if self.ends.foot_spring is None and not self.ends.foot_pinned:
            fixed.add(1)
        if self.ends.top_held:
            fixed.add(2 * ELEMENTS)
        return [i for i in range(2 * ELEMENTS + 2) if i not in fixed]

    def bending_stiffness(self, modulus_MPa: float | None = None, *, weight: bool = True) -> F64:
        """Return the assembled stiffness in bending; `weight` includes the softening by what presses down."""
        known = self._stiff.get((modulus_MPa, weight))
        if known is not None:
            return known
        bend = (modulus_MPa or self.sheet.modulus_MPa) * self.sheet.inertia_mm4
        pulls = [-self._pressed_N((i + 0.5) * self.length) if weight else 0.0 for i in range(ELEMENTS)]
        stiff = assembled([beam_element(self.length, bend, pull) for pull in pulls])
        if self.ends.foot_spring is not None:
            stiff[1, 1] += self.ends.foot_spring
        self._stiff[modulus_MPa, weight] = stiff
        return stiff

    def bending_mass(self) -> F64:
        """Return the assembled mass in bending, objects riding at their place with their offset."""
        if self._mass is not None:
            return self._mass
        mass = assembled([mass_element(self.length, self.sheet.line_g_mm)] * ELEMENTS)
        for item in self.masses:
            at, values, slopes = self._place(item.y_mm)
            mass[at, at] += item.mass_g * (np.outer(values, values) + item.offset_mm**2 * np.outer(slopes, slopes))
        self._mass = mass
        return mass

    def torsion_stiffness(self, modulus_MPa: float | None = None) -> F64:
        """Return the assembled stiffness in twisting: warping bends, Saint-Venant pulls."""
        share = (modulus_MPa or self.sheet.modulus_MPa) / self.sheet.modulus_MPa
        warp = share * self.sheet.modulus_MPa * self.sheet.warping_mm6
        twist = share * self.sheet.shear_modulus_MPa * self.sheet.torsion_mm4
        stiff = assembled([beam_element(self.length, warp, twist)] * ELEMENTS)
        if self.ends.foot_spring is not None:
            # a foot that turns under bending lets each edge turn by its own share: k b^2/12
            stiff[1, 1] += self.ends.foot_spring * self.sheet.width_mm**2 / 12
        return stiff

    def torsion_mass(self) -> F64:
        """Return the assembled rotary mass about the upright middle line."""
        mass = assembled([mass_element(self.length, self.sheet.polar_line_g_mm)] * ELEMENTS)
        for item in self.masses:
            at, values, _ = self._place(item.y_mm)
            mass[at, at] += item.mass_g * (item.x_mm**2 + item.offset_mm**2) * np.outer(values, values)
        return mass

    def _solve(self, stiff: F64, load: F64) -> F64:
        free = self._free()
        moved = np.zeros(len(load))
        moved[free] = np.linalg.solve(stiff[np.ix_(free, free)], load[free])
        return moved

    def buckling_share(self, modulus_MPa: float | None = None) -> float:
        """Return how many times today's weight the strip could carry before it falls over by itself."""
        from scipy.linalg import eigh

        free = self._free()
        plain = self.bending_stiffness(modulus_MPa, weight=False)
        softening = plain - self.bending_stiffness(modulus_MPa)
        return float(1 / eigh(softening[np.ix_(free, free)], plain[np.ix_(free, free)], eigvals_only=True)[-1])

    def load(self, moments: bool = True, push_N: float = 0.0, push_at_mm: float = 0.0) -> F64:
        """Return the nodal loads of the objects' weight (as moments) and of a horizontal push."""
        load = np.zeros(2 * ELEMENTS + 2)
        if moments:
            for item in self.masses:
                at, _, slopes = self._place(item.y_mm)
                load[at] += item.mass_g * 1e-3 * G_M_S2 * item.offset_mm * slopes
        if push_N:
            at, values, _ = self._place(push_at_mm)
            load[at] += push_N * values
        return load

    def twist_load(self, push_N: float = 0.0, push_at_mm: float = 0.0) -> F64:
        """Return the twisting loads: weight hung beside the middle, and a push at the edge."""
        load = np.zeros(2 * ELEMENTS + 2)
        for item in self.masses:
            at, _, slopes = self._place(item.y_mm)
            load[at] += item.mass_g * 1e-3 * G_M_S2 * item.offset_mm * item.x_mm * slopes
        if push_N:
            at, values, _ = self._place(push_at_mm)
            load[at] += push_N * self.sheet.width_mm / 2 * values
        return load

    def bent_mm(self, load: F64, modulus_MPa: float | None = None, *, weight: bool = True) -> F64:
        """Return deflections and slopes of every node, (2n,), under nodal loads."""
        return self._solve(self.bending_stiffness(modulus_MPa, weight=weight), load)

    def twisted_rad(self, load: F64, modulus_MPa: float | None = None) -> F64:
        """Return twist and its slope at every node, (2n,)."""
        return self._solve(self.torsion_stiffness(modulus_MPa), load)

    def foot_moment_Nmm(self, load: F64, moved: F64, modulus_MPa: float | None = None) -> float:
        """Return the moment the floor fixing has to carry: the loads', and the weights' once the sheet leans."""
        if self.ends.foot_spring is not None:
            return float(self.ends.foot_spring * moved[1])
        if self.ends.foot_pinned:
            return 0.0
        return float(load[1] - self.bending_stiffness(modulus_MPa)[1] @ moved)

    def greatest_moment_Nmm(self, moved: F64, modulus_MPa: float | None = None, *, free_per_mm: float = 0.0) -> float:
        """Return the greatest bending moment up the sheet, from the curvature at both ends of every element.

        free_per_mm  curvature that the sheet would take without any moment, such as by one warm face
        """
        bend, length = (modulus_MPa or self.sheet.modulus_MPa) * self.sheet.inertia_mm4, self.length
        ends = np.array([[-6, -4 * length, 6, -2 * length], [6, 2 * length, -6, 4 * length]]) / length**2
        return max(float(abs(bend * (ends @ moved[2 * i : 2 * i + 4] - free_per_mm)).max()) for i in range(ELEMENTS))

    def frequencies_Hz(self, count: int = 3, *, twisting: bool = False, weight: bool = True) -> tuple[float, ...]:
        """Return the lowest frequencies in bending, or in twisting."""
        from scipy.linalg import eigh

        free = np.ix_(self._free(), self._free())
        stiff = self.torsion_stiffness() if twisting else self.bending_stiffness(weight=weight)
        mass = self.torsion_mass() if twisting else self.bending_mass()
        values = eigh(stiff[free], mass[free], eigvals_only=True, subset_by_index=[0, count - 1])
        return tuple(float(math.sqrt(max(0.0, value) * 1e6) / (2 * math.pi)) for value in values)
