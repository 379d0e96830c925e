"""The families' mounts for one object in one attitude, those that the gates let pass, in the order of their likelihood.

The families that suit an object best are asked first, each for a few mounts: what cannot carry the weight or stands pad
on pad is dropped unjudged. Used by `find`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.registry import FAMILIES
from scanprep.hold.families.scene import Scene
from scanprep.hold.families.verdicts import gated, passes, plausible
from scanprep.hold.records import TipSet
from scanprep.hold.statics.gates import GateResults

_LOOKED_AT, _JUDGED, _DRAWN = 40, 8, 2  # tolerance: mounts of a family proposed, judged, drawn; more cost time
_FEWER_JUDGED, _LEAST_SUITS = 2, 0.3  # tolerance: likewise, in a view that is only an alternative
_UNDRAWN = 4  # tolerance: sets of a family handed on for which no wire was found, after which it is given up


def family_offers(scene: Scene, judged: list[GateResults], drawn: Sequence[str] = (), *, straight: bool = True
                  ) -> Iterator[TipSet]:
    """Yield sets that pass every gate, family by family; `judged` takes what the gates said of all.

    drawn     names of the families of which a mount was drawn so far: whoever draws them adds to it
    straight  this is the view that the object asks for: others are alternatives, and get less of everything
    """
    most_judged, most_drawn = (_JUDGED, _DRAWN) if straight else (_FEWER_JUDGED, 1)
    ranked = sorted(((round(family.suits(scene), 6), -k, family) for k, family in enumerate(FAMILIES)), reverse=True,
                    key=lambda one: one[:2])
    for suits, _, family in ranked:
        if suits <= (0.0 if straight else _LEAST_SUITS):
            continue
        passed = 0
        for mount in itertools.islice(_worth(family.proposals(scene), scene), most_judged):
            tipset, results = gated(replace(mount, suits=suits), scene)
            judged.append(results)
            if passes(results):
                yield tipset
                passed += 1
                if drawn.count(family.name) >= most_drawn or passed >= most_drawn + _UNDRAWN:
                    break


def _worth(mounts: Iterator[FamilyMount], scene: Scene) -> Iterator[FamilyMount]:
    return (mount for mount in itertools.islice(mounts, _LOOKED_AT) if plausible(mount, scene))
