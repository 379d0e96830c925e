"""Which rod each post is made of: decided once, kept, and changed only where it must be or a person says so.

The few diameters of a case and each object's rod are on record. What has a rod keeps it as long as it is enough; what
is made keeps it in any case. Only objects without a rod get one, the thinnest of the case's that serves; only where
none does are the diameters chosen anew, over all objects that are not made. Pure; used by the batch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scanprep.case.lists.diameters import choose_diameters
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.state import CaseState
from scanprep.errors import RecordError
from scanprep.findings import Finding, Verdict
from scanprep.numbering import natural_key
from scanprep.post.records import PostNeed, Rod


@dataclass(frozen=True, slots=True)
class RodPlan:
    """Each object's rod, and what of that is not on record yet."""

    rods: Mapping[str, Rod]
    diameters: tuple[Rod, ...]  # of the case, thin to thick
    entries: tuple[NewEntry, ...]  # what would put it on record
    changes: tuple[str, ...]  # sentences: what is new or another rod than on record, and why
    findings: tuple[Finding, ...]  # made posts whose rod is not enough any more

    @property
    def diameters_mm(self) -> tuple[float, ...]:
        """The case's sizes."""
        return tuple(rod.diameter_mm for rod in self.diameters)


def plan_rods(state: CaseState, needs: Mapping[str, PostNeed], stocked: Sequence[Rod], most: int) -> RodPlan:
    """Return each object's rod.

    needs    of every object that has a hold
    stocked  rods of the shop, thin to thick, at least one
    most     diameters in the whole case
    """
    by_label = {rod.label: rod for rod in stocked}
    kept, findings = _kept(state, needs, by_label)
    open_ = {number: need for number, need in needs.items() if number not in kept}
    on_record = () if state.diameters is None else tuple(by_label[r] for r in state.diameters.rods if r in by_label)
    fixed = state.diameters is not None and state.diameters.how == "chosen" and bool(on_record)
    served = bool(on_record) and all(_thinnest(need, on_record) for need in open_.values())
    # what a person chose stays, also where an object needs more: its checks then fail openly
    sizes = on_record if fixed or served or not needs else _anew(needs, kept, stocked, most)
    rods = {**{n: _thinnest(need, sizes) or sizes[-1] for n, need in open_.items()}, **kept}
    entries: list[NewEntry] = []
    changes: list[str] = []
    if sizes and sizes != on_record:
        labels = [rod.label for rod in sizes]
        entries.append(NewEntry("diameters", None, {"rods": labels, "how": "proposed"}))
        was = "" if state.diameters is None else f", were {', '.join(state.diameters.rods)}"
        changes.append(f"post diameters {', '.join(labels)}{was}")
    for number in sorted(open_, key=natural_key):
        before = state.rods.get(number)
        entries.append(NewEntry("rod", number, {"rod": rods[number].label, "how": "proposed"}))
        if before is not None:
            changes.append(f"object {number}: rod {rods[number].label}, was {before.rod}: {needs[number].governs}")
    return RodPlan(rods, sizes, tuple(entries), tuple(changes), tuple(findings))


def _kept(state: CaseState, needs: Mapping[str, PostNeed],
          by_label: Mapping[str, Rod]) -> tuple[dict[str, Rod], list[Finding]]:
    kept: dict[str, Rod] = {}
    findings = []
    for number, need in needs.items():
        made, on_record = state.life(number).made, state.rods.get(number)
        if made is not None and made.rod in by_label:
            kept[number] = by_label[made.rod]
            if not _enough(need, kept[number]):
                findings.append(_unsafe(number, need, kept[number]))
        elif on_record is not None and on_record.rod in by_label:
            rod = by_label[on_record.rod]
            if _enough(need, rod):
                kept[number] = rod
            elif on_record.how == "chosen":  # a person's choice is not overruled in silence
                kept[number] = rod
                findings.append(_unsafe(number, need, rod))
    return kept, findings


def _enough(need: PostNeed, rod: Rod) -> bool:
    return need.thinnest is None or rod.diameter_mm >= need.thinnest.diameter_mm - 1e-9


def _thinnest(need: PostNeed, sizes: Sequence[Rod]) -> Rod | None:
    """The thinnest of some sizes that serves; what no stocked rod is enough for takes the thickest."""
    if need.thinnest is None:
        return sizes[-1] if sizes else None
    return next((rod for rod in sizes if _enough(need, rod)), None)


def _anew(needs: Mapping[str, PostNeed], kept: Mapping[str, Rod], stocked: Sequence[Rod], most: int) -> tuple[Rod, ...]:
    """The case's sizes, at most so many, with those that are kept among them as far as they go."""
    standing = {n: replace(need, thinnest=kept[n]) if n in kept else need for n, need in needs.items()}
    return choose_diameters(standing, stocked, most).chosen


def _unsafe(number: str, need: PostNeed, rod: Rod) -> Finding:
    subject = f"object {number}"
    better = "" if need.thinnest is None else f"; {need.thinnest.label} would be"
    return Finding("rod-not-enough", subject, Verdict.STOP,
                   f"{subject}: its rod {rod.label} is not enough any more{better} ({need.governs})",
                   f"Make its mount anew (`scanprep made DIR {number} again`) or give it another rod (`scanprep rods`)")


def choose_rod(state: CaseState, number: str, rod: Rod, reason: str = "") -> tuple[NewEntry, ...]:
    """Put on record which rod an object's post is made of; the case's diameters take it in.

    Raises RecordError where the mount is made of another one, or where the case is signed off and no reason is given.
    """
    if number not in state.objects:
        raise RecordError(f"object {number} is not on record. Take it in with `scanprep intake`")
    made = state.life(number).made
    if made is not None and made.rod != rod.label:
        raise RecordError(f"object {number}'s mount is made of rod {made.rod}. Make it anew first "
                          f"(`scanprep made DIR {number} again`)")
    if state.signed_off is not None and not reason.strip():
        raise RecordError("the case is signed off: another rod needs a reason. Say --reason")
    before = state.rods.get(number)
    if before is not None and (before.rod, before.how) == (rod.label, "chosen"):
        return ()
    return (NewEntry("rod", number, {"rod": rod.label, "how": "chosen"}, reason),)


def choose_sizes(state: CaseState, rods: Sequence[Rod], most: int, reason: str = "") -> tuple[NewEntry, ...]:
    """Put the case's diameters on record as a person chose them. Raises RecordError where they are too many."""
    labels = [rod.label for rod in sorted(rods, key=lambda rod: rod.diameter_mm)]
    if not labels or len(set(labels)) > most:
        raise RecordError(f"a case has 1 to {most} post diameters (max_post_diameters); {len(set(labels))} were named")
    if state.signed_off is not None and not reason.strip():
        raise RecordError("the case is signed off: other post diameters need a reason. Say --reason")
    if state.diameters is not None and (list(state.diameters.rods), state.diameters.how) == (labels, "chosen"):
        return ()
    return (NewEntry("diameters", None, {"rods": labels, "how": "chosen"}, reason),)
