"""The mounts proposed for labelled real scans against the physics engine, each tip on its own arm as it is bent.

    python -m tests.benchmarks.family_referee [known|aside] [NAME ...]

Every first hold is shaken at 0.25 g from all six sides: plain; at 0.7 of its pads' friction; with the centre of mass
off by its stated radius, some way by lot; with every tip 0.5 mm too far in or out, by lot, on 2 N/mm and on its own
arm.
Prints a row an object and the shares that stay.
"""

from __future__ import annotations

import argparse
from collections import Counter

import numpy as np

from scanprep.hold import find_holds
from scanprep.hold.places.spots import Surface
from scanprep.hold.records import Hold
from scanprep.survey.records import Survey
from tests.benchmarks.family_mounts import labelled
from tests.benchmarks.holds_referee import SETTINGS
from tests.referee.arena import arm_springs, rule

SHAKE_g, BEND_mm, SEED = 0.25, 0.5, 1
TRIALS = ("plain", "friction x 0.7", "centre off", "tips off, 2 N/mm", "tips off, own arms")


def fates(hold: Hold, surface: Surface, survey: Survey) -> dict[str, bool]:
    """Whether a hold stays in each trial; raises ArithmeticError where the engine cannot be set up."""
    rng = np.random.default_rng(SEED)
    way, springs = rng.normal(size=3), arm_springs(hold)
    off = survey.centre_radius_mm * way / np.linalg.norm(way)
    bent = BEND_mm * rng.choice([-1.0, 1.0], len(hold.tips))
    friction = SETTINGS.hold.shake_friction_ratio * hold.tips[0].friction
    said = {"plain": {"springs": springs}, "friction x 0.7": {"springs": springs, "friction": friction},
            "centre off": {"springs": springs, "centre_off_mm": off}, "tips off, 2 N/mm": {"bent_mm": bent},
            "tips off, own arms": {"springs": springs, "bent_mm": bent}}
    return {trial: rule(surface, survey, hold, shake_g=SHAKE_g, **said[trial]).stayed  # type: ignore[arg-type]
            for trial in TRIALS}


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("which", nargs="?", choices=("known", "aside"), default="known")
    parser.add_argument("names", nargs="*")
    said = parser.parse_args()
    stayed, judged = Counter[str](), 0
    for one in labelled(said.which == "aside", said.names):
        subject = one.subject
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
        stayed.update(trial for trial, stays in found.items() if stays)
        shake = next((check.value for check in holds[0].checks if check.name == "shake-withstood"), None)
        withstood = "-" if shake is None else f"{shake:.2f} g"
        print(f"{subject.name:25s} {holds[0].family or 'free search':24s} withstands {withstood:6s}  "
              + "  ".join(f"{trial} {'stays' if stays else 'FELL'}" for trial, stays in found.items()), flush=True)
    print("; ".join(f"{trial} {stayed[trial]} of {judged}" for trial in TRIALS))


if __name__ == "__main__":
    main()
