"""Labelled real scans: how a curator would show them, read where they lie beside the project.

A second folder of scans (`SCANPREP_SCANS2`, or scans2 beside the first) brings its own `labels.csv`; the first folder's
twelve are labelled here by looking at them from six sides. A label lists every showing that would be accepted:

    kind[up=x y z;front=x y z] | ...      file axes, "any" where free

Met when the shown up is within 15 deg (face-on: the row's own tolerance; leaned: 35) and the shown front within 25
(face-on 20, along an axis 30, leaned 35); a three-quarter view lies 15 to 55 deg off the frontal one.
"""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.units import parse_length_mm
from scanprep.vectors import F64, Vec3
from tests.scans import ROOT, SCANS

SECOND = Path(os.environ.get("SCANPREP_SCANS2", ROOT.parent / "scans2"))
#: Never looked at while thresholds were chosen: first eight by the SHA-1 of their names.
HELD_BACK = ("os_skull", "os_nefertiti", "ycb_baseball", "ycb_chain", "ycb_bleach_cleanser", "ycb_cracker_box",
             "ycb_large_marker", "os_scorpion")
_OWN = {
    "ggg_plasticVase": "upright-front[up=0 0 1;front=any] | leaned[up=0 0 1;front=any]",
    "os_cat": "profile[up=0 1 0;front=0 0 1] | profile[up=0 1 0;front=0 0 -1] | upright-front[up=0 1 0;front=-1 0 0]",
    "os_demosthenes": "upright-front[up=0 1 0;front=0 0 1] | upright-threequarter[up=0 1 0;front=0 0 1] | "
                      "profile[up=0 1 0;front=1 0 0] | profile[up=0 1 0;front=-1 0 0]",
    "os_goathead": "profile[up=0 1 0;front=0 0 1] | profile[up=0 1 0;front=0 0 -1] | "
                   "upright-front[up=0 1 0;front=-1 0 0] | upright-threequarter[up=0 1 0;front=-1 0 0]",
    "os_pizza": "face-on[up=any;front=0 1 0]",
    "pr_pitcher": "upright-front[up=0 0 1;front=0.71 -0.71 0] | upright-front[up=0 0 1;front=-0.71 0.71 0]",
    "tm_fuze": "upright-front[up=0 0 1;front=any]",
    "ycb_a_cups": "upright-front[up=0 0 1;front=any] | leaned[up=0 0 1;front=any]",
    "ycb_bowl": "upright-front[up=0 0 1;front=any] | leaned[up=0 0 1;front=any] | face-on[up=any;front=0 0 1]",
    "ycb_padlock": "upright-front[up=-0.31 -0.95 0;front=0 0 1] | upright-front[up=-0.31 -0.95 0;front=0 0 -1]",
    "ycb_scissors": " | ".join(
        f"long-axis-{kind}[up={up};front=0 0 {side}]" for side in ("1", "-1")
        for kind, up in (("vertical", "0.3 0.95 0"), ("vertical", "-0.3 -0.95 0"), ("level", "0.95 -0.3 0"),
                         ("level", "-0.95 0.3 0"))),
    "ycb_tomato_soup_can": "upright-front[up=0 0 1;front=0 1 0]",
}
_POSE = re.compile(r"([\w-]+)\[up=([^;]*);front=([^\]]*)\]")


@dataclass(frozen=True, slots=True)
class Pose:
    """One accepted showing."""

    kind: str
    up: Vec3 | None  # None: any
    front: Vec3 | None


@dataclass(frozen=True, slots=True)
class Labelled:
    """One scan with what a person would say of it and how a curator would show it."""

    name: str
    path: Path
    brief: ObjectBrief
    poses: tuple[Pose, ...]
    roll_deg: float  # how far up may be off where it is shown face-on

    def accepts(self, up: F64, front: F64) -> bool:
        """Whether a showing (unit up and front, scan axes) is one that would be accepted."""
        return accepted(self.poses, self.roll_deg, up, front)


def accepted(poses: tuple[Pose, ...], roll_deg: float, up: F64, front: F64) -> bool:
    """Whether a showing (unit up and front, scan axes) is one of those that would be accepted.

    roll_deg  how far up may be off where it is shown face-on
    """
    return any(_met(pose, poses, roll_deg, up, front) for pose in poses)


def _met(pose: Pose, poses: tuple[Pose, ...], roll_deg: float, up: F64, front: F64) -> bool:
    up_deg, front_deg = {"face-on": (roll_deg, 20.0), "leaned": (35.0, 35.0)}.get(pose.kind, (15.0, 25.0))
    front_deg = 30.0 if pose.kind.startswith("long-axis") else front_deg
    if pose.up is not None and _off_deg(pose.up, up) > up_deg:
        return False
    if pose.front is None:
        return True
    off = _off_deg(pose.front, front)
    frontal = any(other.kind not in (pose.kind, "leaned") and (other.up, other.front) == (pose.up, pose.front)
                  for other in poses)
    return 15 <= off <= 55 if pose.kind == "upright-threequarter" and frontal else off <= front_deg


def labelled() -> Iterator[Labelled]:
    """All labelled scans that are here: the second folder's, then the first's, sizes and masses alone said of them."""
    if (SECOND / "labels.csv").is_file():
        with (SECOND / "labels.csv").open(newline="", encoding="utf-8") as lines:
            for row in csv.DictReader(lines):
                if (SECOND / row["file"]).is_file():
                    yield Labelled(row["name"], SECOND / row["file"], _brief(row["name"], row["args"]),
                                   poses_of(row["poses"]), float(row["roll_tol_deg"] or 12))
    for real in SCANS:
        if real.path.is_file():
            said = real.brief
            size = (KnownSize("longest", said.sizes[0].value_mm),) if said.sizes else ()
            brief = ObjectBrief(real.name, unit=said.unit, sizes=size, material=said.material, mass_g=said.mass_g,
                                wall_mm=said.wall_mm)
            yield Labelled(real.name, real.path, brief, poses_of(_OWN[real.name]), 12.0)


def _brief(name: str, words: str) -> ObjectBrief:
    unit = re.search(r"--unit (\w+)", words)
    mass = re.search(r"--mass ([\d.]+)g", words)
    size = re.search(r"--size (\w+)=([\d.]+mm)", words)
    return ObjectBrief(name, unit=unit[1] if unit else None, mass_g=float(mass[1]) if mass else None,
                       sizes=(KnownSize(size[1], parse_length_mm(size[2])),) if size else ())


def poses_of(text: str) -> tuple[Pose, ...]:
    """The showings that a row of labels names."""
    return tuple(Pose(kind, _way(up), _way(front)) for kind, up, front in _POSE.findall(text))


def _way(words: str) -> Vec3 | None:
    if words == "any":
        return None
    x, y, z = (float(word) for word in words.split())
    return x, y, z


def _off_deg(one: Vec3, other: F64) -> float:
    cosine = np.dot(one, other) / np.linalg.norm(one) / np.linalg.norm(other)
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1))))
