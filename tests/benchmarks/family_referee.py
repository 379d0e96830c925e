"""The mounts proposed for real scans against the physics engine, each wire giving as it is bent.

    python -m tests.benchmarks.family_referee [all|known|aside|scans] [--heaviest KG] [NAME ...]

Every first hold, by a family or by the free search, is shaken at 0.25 g from all six sides, every wire on its own
compliance with the faces along it coupled: plain; at 0.7 of its pads' friction; with the centre of mass off by its
stated radius, some way by lot; with every tip 0.5 mm too far in or out, by lot, on 2 N/mm and on its own arm. `all`:
the labelled scans and the earlier ones up to 1 kg. Prints a row an object with how far it settled, drifted and turned
where it fell, and the shares that stay.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator

import numpy as np

from scanprep.hold import find_holds
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Hold
from scanprep.survey.records import Survey
from tests.benchmarks.family_mounts import labelled
from tests.benchmarks.holds_referee import SETTINGS, Subject, subjects
from tests.referee.arena import Ruling, own_wires, rule

SHAKE_g, BEND_mm, SEED = 0.25, 0.5, 1
TRIALS = ("plain", "friction x 0.7", "centre off", "tips off, 2 N/mm", "tips off, own arms")


def fates(hold: Hold, surface: Surface, survey: Survey) -> dict[str, Ruling]:
    """How a hold fares in each trial; raises ArithmeticError where the engine cannot be set up."""
    rng = np.random.default_rng(SEED)
    way, wires = rng.normal(size=3), own_wires(hold)
    off = survey.centre_radius_mm * way / np.linalg.norm(way)
    bent = BEND_mm * rng.choice([-1.0, 1.0], len(hold.tips))
    friction = SETTINGS.hold.shake_friction_ratio * hold.tips[0].friction
    said = {"plain": {"wires": wires}, "friction x 0.7": {"wires": wires, "friction": friction},
            "centre off": {"wires": wires, "centre_off_mm": off},
            "tips off, 2 N/mm": {"bent_mm": bent}, "tips off, own arms": {"wires": wires, "bent_mm": bent}}
    return {trial: rule(surface, survey, hold, shake_g=SHAKE_g, **said[trial])  # type: ignore[arg-type]
            for trial in TRIALS}


def told(ruling: Ruling) -> str:
    """One word, and how far it moved where it fell."""
    if ruling.stayed or not np.isfinite(ruling.drift_mm):
        return "stays" if ruling.stayed else "FELL"
    return f"FELL ({ruling.settle_mm:.1f} mm, {ruling.drift_mm:.1f} mm, {ruling.turn_deg:.1f} deg)"


def asked_for(which: str, names: list[str], heaviest_kg: float) -> Iterator[Subject]:
    """The objects of a kind, up to a mass."""
    every: list[Iterator[Subject]] = []
    if which in ("all", "known", "aside"):
        every += [(one.subject for one in labelled(aside, names))
                  for aside in (False, True) if which in ("all", "aside" if aside else "known")]
    if which in ("all", "scans"):
        every.append(one for one in subjects("scans", 0) if not names or one.name in names)
    return (one for some in every for one in some if one.survey.mass_g.best <= 1000 * heaviest_kg)


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("which", nargs="?", choices=("all", "known", "aside", "scans"), default="all")
    parser.add_argument("names", nargs="*")
    parser.add_argument("--heaviest", type=float, default=1.0)
    said = parser.parse_args()
    stayed, judged = Counter[str](), 0
    for subject in asked_for(said.which, said.names, said.heaviest):
        holds = find_holds(subject.working, subject.survey, subject.brief, SETTINGS).holds
        if not holds:
            print(f"{subject.name:25s} no hold", flush=True)
            continue
        try:
            found = fates(holds[0], Surface.of(subject.working, subject.survey), subject.survey)
        except ArithmeticError as error:
            print(f"{subject.name:25s} not judged: {error}", flush=True)
            continue
        judged += 1
        stayed.update(trial for trial, ruling in found.items() if ruling.stayed)
        shake = next((check.value for check in holds[0].checks if check.name == "shake-withstood"), None)
        withstood = "-" if shake is None else f"{shake:.2f} g"
        print(f"{subject.name:25s} {holds[0].family or 'free search':24s} withstands {withstood:6s}  "
              + "  ".join(f"{trial} {told(ruling)}" for trial, ruling in found.items()), flush=True)
    print("; ".join(f"{trial} {stayed[trial]} of {judged}" for trial in TRIALS))


if __name__ == "__main__":
    main()
