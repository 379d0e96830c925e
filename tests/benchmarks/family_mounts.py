"""Which family of mounts is proposed for labelled real scans, in which attitude, and what it is like.

    python -m tests.benchmarks.family_mounts [known|aside|scans|demo] [--labelled] [--pictures DIR] [NAME ...]

    known       21 labelled scans that families were tried on while they were made
    aside       9 labelled scans set aside before that, run once at the end
    scans demo  the twelve earlier scans; the demo's finds
    --labelled  show each labelled scan as its label's first pose says, instead of as the tool proposes

The labelled scans lie outside the project: SCANPREP_LABELLED, or ../shared/scans2, with labels.csv (file, arguments,
acceptable poses, families a mountmaker would take). Parts that a label says are never to be touched are words, to be
checked on the pictures; beside them stands how thick the object is where it is touched, over its usual thickness.
From the working mesh, seconds of CPU. Ends with code 1 where one of up to 1 kg has no hold.
"""

from __future__ import annotations

import argparse
import csv
import os
import statistics
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.files.meshes import load_scan
from scanprep.hold import find_holds
from scanprep.hold.records import Attitude, Hold
from scanprep.hold.strength.stiffness import braces_of
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from scanprep.survey.records import Survey
from scanprep.vectors import unit
from tests.benchmarks.holds_referee import SETTINGS, Subject, subjects
from tests.labels import Pose, accepted, poses_of

LABELLED = Path(os.environ.get("SCANPREP_LABELLED", Path(__file__).resolve().parents[2].parent / "shared" / "scans2"))
#: Drawn by lot before any family was made.
ASIDE = frozenset({"ggg_birdBath", "gso_frypan", "os_scorpion", "os_skull", "os_sword", "ycb_g_lego_duplo", "ycb_pear",
                   "ycb_potted_meat_can", "ycb_rubiks_cube"})
#: Which words of a label mean one of our families.
MEANS = {
    "foot cradle with clip": ("foot-cradle", "shelf", "neck-collar"),
    "bearers under a body": ("shelf", "foot-cradle", "saddles"),
    "bracket of flat bars": ("shelf", "foot-cradle"),
    "shelf with clip": ("shelf", "foot-cradle"),
    "socket inside a hollow": ("socket-inside",),
    "edge claws": ("edge-claws",),
    "bar with claws": ("edge-claws",),
    "spine with claws": ("spine", "edge-claws", "hook under"),
    "two saddles": ("saddles",),
    "clips on a shaft": ("saddles", "hook under"),
    "ring under a foot": ("ring-under-foot", "pronged cup"),
    "pronged cup": ("pronged cup",),
    "hook through an opening": ("hook-through",),
    "hooks under a head": ("hook under",),
}


@dataclass(frozen=True, slots=True, eq=False)
class Labelled:
    """A scan and what its label says."""

    subject: Subject
    poses: tuple[Pose, ...]
    families: str
    never: str
    roll_tol_deg: float


def _brief(line: dict[str, str]) -> ObjectBrief:
    words = line["args"].split()
    said = dict(zip(words[::2], words[1::2]))
    kind, _, size = said.get("--size", "").partition("=")
    sizes = (KnownSize(kind, float(size.removesuffix("mm"))),) if size else ()
    return ObjectBrief(number=line["name"], scan=line["file"], unit=said.get("--unit"), sizes=sizes,
                       mass_g=float(said["--mass"].removesuffix("g")))


def labelled(aside: bool, names: list[str]) -> Iterator[Labelled]:
    """The labelled scans, measured."""
    with (LABELLED / "labels.csv").open(encoding="utf-8", newline="") as file:
        lines = list(csv.DictReader(file))
    for line in lines:
        if (line["name"] in ASIDE) != aside or (names and line["name"] not in names):
            continue
        brief = _brief(line)
        cleaned = clean(load_scan(LABELLED / line["file"], brief, SETTINGS.scan), brief, SETTINGS.scan)
        yield Labelled(Subject(brief.number, cleaned.working, survey_object(cleaned, brief, SETTINGS), brief),
                       poses_of(line["poses"]), line["family"], line["never_touch"], float(line["roll_tol_deg"]))


def posed(pose: Pose, survey: Survey) -> Attitude:
    """A label's pose as an attitude."""
    front = np.asarray(survey.front if pose.front is None else pose.front, dtype=np.float64)
    up = np.asarray((0.0, 0.0, 1.0) if pose.up is None else pose.up, dtype=np.float64)
    if abs(float(front @ up)) > 0.98:
        front = np.cross(up, np.eye(3)[int(np.argmin(np.abs(up)))])
    front = unit(front - (front @ up) * up)
    return Attitude(pose.kind, 0.0, 0.0, 0.0, np.vstack([np.cross(up, front), up, front]), "as labelled", 1.0)


def alike(hold: Hold) -> float:
    """How far the tips are from their own mirror image left to right, over the object's diagonal."""
    points = np.array([tip.point_mm for tip in hold.tips])
    middle = points[:, 0].min() + points[:, 0].max()
    image = points * [-1.0, 1.0, 1.0] + [middle, 0.0, 0.0]
    gap = np.linalg.norm(points[:, None] - image[None], axis=2).min(axis=1).max()
    return float(gap / np.linalg.norm([hold.width_mm, hold.height_mm, hold.depth_mm]))


def row(name: str, seconds: float, hold: Hold, pose: str, family: str, never: str) -> str:
    """One object's line."""
    thick = max((tip.arm.wire_mm for tip in hold.tips if not tip.arm.wide_mm), default=0.0)
    return (f"{name:25s} {seconds:5.1f} s  {hold.attitude.name:18s} {pose:4s} {hold.family or 'free search':24s} "
            f"{family:4s} {hold.margin_g:5.2f} g  {len(hold.tips)} wires to {thick:.2f} mm  off mirror "
            f"{alike(hold):4.0%}  hidden {hold.covered_share:.1%} beside {hold.beside_share:.1%}  never: {never}")


def _picture(subject: Subject, hold: Hold, folder: Path) -> None:
    from scanprep.papers.pictures.contact_sheet import contact_sheet_png

    folder.mkdir(parents=True, exist_ok=True)
    drawn = contact_sheet_png([hold], subject.survey, subject.working, subject.name)
    (folder / f"{subject.name}.png").write_bytes(drawn)


def main() -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("which", nargs="?", choices=("known", "aside", "scans", "demo"), default="known")
    parser.add_argument("names", nargs="*")
    parser.add_argument("--labelled", action="store_true")
    parser.add_argument("--pictures", type=Path)
    said = parser.parse_args()
    if said.which in ("scans", "demo"):
        every: Iterator[Labelled] = (Labelled(subject, (), "", "", 15.0) for subject in subjects(said.which, 0)
                                     if not said.names or subject.name in said.names)
    else:
        every = labelled(said.which == "aside", said.names)
    seconds, wires, thick, alone, held, light, posed_well, of_family, total = [], [], 0, 0, 0, [0, 0], 0, 0, 0
    for one in every:
        subject, total = one.subject, total + 1
        attitudes = [posed(one.poses[0], subject.survey)] if said.labelled and one.poses else None
        begun = time.process_time()
        found = find_holds(subject.working, subject.survey, subject.brief, SETTINGS, attitudes=attitudes)
        seconds.append(time.process_time() - begun)
        light[1] += subject.survey.mass_g.best <= 1000.0
        if not found.holds:
            print(f"{subject.name:25s} {seconds[-1]:5.1f} s  none: {found.refusals[0].reason[:140]}", flush=True)
            continue
        hold, held = found.holds[0], held + 1
        light[0] += subject.survey.mass_g.best <= 1000.0
        well = accepted(one.poses, one.roll_tol_deg, hold.attitude.rotation[1], hold.attitude.rotation[2])
        meant = any(word in one.families for word in MEANS.get(hold.family, ()))
        posed_well, of_family = posed_well + well, of_family + meant
        wires.append(len(hold.tips))
        heavy = [tip.arm for tip in hold.tips
                 if tip.arm.wire_mm > SETTINGS.hold.wire_thickest_mm and not tip.arm.wide_mm]
        thick, alone = thick + len(heavy), alone + sum(not braces_of(arm, hold.hub) for arm in heavy)
        words = ("ok" if well else "NO", "ok" if meant else "NO") if one.poses else ("", "")
        print(row(subject.name, seconds[-1], hold, *words, one.never), flush=True)
        if said.pictures:
            _picture(subject, hold, said.pictures)
    print(f"{held} of {total} held ({light[0]} of {light[1]} up to 1 kg); attitude accepted {posed_well}, family as "
          f"labelled {of_family}; {statistics.median(seconds):.1f} s in the median, {max(seconds):.1f} s at the worst; "
          f"{statistics.median(wires) if wires else 0:g} wires in the median, {thick} of {sum(wires)} over "
          f"{SETTINGS.hold.wire_thickest_mm} mm, {alone} of these without a second wire beside them")
    return 0 if light[0] == light[1] else 1


if __name__ == "__main__":
    sys.exit(main())
