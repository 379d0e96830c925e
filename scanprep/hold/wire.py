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

from scanprep.hold.feet import seats_mm
from scanprep.hold.frame import Frame, solve
from scanprep.hold.hub import Root
from scanprep.hold.records import Contact
from scanprep.materials import Metal, metal
from scanprep.settings import HoldSettings
from scanprep.vectors import F64


@dataclass(frozen=True, slots=True)
class Duty:
    """What an arm bears and how it takes it."""

    stress_MPa: float  # under a shake
    moved_mm: float  # the tip along its normal, under its force at rest
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
                forces_N: tuple[float, ...], settings: HoldSettings) -> list[Duty]:
    """Return what each arm bears: held fast at the end of its lap, loaded at its seat along the outward normal.

    paths_mm   the arms' corners, hub first
    forces_N   normal force at each tip at rest
    """
    duties = []
    for path, wire, root, contact, force in zip(paths_mm, wires_mm, roots, contacts, forces_N):
        frame, tip = _frame(path, wire, root, contact, alloy(settings))
        out = -np.asarray(contact.normal)
        loads = np.zeros((len(frame.nodes_mm), 6, 1))
        loads[tip, :3, 0] = out
        response = solve(frame, loads)  # linear: a newton tells all
        give = max(float(out @ response.moved_mm[tip, :3, 0]), 1e-9)
        stress = float(response.stress_MPa[:, 0].max()) * force * settings.shake_factor
        duties.append(Duty(stress, give * force, 1 / give))
    return duties


def _frame(path: F64, wire: float, root: Root, contact: Contact, brass: Metal) -> tuple[Frame, int]:
    """An arm as a frame, and the node at its seat."""
    launch = root.start_mm + root.direction * root.lap_mm
    rest = path[1:] if np.linalg.norm(path[1] - launch) > 0.05 else path[2:]
    line = np.vstack([launch, rest])
    seat = seats_mm(contact, wire)[0]
    runs = range(len(line) - 1)
    nearest = min(runs, key=lambda k: float(np.linalg.norm(_on_run(seat, line[k], line[k + 1]) - seat)))
    at = _on_run(seat, line[nearest], line[nearest + 1])
    ends = np.linalg.norm(line[nearest:nearest + 2] - at, axis=1)
    if float(ends.min()) < 0.05:
        tip = nearest + int(np.argmin(ends))
    else:
        line, tip = np.insert(line, nearest + 1, at, axis=0), nearest + 1
    held = np.zeros(len(line), dtype=bool)
    held[0] = True
    members = np.column_stack([np.arange(len(line) - 1), np.arange(1, len(line))]).astype(np.int32)
    frame = Frame(line, members, np.full(len(members), wire), held, brass.youngs_modulus_MPa, brass.shear_modulus_MPa)
    return frame, tip


def _on_run(point_mm: F64, a: F64, b: F64) -> F64:
    """The point of a straight run nearest another point."""
    along = b - a
    t = float(np.clip((point_mm - a) @ along / (along @ along), 0.0, 1.0))
    return np.asarray(a + t * along, dtype=np.float64)
