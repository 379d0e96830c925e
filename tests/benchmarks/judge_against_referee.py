"""What tells the sets that fall from those that stay: every gate's number against a physics engine,
and those of three retired ones.

    python -m tests.benchmarks.judge_against_referee fresh SEED        generated shapes; a seed looked at is used up
    python -m tests.benchmarks.judge_against_referee demo|scans|known|aside
    python -m tests.benchmarks.judge_against_referee meshes FOLDER     closed meshes, as ceramic 120 mm long
    ... [--only NAME...] [--sets N] --rows FILE.csv                    rows are added to the file

For each object the mount that is proposed first, and near-failures of it that need not pass any gate: one tip taken
away, one or all slid along the surface, all drawn towards their middle, wires a quarter as stiff, the object half as
heavy again or twice as heavy. Of those that forces can balance, but of which any gate or judge is in doubt, N a mount
are drawn by lot, two thirds of them such that every gate but the contact solve passes. Every wire gives by its own
compliance, the faces along it coupled. Each set is shaken at 0.7 of the friction: at 0.25 g; at 0.4 g; at 0.25 g with
the centre of mass off by its stated radius, and with every tip 0.5 mm off either way on the stiffness that is assumed
before a mount is drawn. A row a set; then, for every number, the chance that a set that stays outscores one that falls
(area under the curve; 0.5 tells nothing), with the middle 95 % of 2000 redraws of the objects.
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.files.meshes import load_scan
from scanprep.findings import Verdict
from scanprep.hold import find_holds
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Contact, Hold, TipSet, faces_of
from scanprep.hold.statics.balance import SprungWire, single_wires
from scanprep.hold.statics.contact import shake_withstood
from scanprep.hold.statics.demand import Loads, loads_of
from scanprep.hold.statics.gates import UP, GateResults, contact_limits, judge, margin_g, shaken
from scanprep.hold.statics.preload import preload, redrawn
from scanprep.hold.statics.rocking import rocking
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.hold.strength.stiffness import contact_of, face_compliance, pad_of, wrench_move
from scanprep.hold.strength.wire import stiffness_floor
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from scanprep.survey.records import Survey
from scanprep.vectors import F64, vec3
from tests.benchmarks.family_mounts import labelled
from tests.benchmarks.holds_referee import Subject, subjects
from tests.benchmarks.judge_report import SCORES, TRIALS
from tests.benchmarks.retired_gates import (
    SITS_RATIO,
    GIVE_mm,
    ROCKING_deg,
    SPRUNG_g,
    pads_sit_ratio,
    rocking_deg,
    sprung_margin_g,
)
from tests.referee.arena import grip_of, rule

RULES = Rulebook()
SHAKE_g, BEND_mm = 0.25, 0.5
SLIDES_mm, ALL_SLIDE_mm = (4.0, 8.0, 12.0), (4.0, 7.0, 10.0, 14.0)
DRAWN_IN, SOFTER, HEAVIER = (0.7, 0.45), 4.0, (1.5, 2.0)
BALANCES_g = 0.05
HARDER_g = 0.4
KEPT = ("carried-from-below", "margin", "margin-low-friction", "torque-capacity", "preload")
REDRAWN = 24


@dataclass(frozen=True, slots=True, eq=False)
class Set:
    """A mount's tips to be judged, each wire with its own give."""

    name: str
    tipset: TipSet
    survey: Survey
    gives: tuple[F64, ...]  # (3f, 3f) mm/N of each wire at its faces, pads not counted


def as_tipset(hold: Hold) -> TipSet:
    """The tips of a hold as a set, nothing else of it kept."""
    contacts = tuple(contact_of(tip) for tip in hold.tips)
    return TipSet(hold.attitude, contacts, tuple(t.force_N for t in hold.tips), tuple(t.needed for t in hold.tips),
                  hold.margin_g, hold.margin_low_friction_g, hold.torque_capacity_Nmm, hold.preload_ratio,
                  hold.weight_on_normals_ratio, hold.checks)


def near_failures(hold: Hold, subject: Subject, surface: Surface, rng: np.random.Generator) -> Iterator[Set]:
    """The mount itself and what may be worse than it."""
    tipset = as_tipset(hold)
    gives = tuple(face_compliance(contact_of(tip), tip.arm, hold.hub) for tip in hold.tips)
    proposed = Set("as proposed", tipset, subject.survey, gives)
    yield proposed
    contacts, rotation = tipset.contacts, tipset.attitude.rotation
    for number in range(len(contacts)):
        if len(contacts) > 2:
            rest = tuple(k for k in range(len(contacts)) if k != number)
            yield replace(proposed, name=f"without tip {number + 1}", gives=tuple(gives[k] for k in rest),
                          tipset=replace(tipset, contacts=tuple(contacts[k] for k in rest)))
    for far in SLIDES_mm:
        number = int(rng.integers(len(contacts)))
        moved = slid(contacts[number], surface, rotation, rng.normal(size=3), far)
        if moved is not None:
            yield replace(proposed, name=f"tip {number + 1} slid {far:g} mm", tipset=replace(
                tipset, contacts=tuple(moved if k == number else c for k, c in enumerate(contacts))))
    for far in ALL_SLIDE_mm:
        moves = [slid(contact, surface, rotation, rng.normal(size=3), far * rng.random()) for contact in contacts]
        if all(one is not None for one in moves):
            yield replace(proposed, name=f"all slid up to {far:g} mm", tipset=replace(
                tipset, contacts=tuple(one for one in moves if one is not None)))
    middle = np.mean([contact.point_mm for contact in contacts], axis=0)
    for share in DRAWN_IN:
        ways = [(1 - share) * (middle - np.asarray(contact.point_mm)) for contact in contacts]
        drawn = [slid(contact, surface, rotation, way, float(np.linalg.norm(way)))
                 for contact, way in zip(contacts, ways)]
        if all(one is not None for one in drawn):
            yield replace(proposed, name=f"drawn in to {share:g}", tipset=replace(
                tipset, contacts=tuple(one for one in drawn if one is not None)))
    yield replace(proposed, name=f"{SOFTER:g} times as soft", gives=tuple(SOFTER * give for give in gives))
    for heavy in HEAVIER:
        mass = subject.survey.mass_g.scaled(heavy)
        yield replace(proposed, name=f"{heavy:g} times as heavy", survey=replace(
            subject.survey, mass_g=mass, inertia_g_mm2=heavy * np.asarray(subject.survey.inertia_g_mm2)))


def slid(contact: Contact, surface: Surface, rotation: F64, way: F64, far_mm: float) -> Contact | None:
    """A contact with all its faces moved one way and set down on the surface again; None where there is none."""
    faces = []
    for face in contact.faces:
        point, normal = np.asarray(face.point_mm), np.asarray(face.normal)
        across = way - (way @ normal) * normal
        start = point + far_mm * across / max(float(np.linalg.norm(across)), 1e-9) - 6.0 * normal
        hit = surface.rays.cast((start @ rotation)[None], (normal @ rotation)[None])
        if not np.isfinite(hit.distance_mm[0]) or hit.distance_mm[0] > 14:
            return None
        inward = -(hit.normal[0].astype(np.float64) @ rotation.T)
        if inward @ normal < 0.7:
            return None
        faces.append(replace(face, point_mm=vec3(start + float(hit.distance_mm[0]) * normal),
                             normal=vec3(inward / np.linalg.norm(inward))))
    return replace(contact, point_mm=faces[0].point_mm, normal=faces[0].normal, faces=tuple(faces))


@dataclass(frozen=True, slots=True, eq=False)
class Judged:
    """A set and what the gates say of it."""

    one: Set
    loads: Loads
    grip: ContactWrenches
    gates: GateResults
    draws: list[ContactWrenches]

    @property
    def kept(self) -> bool:
        """Whether the gates that are not on trial pass."""
        return all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in self.gates.checks
                   if check.name in KEPT)


def judged(one: Set, subject: Subject, surface: Surface) -> Judged | None:
    """What the gates say; None where its pads cannot be drawn."""
    loads = loads_of(one.survey, subject.brief, RULES, 0.35)
    loads = replace(loads, spring_N_per_mm=max(loads.spring_N_per_mm, stiffness_floor(one.survey.mass_g.high,
                                                                                      RULES.hold)))
    grip, rotation = grip_of(one.tipset.contacts), one.tipset.attitude.rotation
    radius = np.array([face.radius_mm for c in one.tipset.contacts for face in c.faces])
    try:
        draws = redrawn(grip, radius, surface, rotation, REDRAWN, 3)
    except ArithmeticError:
        return None
    gates = judge(grip, radius, loads, surface, rotation, RULES.hold, 1)
    return Judged(replace(one, tipset=replace(one.tipset, checks=gates.checks)), loads, grip, gates, draws)


def wires_of(one: Set, pads: bool) -> list[SprungWire]:
    """The wires of a set by the numbers of their faces; with their pads, or bare."""
    wires, first = [], 0
    for contact, give in zip(one.tipset.contacts, one.gives):
        gives, faces = give.copy(), faces_of(contact)
        for k, face in enumerate(faces):
            if pads:
                gives[3 * k:3 * k + 3, 3 * k:3 * k + 3] += pad_of(face, contact)[:3, :3]
        wires.append(SprungWire(tuple(range(first, first + len(faces))), gives))
        first += len(faces)
    return wires


def scored(judged: Judged, rotation: F64) -> dict[str, float]:
    """All numbers of a set."""
    one, loads, gates, grip = judged.one, judged.loads, judged.gates, judged.grip
    ratio = RULES.hold.shake_friction_ratio
    hard = shaken(grip, loads.shake_factor)
    real, _ = margin_g(shaken(judged.draws[0].with_friction(ratio * grip.friction), loads.shake_factor), loads.weight_N)
    limits = contact_limits(loads, RULES.hold)
    spin = None if loads.spin_axis is None else rotation @ np.asarray(loads.spin_axis)
    planned = gates.preload.forces_N
    single = single_wires(grip.tips, loads.spring_N_per_mm)
    draws = judged.draws[:RULES.hold.shake_redraws]
    assumed = shake_withstood(draws, planned, single, loads.weight_N, limits, spin, every=False)
    apart = [replace(draw, tip=np.arange(len(draw.tip))) for draw in draws]
    own = shake_withstood(apart, planned, wires_of(one, False), loads.weight_N, limits, spin, every=False)
    seats = [SprungWire((tip,), give[:3, :3]) for tip, give in enumerate(one.gives)]
    by_tip = shake_withstood(draws, planned, seats, loads.weight_N, limits, spin, every=False)
    padded = wires_of(one, True)
    stiff = np.concatenate([np.diag(np.linalg.inv(wire.compliance_mm_per_N[:3, :3])) for wire in padded])
    sprung = preload(grip, loads.weight_N, UP, RULES.hold.preload_ratio)
    return {"carried": gates.carried_ratio, "margin": -1.0 if gates.margin_g is None else gates.margin_g,
            "margin_real": -1.0 if real is None else real, "preload": gates.preload_ratio, "shape": gates.shape_g,
            "s10": pads_sit_ratio(judged.draws, loads.weight_N),
            "rocking": -rocking(grip, loads.weight_N, loads.spring_N_per_mm, loads.margin_low_g).turn_deg,
            "springs": sprung_margin_g(hard, gates.preload, loads.weight_N, GIVE_mm * loads.spring_N_per_mm),
            "rocking_own": -rocking_deg(at_centre(one, padded), loads.weight_N, loads.margin_low_g),
            "springs_own": sprung_margin_g(hard, sprung, loads.weight_N, GIVE_mm * stiff),
            "shake": assumed.shake_g, "standing": assumed.standing_share, "shake_own": own.shake_g,
            "standing_own": own.standing_share, "shake_tip": by_tip.shake_g, "kept": float(judged.kept),
            "passes": float(gates.passes)}


def at_centre(one: Set, padded: Sequence[SprungWire]) -> F64:
    """How the object gives on all wires together at its centre of mass (6, 6), faces pressing at points."""
    points = np.array([face.point_mm for contact in one.tipset.contacts for face in faces_of(contact)])
    stiff = 1e-9 * np.eye(6)
    for wire in padded:
        whole = np.hstack([wrench_move(points[face])[:, :3] for face in wire.tips])
        stiff += whole @ np.linalg.solve(wire.compliance_mm_per_N, whole.T)
    return np.asarray(np.linalg.inv(stiff), dtype=np.float64)


def fates(judged: Judged, surface: Surface, seed: int, trials: Sequence[str]) -> dict[str, str]:
    """How a set fares in each trial; raises ArithmeticError where the engine cannot be set up."""
    one, rng = judged.one, np.random.default_rng(seed)
    mu, tips, wires = 0.7 * one.tipset.contacts[0].friction, len(one.tipset.contacts), wires_of(one, True)
    way = rng.normal(size=3)
    off = one.survey.centre_radius_mm * way / np.linalg.norm(way)
    bent = BEND_mm * rng.choice([-1.0, 1.0], tips)
    assumed = np.tile(judged.loads.spring_N_per_mm * np.eye(3), (tips, 1, 1))
    said = {"friction x 0.7": {"wires": wires}, "0.4 g": {"wires": wires, "shake_g": HARDER_g},
            "centre off": {"wires": wires, "centre_off_mm": off}, "tips off": {"bent_mm": bent, "springs": assumed}}
    fates: dict[str, str] = {}
    for trial in trials:
        ruling = rule(surface, one.survey, one.tipset, friction=mu, **{"shake_g": SHAKE_g, **said[trial]})  # type: ignore[arg-type]
        fates[trial] = str(float(ruling.stayed))
        fates[f"{trial}: moved"] = f"{ruling.settle_mm:.2f} {ruling.drift_mm:.2f} {ruling.turn_deg:.2f}"
    return fates


def in_doubt(judged: Judged, numbers: dict[str, float]) -> bool:
    """Whether any gate, or any of the judges on a mount's own wires, says look or stop."""
    rules, loads = RULES.hold, judged.loads
    return (not judged.gates.passes or min(-numbers["rocking"], -numbers["rocking_own"]) > ROCKING_deg
            or min(numbers["springs"], numbers["springs_own"]) < SPRUNG_g or numbers["s10"] < SITS_RATIO
            or min(numbers["shake_own"], numbers["shake_tip"]) < rules.shake_look_ratio * loads.margin_g)


def rows_of(subject: Subject, holds: Sequence[Hold], count: int, trials: Sequence[str] = TRIALS
            ) -> Iterator[dict[str, object]]:
    """One row for each set drawn of an object's first hold."""
    if not holds:
        return
    surface, rng = Surface.of(subject.working, subject.survey), np.random.default_rng(zlib.crc32(subject.name.encode()))
    doubtful = []
    for one in near_failures(holds[0], subject, surface, rng):
        found = judged(one, subject, surface)
        if found is not None and (found.gates.margin_g or 0.0) >= BALANCES_g and found.gates.preload_ratio > 0:
            numbers = scored(found, holds[0].attitude.rotation)
            if in_doubt(found, numbers):
                doubtful.append((found, numbers))
    order = [int(k) for k in rng.permutation(len(doubtful))]
    first = [k for k in order if doubtful[k][0].kept][:(2 * count + 2) // 3]
    for k in (*first, *[k for k in order if k not in first][:count - len(first)]):
        found, numbers = doubtful[k]
        try:
            yield {"object": subject.name, "set": found.one.name, "family": holds[0].family, **numbers,
                   **fates(found, surface, k, trials)}
        except ArithmeticError:
            continue  # no dense patch under a slid tip


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("kind", choices=("demo", "scans", "fresh", "known", "aside", "meshes"))
    asked.add_argument("of", nargs="*")
    asked.add_argument("--only", nargs="*", default=[])
    asked.add_argument("--sets", type=int, default=4)
    asked.add_argument("--rows", type=Path, default=Path("judge.csv"))
    args = asked.parse_args()
    begun = time.process_time()
    for subject in asked_for(args.kind, args.of):
        if not args.only or subject.name in args.only:
            holds = find_holds(subject.working, subject.survey, subject.brief, RULES).holds
            write(args.rows, rows_of(subject, holds, args.sets))
    print(f"{time.process_time() - begun:.0f} s of CPU")


def asked_for(kind: str, of: Sequence[str]) -> Iterator[Subject]:
    """The objects of a kind."""
    if kind in ("known", "aside"):
        return (one.subject for one in labelled(kind == "aside", []))
    if kind == "meshes":
        return _meshes(Path(of[0]))
    return subjects(kind, int(of[0]) if of else 100)


def _meshes(folder: Path) -> Iterator[Subject]:
    for path in sorted(folder.iterdir()):
        brief = ObjectBrief(number=path.stem, scan=path.name, material="ceramic", sizes=(KnownSize("longest", 120.0),))
        cleaned = clean(load_scan(path, brief, RULES.scan), brief, RULES.scan)
        yield Subject(brief.number, cleaned.working, survey_object(cleaned, brief, RULES), brief)


def write(path: Path, rows: Iterator[dict[str, object]]) -> None:
    """Print rows as they come and add them to a file."""
    for row in rows:
        new = not path.exists()
        with path.open("a", newline="", encoding="utf-8") as out:
            writer = csv.DictWriter(out, list(row))
            if new:
                writer.writeheader()
            writer.writerow(row)
        words = " ".join(f"{key} {row[key]:.2f}" for key in SCORES)
        print(f"{row['object']:20.20s} {row['set']:20s} {words}  "
              + " ".join("stay" if row[t] == "1.0" else "FELL" for t in TRIALS if t in row), flush=True)


if __name__ == "__main__":
    sys.exit(main())
