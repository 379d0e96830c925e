"""Specifications worked out under one kernel of the linear algebra library and one hash seed, in a process of its own.

    OPENBLAS_CORETYPE=Haswell python -m tests.kernels ball token FB-004

prints one JSON object: the specification of each named shape, or find of sample_meshes, as a loose scan.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
#: What OpenBLAS may be told to be; None: what it takes by itself on this machine.
KERNELS = ("Haswell", "Nehalem", None)


def run_under(kernel: str | None, seed: int, names: tuple[str, ...]) -> subprocess.Popen[str]:
    """Start the process."""
    env = {**os.environ, "PYTHONHASHSEED": str(seed), "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    env.pop("OPENBLAS_CORETYPE", None)
    if kernel is not None:
        env["OPENBLAS_CORETYPE"] = kernel
    return subprocess.Popen([sys.executable, "-m", "tests.kernels", *names], cwd=ROOT, env=env, text=True,
                            stdout=subprocess.PIPE)


def differences(first: Any, other: Any, where: str = "") -> list[str]:
    """Where two plain values differ by more than print precision: six digits, or a millionth of the unit.

    A margin of a value that is nothing but rounding is no figure: a thousand million times enough is enough.
    """
    if isinstance(first, float) and isinstance(other, float):
        alike = abs(first - other) <= 1e-6 * max(1.0, abs(first), abs(other)) or min(first, other) > 1e9
        return [] if alike else [f"{where}: {first!r} and {other!r}"]
    if isinstance(first, dict) and isinstance(other, dict) and first.keys() == other.keys():
        return [line for key in first for line in differences(first[key], other[key], f"{where}.{key}")]
    if isinstance(first, list) and isinstance(other, list) and len(first) == len(other):
        return [line for k, one in enumerate(first) for line in differences(one, other[k], f"{where}[{k}]")]
    return [] if first == other else [f"{where}: {first!r:.60} and {other!r:.60}"]


def _specifications(names: list[str]) -> dict[str, Any]:
    from scanprep.brief import ObjectBrief
    from scanprep.files.checklist import read_checklist
    from scanprep.files.meshes import load_scan
    from scanprep.files.records import spec_text
    from scanprep.pipeline import finish_object, study_object
    from scanprep.rules import Rulebook
    from tests import shapes

    rules, samples = Rulebook(), ROOT / "sample_meshes"
    made = {"ball": (shapes.ball(15, 24), ObjectBrief("ball", material="granite", mass_g=38.0)),
            "token": (shapes.medal(11, 3, 64, 6), ObjectBrief("token", material="lead", mass_g=12.0))}
    briefs = {brief.number: brief for brief in read_checklist(samples / "checklist.csv")}
    told = {}
    for name in names or list(briefs):
        if name in made:
            solid, brief = made[name]
            scan = shapes.scan_of(solid.vertices_mm, solid.faces)
        else:
            brief = briefs[name]
            scan = load_scan(samples / brief.scan, brief, rules.scan)
        told[name] = json.loads(spec_text(finish_object(study_object(scan, brief, rules), None, rules)))
    return told


if __name__ == "__main__":
    print(json.dumps(_specifications(sys.argv[1:])))
