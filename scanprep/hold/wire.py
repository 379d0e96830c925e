"""Which wire an arm is bent from, and what it does under its tip's force.

Stock sizes come from the rod table (wire gauges), the alloy from the settings: one that bends cold (cartridge brass or
nickel silver), never leaded free-cutting brass. The arms are one frame, held at the end of their laps on the hub and
loaded at the tips: a tip that carries weight may sag little, a retaining tip is a spring and may travel further, and
under a shake no wire yields. mm, N, MPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from scanprep.hold.bends import along
from scanprep.hold.feet import seats_mm
from scanprep.hold.frame import Frame, solve
from scanprep.hold.hub import Root
from scanprep.hold.records import Contact
from scanprep.materials import Metal, metal
from scanprep.settings import HoldSettings
from scanprep.vectors import F64

_STEP_MM = 12.0


@dataclass(frozen=True, slots=True)
class Duty:
    """What an arm bears and how it takes it."""

    stress_MPa: float  # under a shake
    moved_mm: float  # the tip, under its force at rest
    stiffness_N_per_mm: float  # along the contact's normal, the other tips unloaded


def stock_mm(settings: HoldSettings) -> tuple[float, ...]:
    """Return the wire diameters in stock, thinnest first."""
    return _stock(settings.wire_gauges, settings.wire_thickest_mm)


def _stock(labels: tuple[str, ...], thickest_mm: float) -> tuple[float, ...]:
    import csv
    from importlib import resources

    text = resources.files("scanprep.tables").joinpath("rods.csv").read_text(encoding="utf-8")
    sizes = {float(line["diameter_mm"]) for line in csv.DictReader(text.splitlines())
             if line["form"] == "wire" and line["label"] in labels}
    usable = tuple(sorted(size for size in sizes if size <= thickest_mm))
    if not usable:
        raise ValueError(f"no wire in stock: {labels} up to {thickest_mm} mm")
    return usable


def alloy(settings: HoldSettings) -> Metal:
    """Return the wire's alloy."""
    return metal(settings.wire_alloy)


def first_guess_mm(contact: Contact, force_N: float, reach_mm: float, settings: HoldSettings) -> float:
    """Return the thinnest stocked wire that would do as one cantilever of this reach; the thickest where none would."""
    brass = alloy(settings)
    for diameter in stock_mm(settings):
        second = math.pi * diameter**4 / 64
        sag = force_N * reach_mm**3 / (3 * brass.youngs_modulus_MPa * second)
        stress = settings.shake_factor * force_N * reach_mm * diameter / 2 / second
        if sag <= sag_limit_mm(contact, settings) and stress * settings.wire_safety <= brass.yield_hard_MPa:
            return diameter
    return stock_mm(settings)[-1]


def sag_limit_mm(contact: Contact, settings: HoldSettings) -> float:
    """Return how far a tip may move under its force."""
    return settings.bearing_sag_mm if contact.bearing else settings.spring_travel_mm


def judge_wires(paths_mm: list[F64], wires_mm: list[float], roots: tuple[Root, ...], contacts: tuple[Contact, ...],
                forces_N: tuple[float, ...], braces: tuple[tuple[int, int], ...],
                settings: HoldSettings) -> list[Duty]:
    """Return what each arm bears, the arms and braces taken together as one frame.

    paths_mm  the arms' corners, hub first
    forces_N  normal force at each tip at rest; the object pushes the tip along the outward normal
    braces    pairs of arms joined by a cross-wire at the node nearest both (see `brace_points`)
    """
    brass = alloy(settings)
    frame, tips, owners = _frame(paths_mm, wires_mm, roots, contacts, braces, brass)
    count = len(paths_mm)
    loads = np.zeros((len(frame.nodes_mm), 6, count + 1))
    for i, (tip, contact, force) in enumerate(zip(tips, contacts, forces_N)):
        out = -np.asarray(contact.normal)
        loads[tip, :3, i] = out
        loads[tip, :3, count] = out * force
    response = solve(frame, loads)
    duties = []
    for i, (tip, contact) in enumerate(zip(tips, contacts)):
        out = -np.asarray(contact.normal)
        give = float(out @ response.moved_mm[tip, :3, i])
        moved = float(np.linalg.norm(response.moved_mm[tip, :3, count]))
        mine = [m for m, owner in enumerate(owners) if owner == i]
        stress = float(response.stress_MPa[mine, count].max()) * settings.shake_factor
        duties.append(Duty(stress, moved, 1 / max(give, 1e-9)))
    return duties


def _frame(paths_mm: list[F64], wires_mm: list[float], roots: tuple[Root, ...], contacts: tuple[Contact, ...],
           braces: tuple[tuple[int, int], ...], brass: Metal) -> tuple[Frame, list[int], list[int]]:
    nodes: list[F64] = []
    members: list[tuple[int, int]] = []
    diameters, owners, fixed, tips = [], [], [], []
    lines = []
    for i, (path, wire, root) in enumerate(zip(paths_mm, wires_mm, roots)):
        launch = root.start_mm + root.direction * root.lap_mm
        rest = path[1:] if np.linalg.norm(path[1] - launch) > 0.05 else path[2:]
        line = along(np.vstack([launch, rest]), _STEP_MM)
        first = len(nodes)
        lines.append(range(first, first + len(line)))
        nodes.extend(line)
        fixed.append(first)
        seat = seats_mm(contacts[i], wire)[0]
        tips.append(first + 1 + int(np.argmin(np.linalg.norm(line[1:] - seat, axis=1))))
        for k in range(len(line) - 1):
            members.append((first + k, first + k + 1))
            diameters.append(wire)
            owners.append(i)
    for a, b in braces:
        pair = brace_points(np.array([nodes[k] for k in lines[a]]), np.array([nodes[k] for k in lines[b]]))
        members.append((lines[a][pair[0]], lines[b][pair[1]]))
        diameters.append(min(wires_mm[a], wires_mm[b]))
        owners.append(-1)
    held = np.zeros(len(nodes), dtype=bool)
    held[fixed] = True
    frame = Frame(np.array(nodes), np.array(members, dtype=np.int32), np.array(diameters), held,
                  brass.youngs_modulus_MPa, brass.shear_modulus_MPa)
    return frame, tips, owners


def brace_points(line_a_mm: F64, line_b_mm: F64) -> tuple[int, int]:
    """Return the nodes of two arms that a brace joins: each near two thirds of its arm, the pair closest together."""
    from_a = range(max(1, len(line_a_mm) // 2), max(2, len(line_a_mm) - 2))
    from_b = range(max(1, len(line_b_mm) // 2), max(2, len(line_b_mm) - 2))
    pairs = [(float(np.linalg.norm(line_a_mm[a] - line_b_mm[b])), a, b)
             for a in from_a for b in from_b if a < len(line_a_mm) and b < len(line_b_mm)]
    _, a, b = min(pairs)
    return a, b
