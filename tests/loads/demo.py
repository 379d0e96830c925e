"""Nine holds of the invented demo case, as they were found, so that a load table is tested without finding them anew.

Kept as plain values (`demo_holds.json`): what they weigh and where their wires run is input here, never the answer.
"""

import functools
import json
from pathlib import Path

from scanprep.brief import CaseBrief, CouponResult, PanelBrief, RodMeasured
from scanprep.hold.records import Hold
from scanprep.plain_values import from_plain
from scanprep.rules import Rulebook
from scanprep.survey.records import Survey

RULES = Rulebook()
PANEL = PanelBrief("Quay", 700, 2200, 30.0, thickness_measured=True, grade="cell cast", foot_known="designed",
                   top_restraint=True)


@functools.cache
def kept():
    """Each object's hold, survey and material, by number."""
    plain = json.loads(Path(__file__).with_name("demo_holds.json").read_text(encoding="utf-8"))
    return {number: (from_plain(Hold, one["hold"]), from_plain(Survey, one["survey"]), one["material"])
            for number, one in plain.items()}


NUMBERS = tuple(json.loads(Path(__file__).with_name("demo_holds.json").read_text(encoding="utf-8")))


def snug(rod, hole_mm, drill, **more):
    """A case whose rod and hole are measured."""
    return CaseBrief("C", panels=(PANEL,), measured_rods=(RodMeasured(rod, hole_mm + 0.008),),
                     coupons=(CouponResult(drill, hole_mm, 0.001),), **more)
