"""The families' mounts for one object in one attitude, those that the gates let pass, in the order of their likelihood.

The families that suit an object best are asked first. Of each that suits it nearly as well as the best, one mount is
wanted before a second of any, so that ways of mounting are compared and not only places; those that suit it less are
asked only where none of these is sound. What cannot carry the weight or stands pad on pad is dropped unjudged. Used by
`find`.
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from scanprep.hold.families.footing import footing, standing_well_first
from scanprep.hold.families.records import FamilyMount, MountFamily
from scanprep.hold.families.registry import FAMILIES
from scanprep.hold.families.scene import Scene
from scanprep.hold.families.verdicts import carries, gated, passes, plausible
from scanprep.hold.records import TipSet
from scanprep.hold.statics.gates import GateResults

_LOOKED_AT, _JUDGED = 40, 8  # tolerance: mounts of a family proposed and judged; more cost time
_FEWER_JUDGED, _LEAST_SUITS = 2, 0.3  # tolerance: likewise, in a view that is only an alternative
_GENTLER = 2  # tolerance: sets of a family from which no sound mount came, tried again sprung on gently
_UNSOUND = 5  # tolerance: sets of a family handed on from which no sound mount came, after which it is given up

Judged = Callable[[], GateResults]  # what the gates say of a set; of one that fails anyhow reckoned when it is read


def family_offers(scene: Scene, judged: list[Judged], sound: Sequence[str] = (), *, straight: bool = True
                  ) -> Iterator[TipSet]:
    """Yield sets that pass every gate, of each family till one is sound, then another; `judged` takes the gates' words.

    sound     names of the families of which a sound mount was drawn so far: whoever draws them adds to it
    straight  this is the view that the object asks for: others are alternatives, and get less of everything
    """
    ranked = sorted(((round(family.suits(scene), 6), -k, family) for k, family in enumerate(FAMILIES)), reverse=True,
                    key=lambda one: one[:2])
    asked = [_Asked(family, suits, scene, judged, _JUDGED if straight else _FEWER_JUDGED)
             for suits, _, family in ranked if suits > (0.0 if straight else _LEAST_SUITS)]
    first = asked[0].suits if asked else 0.0
    alike = [one for one in asked if one.suits >= first - scene.rules.suits_alike]
    for wanted in (1, 2) if straight else (1,):
        for one in alike:
            yield from one.until(wanted, sound)
    for one in asked[len(alike):]:
        if not sound:
            yield from one.until(1, sound)


class _Asked:
    """One family, asked for mounts until enough of them were sound or too many were not."""

    def __init__(self, family: MountFamily, suits: float, scene: Scene, judged: list[Judged], most: int) -> None:
        self.suits = suits
        self._name, self._scene, self._judged = family.name, scene, judged
        self._mounts = itertools.islice(standing_well_first(_worth(family.proposals(scene), scene), scene), most)
        self._passed = self._softened = 0

    def until(self, wanted: int, sound: Sequence[str]) -> Iterator[TipSet]:
        """Yield its sets until so many of its mounts were drawn and are sound."""
        while sound.count(self._name) < wanted and self._passed < wanted + _UNSOUND and \
                (mount := next(self._mounts, None)) is not None:
            mount = replace(mount, suits=self.suits * mount.suits * footing(mount, self._scene))
            if not carries(mount, self._scene):
                self._judged.append(functools.partial(_results, mount, self._scene))
                continue
            tipset, results = gated(mount, self._scene)
            self._judged.append(known(results))
            if passes(results):
                self._passed += 1
                before = sound.count(self._name)
                yield tipset
                if sound.count(self._name) == before:
                    yield from self._gentler(mount, results)

    def _gentler(self, mount: FamilyMount, results: GateResults) -> Iterator[TipSet]:
        """Yield the set of which no sound mount came sprung on gently, where its shape holds it: wires that would bend
        for good under the force that friction asks of them may bear what keeps their tips pressed."""
        rules, loads = self._scene.rules, self._scene.loads
        if self._softened >= _GENTLER or results.shape_g < loads.shape_g or results.preload_ratio < rules.preload_ratio:
            return
        self._softened += 1
        tipset, results = gated(mount, self._scene, gently=True)
        self._judged.append(known(results))
        if passes(results):
            yield tipset


def known(results: GateResults) -> Judged:
    """Return what the gates have said of a set."""
    return lambda: results


def _results(mount: FamilyMount, scene: Scene) -> GateResults:
    return gated(mount, scene)[1]


def _worth(mounts: Iterator[FamilyMount], scene: Scene) -> Iterator[FamilyMount]:
    """Mounts worth judging, none twice: two asked places may be moved to one."""
    seen: set[tuple[tuple[object, ...], ...]] = set()
    for mount in itertools.islice(mounts, _LOOKED_AT):
        same = tuple((wire.kind, None if wire.ring is None else wire.ring.strip,
                      *(round(float(v), 1) for face in wire.faces for v in (*face.point_mm, *face.normal)))
                     for wire in mount.wires)
        if same not in seen and plausible(mount, scene):
            yield mount
        seen.add(same)
