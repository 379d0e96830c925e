"""How long `scanprep batch` of 120 scans of a million faces takes from nothing, against the 12 minutes asked for.

Run by hand, outside the timed tests, on a machine with nothing else to do and 6 GB of disk free:

    python -m tests.benchmarks.million_case
    python -m tests.benchmarks.million_case --objects 4 --folder many    # a trial; the scans stay for another run

The demo's finds, each face cut into n x n and a hundredth of a millimetre of noise on every corner, in sizes that
differ by a few per cent, so that no two scans are alike; binary PLY in mm, without colours. Writing them is not timed.
Prints wall and CPU seconds of the batch (with its papers), of all its processes, and the peak of memory of the largest;
ends with code 1 where it takes longer than asked, in proportion where there are fewer objects.
"""

from __future__ import annotations

import argparse
import csv
import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.errors import ScanprepError
from scanprep.files.checklist import read_checklist
from scanprep.files.meshes import load_scan
from scanprep.rules import Rulebook
from scanprep.scan.weld import equal_points
from scanprep.vectors import F64, I32
from tests.benchmarks.holds_referee import SAMPLES
from tests.files import scan_files

FACES, OBJECTS, MOST_MINUTES, CORES = 1_000_000, 120, 12.0, 2
NOISE_mm, GROWTH = 0.01, 0.015
#: What is said of where an object stands goes: there are four of each.
_LEFT_OUT = ("panel", "face", "x", "y", "order", "known size")


def cut(vertices: F64, faces: I32, wanted: int) -> tuple[F64, I32]:
    """Return a mesh with each face cut into n x n, as many as come nearest to the faces wanted."""
    n = max(1, round((wanted / len(faces)) ** 0.5))
    grid = [(i, j) for i in range(n + 1) for j in range(n + 1 - i)]
    at = {pair: k for k, pair in enumerate(grid)}
    small = [(at[i, j], at[i + 1, j], at[i, j + 1]) for i in range(n) for j in range(n - i)]
    small += [(at[i + 1, j], at[i + 1, j + 1], at[i, j + 1]) for i in range(n) for j in range(n - 1 - i)]
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    points = np.stack([(a * (n - i - j) + b * i + c * j) / n for i, j in grid], axis=1).reshape(-1, 3)
    points = points.astype(np.float32).astype(np.float64)  # what two faces share is one place, to the bit
    rows = np.asarray(small, dtype=np.int64)[None] + len(grid) * np.arange(len(faces))[:, None, None]
    kept, row = equal_points(points + 0.0)
    return points[kept], row[rows.reshape(-1, 3)].astype(np.int32)


def finds() -> list[tuple[ObjectBrief, F64, I32]]:
    """The demo's finds that can be read, in mm."""
    found = []
    for brief in read_checklist(SAMPLES / "checklist.csv"):
        try:
            scan = load_scan(SAMPLES / brief.scan, brief, Rulebook().scan)
        except ScanprepError:
            continue  # the demo has scans that are refused, on purpose
        found.append((brief, scan.vertices_mm, scan.faces))
    return found


def write_case(root: Path, objects: int, faces: int) -> int:
    """Write a case folder with so many scans and take its checklist in; return the bytes of the scans."""
    (root / "scans").mkdir(parents=True, exist_ok=True)
    with (SAMPLES / "checklist.csv").open(encoding="utf-8", newline="") as file:
        lines = {line["number"]: line for line in csv.DictReader(file)}
    rows, size, known = [], 0, finds()
    for k in range(objects):
        brief, vertices, triangles = known[k % len(known)]
        number, random = f"{brief.number}-{k // len(known) + 1}", np.random.default_rng(k)
        points, cut_up = cut(vertices * (1 + GROWTH * (k // len(known))), triangles, faces)
        content = scan_files.ply(points + random.normal(0, NOISE_mm, points.shape), cut_up)
        (root / "scans" / f"{number}.ply").write_bytes(content)
        size += len(content)
        rows.append(lines[brief.number] | dict.fromkeys(_LEFT_OUT, "")
                    | {"number": number, "scan": f"scans/{number}.ply", "unit": "mm"})
    with (root / "checklist.csv").open("w", encoding="utf-8", newline="") as file:
        out = csv.DictWriter(file, list(rows[0]))
        out.writeheader()
        out.writerows(rows)
    shutil.copyfile(SAMPLES / "case.toml", root / "case.toml")
    command("intake", str(root), str(root / "checklist.csv"))
    return size


def command(*words: str) -> None:
    """Run a command; its modules are compiled, as in an installed program."""
    env = {name: value for name, value in os.environ.items()
           if name not in ("PYTHONDONTWRITEBYTECODE", "SCANPREP_CACHE")}
    done = subprocess.run([sys.executable, "-c", "from scanprep_cli.main import main; main()", *words],
                          stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
                          check=False, env=env)
    assert done.returncode in (0, 1) and "Traceback" not in done.stderr, done.stderr  # done, or a finding says stop


def main(words: Sequence[str] | None = None) -> int:
    """Write the scans, run the batch, print the figures, return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--objects", type=int, default=OBJECTS)
    parser.add_argument("--faces", type=int, default=FACES)
    parser.add_argument("--workers", type=int, default=CORES)
    parser.add_argument("--folder", type=Path, help="write the scans here and leave them; else they go again")
    asked = parser.parse_args(words)
    with tempfile.TemporaryDirectory() as own:
        root = asked.folder or Path(own) / "case"
        if (root / "record.sqlite").exists():
            for folder in (".cache", "out"):
                shutil.rmtree(root / folder, ignore_errors=True)
        else:
            size = write_case(root, asked.objects, asked.faces)
            print(f"{asked.objects} scans of about {asked.faces:,} faces written, {size / 1e9:.2f} GB", flush=True)
        load, began = os.getloadavg()[0], time.perf_counter()
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command("batch", str(root), "--workers", str(asked.workers))
        took_s, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
        cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        specs = len(list((root / "out").glob("*/spec.json")))
    most_s = MOST_MINUTES * 60 * asked.objects / OBJECTS
    print(f"{specs} of {asked.objects} objects have a specification; load before {load:.1f}, {asked.workers} workers: "
          f"{took_s:.0f} s wall of {most_s:.0f} s asked, {cpu_s:.0f} s CPU ({cpu_s / asked.objects:.2f} s an object), "
          f"peak of a process {after.ru_maxrss / 1024:.0f} MB")
    return int(took_s > most_s or specs < asked.objects)


if __name__ == "__main__":
    sys.exit(main())
