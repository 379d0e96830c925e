"""The gates against the physics engine, over the demo's finds, the real scans, or shapes that nothing was tuned on.

    python -m tests.benchmarks.holds_referee demo            every find of sample_meshes
    python -m tests.benchmarks.holds_referee scans           the real scans, where they lie (SCANPREP_SCANS)
    python -m tests.benchmarks.holds_referee fresh SEED      eighteen generated shapes; a seed looked at is used up
    ... --shipped                judge the chosen holds, mounts and all, instead of the tips first offered; each tip
                                 on 2 N/mm all round, on its own arm as it is bent, on that arm bent wrong by 0.1 mm and
                                 by 0.5 mm (all tips at once, too far in or out by lot), and ten times as soft

For every attitude the first set of tips that passes all gates is shaken at 0.2 g from all six sides. For the first
attitude that has one, each necessary tip is taken away in turn; and one tip at a time is moved, near by or anywhere,
so that sets below the gates are judged too. Prints a row an object and the confusion table of gates against referee.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.files.checklist import read_checklist
from scanprep.files.meshes import load_scan
from scanprep.findings import Verdict
from scanprep.hold import find_holds, propose_attitudes
from scanprep.hold.find import find_tips
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Attitude, Hold, TipSet
from scanprep.hold.search.greedy import Found
from scanprep.hold.search.offers import Search, SearchContext, study
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey import survey_object
from scanprep.survey.records import Survey
from tests.referee.arena import Ruling, arm_springs, rule
from tests.scans import SCANS

SETTINGS = Rulebook()
SAMPLES = Path(__file__).resolve().parents[2] / "sample_meshes"
MOVED = 3  # sets with one tip moved, judged an object


@dataclass(frozen=True, slots=True, eq=False)
class Subject:
    """One object, measured."""

    name: str
    working: WorkingMesh
    survey: Survey
    brief: ObjectBrief


def subjects(kind: str, seed: int) -> Iterator[Subject]:
    """The objects of a kind."""
    if kind == "demo":
        briefs = [(brief, SAMPLES / brief.scan) for brief in read_checklist(SAMPLES / "checklist.csv")]
    elif kind == "scans":
        briefs = [(real.brief, real.path) for real in SCANS]
    else:
        yield from _fresh(seed)
        return
    for brief, path in briefs:
        cleaned = clean(load_scan(path, brief, SETTINGS.scan), brief, SETTINGS.scan)
        yield Subject(brief.number, cleaned.working, survey_object(cleaned, brief, SETTINGS), brief)


def _fresh(seed: int) -> Iterator[Subject]:
    from tests.fresh_shapes import fresh_shapes
    from tests.shapes import scan_of

    for shape in fresh_shapes(seed):
        cleaned = clean(scan_of(shape.vertices_mm, shape.faces), shape.brief, SETTINGS.scan)
        name = shape.name if shape.holdable else f"{shape.name} (meant not to be held)"
        yield Subject(name, cleaned.working, survey_object(cleaned, shape.brief, SETTINGS), shape.brief)


def passes(tipset: TipSet) -> bool:
    """Whether no gate wants a look or says stop."""
    return all(check.verdict in (Verdict.OK, Verdict.UNMEASURED) for check in tipset.checks)


def moved_sets(shared: SearchContext, attitude: Attitude, tipset: TipSet, seed: int) -> Iterator[TipSet]:
    """Sets that differ from one in a single tip: every other time a near one, else any that can be reached."""
    seek = Search(shared, attitude)
    view, rng = seek.view, np.random.default_rng(seed)
    if view is None:
        return
    points = shared.spots.points_mm[shared.spots.first] @ attitude.rotation.T
    base = [int(np.argmin(np.linalg.norm(points - np.asarray(contact.point_mm), axis=1)
                          + 1e3 * ((shared.spots.kind != contact.kind) & (shared.spots.kind != "shelf"))))
            for contact in tipset.contacts]
    usable = np.flatnonzero(view.usable)
    for number in range(MOVED):
        place = int(rng.integers(len(base)))
        away = np.linalg.norm(points[usable] - points[base[place]], axis=1)
        pool = usable[np.argsort(away)[1:25]] if number % 2 == 0 else usable
        tips = tuple(sorted({*base[:place], *base[place + 1:], int(rng.choice(pool))}))
        judged = seek.judged_set(Found(tips, 0.0, 0.0))
        if judged is not None:
            yield judged


def told(ruling: Ruling) -> str:
    """One word or three numbers."""
    if not np.isfinite(ruling.drift_mm):
        return "FELL"
    numbers = f"{ruling.settle_mm:.2f} mm, {ruling.drift_mm:.2f} mm, {ruling.turn_deg:.2f} deg"
    return numbers if ruling.stayed else f"FELL ({numbers})"


def run(subject: Subject, table: Counter[tuple[str, bool]], shipped: bool) -> list[str]:
    """Judge one object's sets; returns the lines to print, and counts into the table."""
    attitudes = propose_attitudes(subject.working, subject.survey, subject.brief)
    surface = Surface.of(subject.working, subject.survey)
    if shipped:
        return _chosen(subject, surface, table)
    shared = study(subject.working, subject.survey, subject.brief, SETTINGS, 0.35, attitudes)
    lines, first = [], None
    for attitude in attitudes:
        tipsets, refusal = find_tips(shared, attitude)
        if refusal is not None:
            lines.append(f"  {attitude.name}: refused, {refusal.reason}")
            continue
        tipset, clean_set = tipsets[0], passes(tipsets[0])
        try:
            ruling = rule(surface, subject.survey, tipset)
        except ArithmeticError as error:
            table["referee not set up", False] += 1
            lines.append(f"  {attitude.name}: {error}")
            continue
        table["passes, first found" if clean_set else "to be looked at", ruling.stayed] += 1
        if clean_set and first is None:
            first = (attitude, tipset)
            table["passes, first attitude", ruling.stayed] += 1
        lines.append(_line(attitude, [contact.kind for contact in tipset.contacts], tipset.margin_g,
                           tipset.margin_low_friction_g, tipset.preload_ratio, shake_g(tipset), ruling)
                     + ("" if clean_set else " LOOK"))
    if first is not None:
        lines.append(_weakened(subject, surface, shared, *first, table))
    return lines


def _chosen(subject: Subject, surface: Surface, table: Counter[tuple[str, bool]]) -> list[str]:
    """Judge the hold that is proposed first, on equal springs and on its own arms."""
    found = find_holds(subject.working, subject.survey, subject.brief, SETTINGS)
    if not found.holds:
        return [f"  refused: {found.refusals[0].reason}"]
    hold = found.holds[0]
    own = arm_springs(hold)
    wrong = np.random.default_rng(1).choice([-1.0, 1.0], len(own))
    lines = []
    for row, springs, bent_mm in (("2 N/mm", None, None), ("its own arms", own, None),
                                  ("own, 0.1 mm off", own, 0.1 * wrong), ("own, 0.5 mm off", own, 0.5 * wrong),
                                  ("own, ten times as soft", own / 10, None)):
        try:
            ruling = rule(surface, subject.survey, hold, springs=springs, bent_mm=bent_mm)
        except ArithmeticError as error:
            table["referee not set up", False] += 1
            return [f"  {hold.attitude.name}: {error}"]
        table[f"chosen hold, {row}", ruling.stayed] += 1
        lines.append(f"  {row:22s} {told(ruling)}")
    stiff = np.linalg.eigvalsh(own)
    looks = [check.name for check in hold.checks if check.verdict in (Verdict.LOOK, Verdict.STOP)]
    return [_line(hold.attitude, [tip.kind for tip in hold.tips], hold.margin_g, hold.margin_low_friction_g,
                  hold.preload_ratio, shake_g(hold), None), *lines,
            f"  its arms: {stiff.min():.2f} to {stiff.max():.1f} N/mm; to look at: {', '.join(looks) or 'nothing'}"]


def shake_g(held: TipSet | Hold) -> float:
    """What a set or a hold withstands in the contact solve; nan where it was not asked."""
    return next((check.value for check in held.checks if check.name == "shake-withstood" and check.value is not None),
                float("nan"))


def _line(attitude: Attitude, kinds: Sequence[str], margin_g: float, low_g: float, ratio: float, shake: float,
          ruling: Ruling | None) -> str:
    return (f"  {attitude.name:14s} turn {attitude.turn_deg:4.0f}  {' '.join(kinds):38s} margin {margin_g:5.2f} "
            f"low {low_g:5.2f} s/W {ratio:5.2f} withstands {shake:5.2f}{'' if ruling is None else f'  {told(ruling)}'}")


def _weakened(subject: Subject, surface: Surface, shared: SearchContext, attitude: Attitude, tipset: TipSet,
              table: Counter[tuple[str, bool]]) -> str:
    gone, moved = [], []
    for number, needed in enumerate(tipset.needed):
        if needed:
            gone.append(rule(surface, subject.survey, tipset, without=frozenset([number])).stayed)
            table["a necessary tip away", gone[-1]] += 1
    for other in moved_sets(shared, attitude, tipset, 5):
        try:
            stayed = rule(surface, subject.survey, other).stayed
        except ArithmeticError:
            table["referee not set up", False] += 1
            continue
        ok = passes(other)
        stops = [check.name for check in other.checks if check.verdict is Verdict.STOP]
        row = "a tip moved, passes" if ok else "a tip moved, no balance" if "margin" in stops else "a tip moved, fails"
        table[row, stayed] += 1
        moved.append(f"{'passes' if ok else 'fails'}/{'stayed' if stayed else 'fell'}")
    return f"  a necessary tip away: {gone.count(False)} of {len(gone)} fell; a tip moved: {', '.join(moved)}"


def main() -> None:
    """Run and print."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("kind", choices=("demo", "scans", "fresh"))
    asked.add_argument("seed", nargs="?", type=int, default=100)
    asked.add_argument("--shipped", action="store_true")
    asked.add_argument("--only", nargs="*", default=[])
    args = asked.parse_args()
    table: Counter[tuple[str, bool]] = Counter()
    begun, refused, count = time.process_time(), 0, 0
    for subject in subjects(args.kind, args.seed):
        if args.only and subject.name not in args.only:
            continue
        count += 1
        lines = run(subject, table, args.shipped)
        refused += all("refused" in line for line in lines)
        print("\n".join([f"{subject.name} {subject.brief.title}", *lines]), flush=True)
    print(f"\n{count} objects, {refused} refused in every attitude; {time.process_time() - begun:.0f} s of CPU")
    print(f"{'sets':36s} {'stayed':>7s} {'fell':>5s}")
    for row in sorted({row for row, _ in table}):
        print(f"{row:36s} {table[row, True]:7d} {table[row, False]:5d}")


if __name__ == "__main__":
    sys.exit(main())
