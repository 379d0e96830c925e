"""A case folder that is told commands in this process, and a case of like tiles whose holds are searched for once."""

import csv
import dataclasses
import json
import re

import numpy as np
import trimesh
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.hold.records import HoldSet
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import SurveyedScan
from scanprep.workspace.batch import study_one
from scanprep.workspace.folder import open_case
from scanprep.workspace.tasks import study_keys
from tests import shapes


class Told:
    """A case folder, the commands said about it, and how many there were."""

    def __init__(self, root):
        self.root, self.commands = root, []

    def say(self, command, *words, by="Ben", code=0):
        """Run a command; return what it prints."""
        self.commands.append(command)
        person = ["--person", by] if by else []
        done = CliRunner().invoke(app, [command, str(self.root), *map(str, words), *person])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert code is None or done.exit_code == code, done.output
        return done.stdout

    def told(self, command, *words, by=None, code=0):
        """Run a command for its JSON."""
        return json.loads(self.say(command, *words, "--json", by=by, code=code))

    def releases(self):
        """The release of each object's standing hole."""
        found = self.told("release", "--workers", 0)["releases"]
        return {r["object"]: r for r in found if r["state"] != "void"}

    def table(self, name, *lines):
        """A filled table of measurements, each line what, which and readings."""
        path = self.root / name
        heads = ["what", "which", "about", *(f"reading {i}" for i in range(1, 6)), "note"]
        with path.open("w", newline="", encoding="utf-8") as stream:
            rows = csv.writer(stream)
            rows.writerow(heads)
            rows.writerows([what, which, "", *readings, *[""] * (5 - len(readings)), ""]
                           for what, which, *readings in lines)
        return path

    @property
    def state(self):
        """What the record adds up to."""
        return open_case(self.root, take=False).state


def write_tiles(root, numbers):
    """The same tile of earthenware, 40 x 36 x 8 mm, as a scan of each object."""
    tile = shapes.box(40.0, 36.0, 8.0, 10)
    for number in numbers:
        trimesh.Trimesh(tile.vertices_mm, tile.faces, process=False).export(root / "scans" / f"{number}.ply")


def share_study(root, numbers):
    """Keep the study of the first of some like objects as that of all, with the hold that suits it best.

    What is searched for once need not be searched for again: a search takes some seconds an object, and what a story
    asks begins after it. Commands find the studies in the case's cache as if they had made them.
    """
    folder = open_case(root)
    first = folder.state.objects[numbers[0]]
    study_one(folder, first)
    stages = dict(zip(("survey", "holds"), (SurveyedScan, HoldSet), strict=True))
    keys = study_keys(folder.scan_place(first), folder.cache, first, folder.rules, folder.case)
    kept = {stage: folder.cache.load(stage, getattr(keys, stage), of) for stage, of in stages.items()}
    kept["holds"] = HoldSet(kept["holds"].holds[:1], kept["holds"].refusals)
    for number in numbers:
        brief = folder.state.objects[number]
        own = study_keys(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)
        (folder.cache_dir / "study" / f"{own.study}.zip").unlink(missing_ok=True)
        for stage, value in kept.items():
            folder.cache.keep(stage, getattr(own, stage), _renamed(value, numbers[0], number))


def _renamed(value, was, now):
    """A record with every word about one object said of another."""
    if isinstance(value, str):
        return re.sub(rf"\b(object |scans/){re.escape(was)}\b", rf"\g<1>{now}", value)
    if isinstance(value, tuple):
        return tuple(_renamed(item, was, now) for item in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, np.ndarray | WorkingMesh):
        changed = {f.name: _renamed(getattr(value, f.name), was, now) for f in dataclasses.fields(value)}
        return dataclasses.replace(value, **changed)
    return value
