"""Which wire an arm is bent from, and what it does under its tip's force.

Stock sizes come from the rod table (wire gauges), the alloy from the rulebook: one that bends cold (cartridge brass or
nickel silver), never leaded free-cutting brass. The arms are one frame, held at the end of their laps on the hub and
loaded at the tips: a tip that carries weight may sag little, a retaining tip is a spring and may travel further, and
under a shake no wire yields. mm, N, MPa.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.fine import weight_class
from scanprep.hold.places.obstacle import lengths
from scanprep.hold.records import Contact, FlatBar, Ring, Thin
from scanprep.hold.strength.frame import Frame, solve
from scanprep.hold.wires.brace import Brace
from scanprep.hold.wires.hub import Root
from scanprep.hold.wires.rings import ring_path
from scanprep.hold.wires.wire_ends import seats_mm
from scanprep.materials import Metal, metal
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

_LEVEL = np.array([1.0, 0.0, 0.0])  # exact: the way in which a flat bar is wide
_HOLDS = 3  # exact: the corner of a brace's path at which it holds its arm
_BRACE_RELIEF = HoldRules().brace_relief_ratio  # a wire may be this much thinner than it should be alone


@dataclass(frozen=True, slots=True)
class WireLoading:
    """What an arm bears and how it takes it."""

    stress_MPa: float  # under a shake
    moved_mm: float  # the tip along its normal, under its force at rest
    stiffness_N_per_mm: float  # along the contact's normal, the other tips unloaded


def stock_mm(rules: HoldRules) -> tuple[float, ...]:
    """Return the wire diameters in stock, thinnest first."""
    return _stock(rules.wire_gauges, rules.wire_thickest_mm, "wire", "C26000")


def for_weight(rules: HoldRules, mass_g: float) -> HoldRules:
    """Return the rules with the wires that suit an object's weight in stock: none finer than it should hang in.

    Wire follows the weight: a thing of a few grams hangs in 24 or 22 gauge, which would look and feel too slight under
    a heavier one however strong it is. Where the shop stocks nothing thick enough, all that it has.
    """
    least = rules.fine_wires_mm[weight_class(mass_g, rules)] - 0.01
    kept = tuple(label for label in rules.wire_gauges if _stock((label,), np.inf, "wire", "C26000")[0] >= least)
    return replace(rules, wire_gauges=kept) if kept else rules


def stock_above(wire_mm: float, rules: HoldRules) -> float:
    """Return the thinnest wire in stock that is at least so thick; the thickest where none is."""
    stock = stock_mm(rules)
    return next((size for size in stock if size >= wire_mm - 0.01), stock[-1])


def stems_mm(rules: HoldRules) -> tuple[float, ...]:
    """Return the rod diameters that heavy objects' arms may be bent from, thinnest first; may be none."""
    return _stock(rules.stem_rods, 6.5, "round rod", "C26000") if rules.stem_rods else ()


@functools.cache
def _stock(labels: tuple[str, ...], thickest_mm: float, form: str, metal_word: str) -> tuple[float, ...]:
    import csv
    from importlib import resources

    text = resources.files("scanprep.tables").joinpath("rods.csv").read_text(encoding="utf-8")
    sizes = {float(line["diameter_mm"]) for line in csv.DictReader(text.splitlines())
             if line["form"] == form and line["label"] in labels and metal_word in line["material"]}
    usable = tuple(sorted(size for size in sizes if size <= thickest_mm))
    if not usable:
        raise ValueError(f"no {form} in stock: {labels} up to {thickest_mm} mm")
    return usable


def alloy(rules: HoldRules) -> Metal:
    """Return the wire's alloy."""
    return metal(rules.wire_alloy)


def stiffness_floor(mass_g: float, rules: HoldRules) -> float:
    """Return the least stiffness of an arm at its tip, N/mm: k = m (2 pi f)^2 at the least frequency wanted.

    As if the object hung on one arm alone; never less than a wire needs to keep its shape in the hand.

    >>> round(stiffness_floor(250.0, HoldRules()), 2)
    0.99
    """
    return max(rules.arm_stiffness_least_N_per_mm,
               mass_g * 1e-6 * (2 * math.pi * rules.arm_frequency_Hz) ** 2)


def stiffness_floors(contacts: Sequence[Contact], mass_g: float, rules: HoldRules) -> list[float]:
    """Return the least stiffness of each arm: its share of the object at the arms' least frequency.

    Those that carry share it among themselves, those that keep have the share of one arm among all.
    """
    carry = sum(contact.bearing for contact in contacts)
    return [stiffness_floor(mass_g / max(carry if contact.bearing else len(contacts), 1), rules)
            for contact in contacts]


def first_guess_mm(contact: Contact, force_N: float, reach_mm: float, rules: HoldRules,
                   floor_N_per_mm: float) -> float:
    """Return the stocked wire that would do as one cantilever of this reach: see `wanted_mm`."""
    brass, thin = alloy(rules), stock_mm(rules)[0]
    second = math.pi * thin**4 / 64
    sag = force_N * reach_mm**3 / (3 * brass.youngs_modulus_MPa * second)
    stress = shaken_N(contact, force_N, rules) * reach_mm * thin / 2 / second
    return wanted_mm(thin, WireLoading(stress, sag, force_N / max(sag, 1e-9)), contact, rules, floor_N_per_mm)


def shaken_N(contact: Contact, force_N: float, rules: HoldRules) -> float:
    """The tip's force under a shake: as the tips share it where that is known, else a multiple of that at rest."""
    return rules.shake_factor * force_N if contact.shaken_N is None else contact.shaken_N


def wanted_mm(wire_mm: float, duty: WireLoading, contact: Contact, rules: HoldRules, floor_N_per_mm: float,
              *, rods: bool = False) -> float:
    """Return the thinnest stock that would be strong and stiff enough where this wire bears this duty.

    Stress falls with the third power of the diameter, give with the fourth. For stiffness alone no more than the
    thickest wire is taken (a brace does the rest); for strength a rod, where braced wire would not do.

    rods  take a rod for stiffness too: what braces can do is in the duty already
    """
    by_stress = wire_mm * (duty.stress_MPa * rules.wire_safety / alloy(rules).yield_hard_MPa) ** (1 / 3)
    soft = max(duty.moved_mm / sag_limit_mm(contact, rules), floor_N_per_mm / duty.stiffness_N_per_mm)
    by_give = wire_mm * soft**0.25
    stock, stems = stock_mm(rules), stems_mm(rules)
    for diameter in stock:
        if diameter >= max(by_stress, by_give) * 0.999:
            return diameter
    if rods and by_give > stock[-1]:
        return next((d for d in stems if d >= max(by_stress, by_give) * 0.999), (*stock, *stems)[-1])
    return next((d for d in stems if d >= by_stress * 0.999), stems[-1] if stems else stock[-1]) \
        if by_stress > stock[-1] * _BRACE_RELIEF else stock[-1]


def sag_limit_mm(contact: Contact, rules: HoldRules) -> float:
    """Return how far a tip may move under its force."""
    return rules.bearing_sag_mm if contact.bearing else rules.spring_travel_mm


def judge_wires(paths_mm: list[F64], wires_mm: list[float], roots: tuple[Root, ...], contacts: tuple[Contact, ...],
                forces_N: tuple[float,
                                ...], rules: HoldRules, braces: Sequence[Brace | None] = (),
                thins: Sequence[Thin | None] = (), stems_wide_mm: Sequence[float] = ()) -> list[WireLoading]:
    """Return what each arm bears: held fast at the end of its lap, loaded at its seat along the outward normal.

    paths_mm   the arms' corners, hub first
    forces_N   normal force at each tip at rest
    braces     one an arm, None where it has none; nothing at all where no arm has
    thins      the same for ends of thinner wire
    stems_wide_mm  width of the stems that are flat bar, 0 of the others
    """
    duties = []
    for i, (path, wire, root, contact, force) in enumerate(zip(paths_mm, wires_mm, roots, contacts, forces_N)):
        brace = braces[i] if braces else None
        thin = thins[i] if thins else None
        end_mm = wire if thin is None else thin.wire_mm
        rings = () if contact.ring is None else (ring_path(contact, end_mm),)
        frame, (tip,) = arm_frame(path, wire, root.start_mm + root.direction * root.lap_mm,
                                  seats_mm(contact, end_mm)[:1], alloy(rules),
                                  () if brace is None else (brace.path_mm,), rings, thin, contact.flat,
                                  stems_wide_mm[i] if stems_wide_mm else 0.0, contact.ring)
        out = -np.asarray(contact.normal)
        loads = np.zeros((len(frame.nodes_mm), 6, 1))
        loads[tip, :3, 0] = out
        response = solve(frame, loads)  # linear: a newton tells all
        give = max(float(out @ response.moved_mm[tip, :3, 0]), 1e-9)
        stress = float(response.stress_MPa[:, 0].max()) * shaken_N(contact, force, rules)
        duties.append(WireLoading(stress, give * force, 1 / give))
    return duties


def arm_frame(path_mm: F64, wire_mm: float, launch_mm: F64, places_mm: F64, brass: Metal,
              braces_mm: Sequence[F64] = (), rings_mm: Sequence[F64] = (), thin: Thin | None = None,
              flat: FlatBar | None = None, stem_wide_mm: float = 0.0, round_it: Ring | None = None
              ) -> tuple[Frame, tuple[int, ...]]:
    """Return an arm with its braces as a frame, and the node at each of some places along it.

    path_mm    (k, 3) its corners, hub first
    launch_mm  (3,) the end of its lap, held fast
    places_mm  (p, 3) on its centre line or beside it: its seats
    braces_mm  paths of further wires (k, 3), k >= 4: lap on the hub, run, lap on the arm; beyond that they lie beside
               the arm, soldered to it, and double it
    rings_mm   paths of wires round the object (k, 3), soldered to the arm's end
    thin       the arm's end, and its rings, are of thinner wire
    flat       all of it is flat bar, wire_mm thick, its lip narrower
    stem_wide_mm  the stem of an arm with a thin end is flat bar so wide, wire_mm thick
    round_it   what the rings go along: where that is strip they are flat members, wide along the object

    A brace is taken to meet the arm's own centre line at their joint: a triangle more slender than the real one.
    """
    rest = path_mm[1:] if np.linalg.norm(path_mm[1] - launch_mm) > 0.05 else path_mm[2:]
    line = np.vstack([launch_mm, rest])
    ends = [line, *rings_mm]
    held_at = [place for brace in braces_mm for place in (brace[_HOLDS], *brace[_HOLDS + 1:][-1:])]
    for place in (*places_mm, *held_at, *(line[-1] for _ in rings_mm)):
        near = _nearest_line(ends, place)
        ends[near] = _with_node(ends[near], place)[0]
    if rings_mm:  # a ring takes its node where the stem meets it
        ends[1:] = [_with_node(ring, line[-1])[0] for ring in ends[1:]]
    line = ends[0]
    offsets = np.cumsum([0, *(len(end) for end in ends)])
    count = int(offsets[-1])
    members = [(first + k, first + k + 1) for first, end in zip(offsets, ends) for k in range(len(end) - 1)]
    for first, ring in zip(offsets[1:], ends[1:]):
        joint = int(first) + _with_node(ring, line[-1])[1]
        members = [(len(line) - 1 if a == joint else a, len(line) - 1 if b == joint else b) for a, b in members]
    members += [(count + k, _with_node(line, brace[_HOLDS])[1]) for k, brace in enumerate(braces_mm)]
    held = np.zeros(count + len(braces_mm), dtype=bool)
    held[0] = True
    held[count:] = True
    nodes = np.vstack([*ends, *(brace[1] for brace in braces_mm)])
    loose = np.setdiff1d(np.arange(len(nodes)), np.array(members).ravel())
    held[loose] = True  # the ring's own node at the joint stands for nothing
    thick = np.full(len(members), wire_mm)
    if thin is not None:
        begins = _with_node(line, path_mm[thin.corner])[1]
        thick[begins:len(line) - 1] = thin.wire_mm
        thick[len(line) - 1:sum(len(end) - 1 for end in ends)] = thin.wire_mm
    beside, wide = _beside(line, braces_mm, len(members)), None
    if flat is not None:
        beside, wide = np.tile(_LEVEL, (len(members), 1)), np.full(len(members), flat.wide_mm)
        wide[_with_node(line, path_mm[-2])[1]:] = flat.lip_mm
    elif stem_wide_mm and (thin is not None or round_it is not None):
        ends_at = len(line) - 1 if thin is None else begins
        wide = np.where(np.arange(len(members)) < ends_at, stem_wide_mm, 0.0)
        beside = np.where(wide[:, None] > 0, _LEVEL, 0.0)
    if round_it is not None and round_it.strip is not None and rings_mm:
        of_ring = slice(len(line) - 1, sum(len(end) - 1 for end in ends))
        thick[of_ring] = round_it.strip.thick_mm
        beside = np.zeros((len(members), 3)) if beside is None else beside
        wide = np.zeros(len(members)) if wide is None else wide
        wide[of_ring] = round_it.strip.wide_mm
        beside[of_ring] = _wide_along(np.array([nodes[list(pair)] for pair in members[of_ring]]), round_it)
    frame = Frame(nodes, np.array(members, dtype=np.int32), thick, held, brass.youngs_modulus_MPa,
                  brass.shear_modulus_MPa, beside, wide)
    return frame, tuple(_node_at(ends, offsets, place, loose, len(line) - 1) for place in places_mm)


def _wide_along(runs_mm: F64, ring: Ring) -> F64:
    """Which way a strip round the object is wide along each of its members (m, 2, 3): across them, along the skin."""
    middles = runs_mm.mean(axis=1)
    nearest = np.linalg.norm(middles[:, None] - ring.points_mm, axis=2).argmin(axis=1)
    wide = np.cross(runs_mm[:, 1] - runs_mm[:, 0], ring.outward[nearest])
    return np.asarray(wide / np.linalg.norm(wide, axis=1)[:, None])


def _beside(line: F64, braces_mm: Sequence[F64], members: int) -> F64 | None:
    """Which way the wire beside each doubled member of an arm lies, (m, 3); None where none is doubled."""
    longer = [brace for brace in braces_mm if len(brace) > _HOLDS + 1]
    if not longer:
        return None
    ways = np.zeros((members, 3))
    for brace in longer:
        twin = brace[_HOLDS:]
        for k in range(_with_node(line, twin[0])[1], _with_node(line, twin[-1])[1]):
            middle, run = (line[k] + line[k + 1]) / 2, line[k + 1] - line[k]
            gaps, places = _gaps_mm(twin, middle)
            way = places[int(np.argmin(steady(gaps)))] - middle
            way = way - (way @ run) / (run @ run) * run
            ways[k] = way / np.linalg.norm(way)
    return ways


def _node_at(ends: list[F64], offsets: NDArray[np.int64], place: F64, loose: NDArray[np.int64], joint: int) -> int:
    near = _nearest_line(ends, place)
    node = int(offsets[near]) + _with_node(ends[near], place)[1]
    return joint if node in loose else node


def _nearest_line(lines: Sequence[F64], place: F64) -> int:
    """Which polyline passes nearest to a place."""
    gaps = [_gaps_mm(line, place)[0].min() for line in lines] if len(lines) > 1 else [0.0]
    return int(np.argmin(steady(np.array(gaps))))


def _with_node(line: F64, point_mm: F64) -> tuple[F64, int]:
    """A line with a node at the place nearest a point, and which node that is."""
    gaps, places = _gaps_mm(line, point_mm)
    nearest = int(np.argmin(steady(gaps)))
    at = places[nearest]
    ends = np.linalg.norm(line[nearest:nearest + 2] - at, axis=1)
    if float(ends.min()) < 0.05:
        return line, nearest + int(np.argmin(ends))
    return np.concatenate([line[:nearest + 1], at[None], line[nearest + 1:]]), nearest + 1


def _gaps_mm(line: F64, point_mm: F64) -> tuple[F64, F64]:
    """How far a point is from each straight run of a line (k - 1,), and the run's place nearest to it (k - 1, 3)."""
    start, along = line[:-1], np.diff(line, axis=0)
    share = np.einsum("kx,kx->k", point_mm - start, along) / np.einsum("kx,kx->k", along, along)
    places = start + np.clip(share, 0.0, 1.0)[:, None] * along
    return lengths(places - point_mm), places
