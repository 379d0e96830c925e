"""What tells the sets that fall from those that stay: every gate's number against a physics engine, in five trials.

    python -m tests.benchmarks.judge_against_referee fresh SEED     generated shapes; a seed looked at is used up
    python -m tests.benchmarks.judge_against_referee demo|scans     ... [--only NAME...] [--rows FILE.csv]

For the first attitude of each object: the hold that is proposed, and near-failures of it that need not pass any gate
(one tip taken away, one tip slid along the surface by 4 to 12 mm, all pads of one side lower). Each is shaken at 0.25 g
plain, at 0.7 of the friction, with the centre of mass off by its stated radius, with tips 0.5 mm off either way, and
with two neighbouring tips on one continuous wire. A row a set; then, for every number, the chance that a set that stays
outscores one that falls (area under the curve; 0.5 tells nothing).
"""

from __future__ import annotations

import argparse
import csv
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from scanprep.hold import find_holds
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Contact, Hold, TipSet
from scanprep.hold.statics.contact import ContactLimits, SprungWire, shake_withstood, single_wires
from scanprep.hold.statics.demand import loads_of
from scanprep.hold.statics.gates import carried_ratio, judge, margin_g, shaken
from scanprep.hold.statics.preload import redrawn
from scanprep.hold.strength.stiffness import contact_of
from scanprep.rules import Rulebook
from scanprep.vectors import F64, vec3
from tests.benchmarks.holds_referee import Subject, subjects
from tests.referee.arena import grip_of, rule

RULES = Rulebook()
SHAKE_g, BEND_mm, COUPLED_SHARE = 0.25, 0.5, 0.8
SLIDES_mm = (4.0, 8.0, 12.0)
TRIALS = ("plain", "friction x 0.7", "centre off", "tips off", "coupled")
SCORES = ("carried", "margin", "margin_real", "preload", "s10", "rocking", "springs", "shake", "standing",
          "shake_coupled")


@dataclass(frozen=True, slots=True, eq=False)
class Set:
    """A set of tips to be judged."""

    name: str
    tipset: TipSet


def as_tipset(hold: Hold) -> TipSet:
    """The tips of a hold as a set, nothing else of it kept."""
    contacts = tuple(contact_of(tip) for tip in hold.tips)
    return TipSet(hold.attitude, contacts, tuple(t.force_N for t in hold.tips), tuple(t.needed for t in hold.tips),
                  hold.margin_g, hold.margin_low_friction_g, hold.torque_capacity_Nmm, hold.preload_ratio, hold.s10,
                  hold.weight_on_normals_ratio, hold.checks)


def near_failures(tipset: TipSet, surface: Surface, seed: int) -> Iterator[Set]:
    """The set itself, with each tip taken away, and with one tip slid along the surface."""
    yield Set("as proposed", tipset)
    rng = np.random.default_rng(seed)
    for number in range(len(tipset.contacts)):
        if len(tipset.contacts) > 3:
            rest = tuple(c for k, c in enumerate(tipset.contacts) if k != number)
            yield Set(f"without tip {number + 1}", replace(tipset, contacts=rest))
    for far in SLIDES_mm:
        number = int(rng.integers(len(tipset.contacts)))
        moved = slid(tipset.contacts[number], surface, tipset.attitude.rotation, far, rng)
        if moved is not None:
            contacts = tuple(moved if k == number else c for k, c in enumerate(tipset.contacts))
            yield Set(f"tip {number + 1} slid {far:g} mm", replace(tipset, contacts=contacts))


def slid(contact: Contact, surface: Surface, rotation: F64, far_mm: float, rng: np.random.Generator) -> Contact | None:
    """A contact with all its faces moved one way and set down on the surface again; None where there is none."""
    way = rng.normal(size=3)
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


def coupled_wires(tips: int, first: int, second: int) -> list[SprungWire]:
    """Two tips on one wire that give together for the most part, the others each on its own; 2 N/mm each alone."""
    give = np.kron(np.array([[1.0, COUPLED_SHARE], [COUPLED_SHARE, 1.0]]), np.eye(3)) / RULES.hold.tip_spring_N_per_mm
    rest = [wire for wire in single_wires(tips, RULES.hold.tip_spring_N_per_mm) if wire.tips[0] not in (first, second)]
    return [SprungWire((first, second), give), *rest]


def scored(one: Set, subject: Subject, surface: Surface) -> tuple[dict[str, float], list[SprungWire]] | None:
    """All numbers of a set, and the wires of its coupled trial; None where its pads cannot be drawn."""
    loads = loads_of(subject.survey, subject.brief, RULES, 0.35)
    grip, rotation = grip_of(one.tipset.contacts), one.tipset.attitude.rotation
    radius = np.array([face.radius_mm for c in one.tipset.contacts for face in c.faces])
    try:
        draws = redrawn(grip, radius, surface, rotation, RULES.hold.shake_redraws, 3)
    except ArithmeticError:
        return None
    gates = judge(grip, radius, loads, surface, rotation, RULES.hold, 1)
    ratio = RULES.hold.shake_friction_ratio
    real, _ = margin_g(shaken(draws[0].with_friction(ratio * grip.friction), loads.shake_factor), loads.weight_N)
    limits = ContactLimits(ratio, RULES.hold.shake_shift_mm, RULES.hold.shake_turn_deg,
                           RULES.hold.shake_settle_ratio, RULES.hold.pad_press_N_per_mm,
                           RULES.hold.shake_stop_ratio * loads.margin_g)
    points = np.array([c.point_mm for c in one.tipset.contacts])
    apart = np.linalg.norm(points[:, None] - points[None], axis=2) + 1e9 * np.eye(len(points))
    first, second = sorted(int(k) for k in np.unravel_index(int(np.argmin(apart)), apart.shape))
    together = coupled_wires(grip.tips, first, second)
    planned = gates.preload.forces_N
    own = shake_withstood(draws, planned, single_wires(grip.tips, loads.spring_N_per_mm), loads.weight_N, limits)
    both = shake_withstood(draws, planned, together, loads.weight_N, limits)
    numbers = {"carried": carried_ratio(grip, loads)[0], "margin": -1.0 if gates.margin_g is None else gates.margin_g,
               "margin_real": -1.0 if real is None else real, "preload": gates.preload_ratio, "s10": gates.s10,
               "rocking": -gates.rocking.turn_deg, "springs": gates.sprung_g, "shake": own.shake_g,
               "standing": own.standing_share, "shake_coupled": both.shake_g,
               "by_shape": float(gates.shape_g >= loads.shape_g), "passes": float(gates.passes)}
    return numbers, together


def fates(one: Set, subject: Subject, surface: Surface, together: Sequence[SprungWire], seed: int) -> dict[str, bool]:
    """Whether the set stays in each trial; raises ArithmeticError where the engine cannot be set up."""
    rng = np.random.default_rng(seed)
    mu, tips = one.tipset.contacts[0].friction, len(one.tipset.contacts)
    way = rng.normal(size=3)
    off = subject.survey.centre_radius_mm * way / np.linalg.norm(way)
    bent = BEND_mm * rng.choice([-1.0, 1.0], tips)
    said = {"plain": {}, "friction x 0.7": {"friction": 0.7 * mu}, "centre off": {"centre_off_mm": off},
            "tips off": {"bent_mm": bent}, "coupled": {"coupled": together}}
    return {trial: rule(surface, subject.survey, one.tipset, shake_g=SHAKE_g, **said[trial]).stayed  # type: ignore[arg-type]
            for trial in TRIALS}


def area(scores: Sequence[float], stays: Sequence[bool]) -> float:
    """The chance that a stay outscores a fall, ties half; nan where all fared alike."""
    up = np.array([s for s, stay in zip(scores, stays) if stay])
    down = np.array([s for s, stay in zip(scores, stays) if not stay])
    if not len(up) or not len(down):
        return float("nan")
    return float(((up[:, None] > down) + 0.5 * (up[:, None] == down)).mean())


def rows_of(subject: Subject) -> Iterator[dict[str, object]]:
    """One row for each set of an object's first hold."""
    found = find_holds(subject.working, subject.survey, subject.brief, RULES)
    if not found.holds:
        return
    surface = Surface.of(subject.working, subject.survey)
    for number, one in enumerate(near_failures(as_tipset(found.holds[0]), surface, 7)):
        judged = scored(one, subject, surface)
        if judged is None:
            continue
        try:
            yield {"object": subject.name, "set": one.name, "family": found.holds[0].family, **judged[0],
                   **fates(one, subject, surface, judged[1], number)}
        except ArithmeticError:
            continue  # no dense patch under a slid tip


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("kind", choices=("demo", "scans", "fresh"))
    asked.add_argument("seed", nargs="?", type=int, default=100)
    asked.add_argument("--only", nargs="*", default=[])
    asked.add_argument("--rows", type=Path)
    args = asked.parse_args()
    begun, rows = time.process_time(), []
    for subject in subjects(args.kind, args.seed):
        if not args.only or subject.name in args.only:
            for row in rows_of(subject):
                rows.append(row)
                words = " ".join(f"{key} {row[key]:.2f}" for key in SCORES)
                print(f"{row['object']:20.20s} {row['set']:20s} {words}  "
                      + " ".join("stay" if row[trial] else "FELL" for trial in TRIALS), flush=True)
    if args.rows and rows:
        with args.rows.open("w", newline="", encoding="utf-8") as out:
            writer = csv.DictWriter(out, list(rows[0]))
            writer.writeheader()
            writer.writerows(rows)
    report(rows)
    print(f"{time.process_time() - begun:.0f} s of CPU")


def report(rows: Sequence[dict[str, object]]) -> None:
    """Print the areas, over all sets and over those that pass every gate."""
    for what, some in (("all sets", rows), ("sets that pass every gate", [row for row in rows if row["passes"]])):
        print(f"\n{what}: {len(some)} of {len({row['object'] for row in some})} objects; fell: "
              + ", ".join(f"{trial} {sum(not row[trial] for row in some)}" for trial in TRIALS))
        for key in SCORES:
            areas = (area([float(row[key]) for row in some], [bool(row[t]) for row in some]) for t in TRIALS)  # type: ignore[arg-type]
            print(f"  {key:14s} " + "  ".join(f"{trial} {value:.2f}" for trial, value in zip(TRIALS, areas)))


if __name__ == "__main__":
    sys.exit(main())
