"""Seconds from scan to specification, object by object, and which stages they go to.

    python -m tests.benchmarks.whole_objects            the demo's finds
    python -m tests.benchmarks.whole_objects scans      the real scans, where they lie (SCANPREP_SCANS)
    python -m tests.benchmarks.whole_objects ... NAME   some of them

CPU seconds of one process, libraries loaded. The stages are timed in the same run from inside, each with all that it
calls; those indented are part of the one above.
"""

from __future__ import annotations

import argparse
import functools
import importlib
import statistics
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from scanprep.brief import ObjectBrief
from scanprep.files.checklist import read_checklist
from scanprep.files.meshes import load_scan
from scanprep.pipeline import finish_object, study_object
from scanprep.rules import Rulebook
from tests.benchmarks.holds_referee import SAMPLES
from tests.scans import SCANS

#: What a stage is called: the module that calls it, and the name by which it does.
STAGES = {
    "cleaning and surveying": ("pipeline", "survey_scan"),
    "holds": ("pipeline", "find_holds"),
    "  object as an obstacle": ("hold.find", "_subject"),
    "  families propose and gates judge": ("hold.tries", "family_offers"),
    "    gates of a family's sets": ("hold.families.offers", "gated"),
    "    ends of wires tried": ("hold.tries", "has_wire_end"),
    "  arms of families drawn": ("hold.tries", "draft_planned"),
    "  free search": ("hold.tries", "Trial.by_search"),
    "  mounts finished": ("hold.find", "finish_mount"),
    "  within all gates: contact solve": ("hold.statics.gates", "shake_withstood"),
    "  contact solve on drawn mounts": ("hold.tries", "judged_as_drawn"),
    "  within all gates: reach, by programmes": ("hold.statics.wrench", "_reach"),
    "posts sized": ("pipeline", "thinnest_rod"),
}


def timed(call: Callable[..., Any], spent: dict[str, float], stage: str) -> Callable[..., Any]:
    """A function that adds its CPU seconds to a stage; of a generator, those between its offers."""
    @functools.wraps(call)
    def clocked(*args: Any, **named: Any) -> Any:
        began = time.process_time()
        found = call(*args, **named)
        spent[stage] += time.process_time() - began
        return each(found) if isinstance(found, Iterator) else found

    def each(offers: Iterator[Any]) -> Iterator[Any]:
        while True:
            began = time.process_time()
            offer = next(offers, None)
            spent[stage] += time.process_time() - began
            if offer is None:
                return
            yield offer

    return clocked


def watched() -> dict[str, float]:
    """Seconds by stage, filled from now on."""
    spent: dict[str, float] = defaultdict(float)
    for stage, (module, path) in STAGES.items():
        *within, name = path.split(".")
        place = functools.reduce(getattr, within, importlib.import_module(f"scanprep.{module}"))
        setattr(place, name, timed(getattr(place, name), spent, stage))
    return spent


def objects(which: str) -> list[tuple[str, Path, ObjectBrief]]:
    """Name, file and brief of each."""
    if which == "scans":
        return [(real.name, real.path, real.brief) for real in SCANS if real.path.is_file()]
    return [(brief.number, SAMPLES / brief.scan, brief) for brief in read_checklist(SAMPLES / "checklist.csv")]


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("which", nargs="?", choices=("demo", "scans"), default="demo")
    parser.add_argument("names", nargs="*")
    said = parser.parse_args()
    rules, spent, seconds = Rulebook(), watched(), []
    every = [one for one in objects(said.which) if not said.names or one[0] in said.names]
    if not every:
        parser.error("none of these is here: see SCANPREP_SCANS")
    study_object(load_scan(every[0][1], every[0][2], rules.scan), every[0][2], rules)  # libraries are loaded
    spent.clear()
    for name, path, brief in every:
        began = time.process_time()
        study = study_object(load_scan(path, brief, rules.scan), brief, rules)
        finish_object(study, None, rules)
        seconds.append(time.process_time() - began)
        print(f"{name:28s} {seconds[-1]:6.2f} s  {len(study.holds.holds)} holds", flush=True)
    print(f"\n{statistics.median(seconds):.2f} s in the median, {max(seconds):.2f} s at the worst, of {len(seconds)}")
    for stage in STAGES:
        print(f"{stage:42s} {spent[stage]:7.2f} s  {spent[stage] / sum(seconds):4.0%}")


if __name__ == "__main__":
    main()
