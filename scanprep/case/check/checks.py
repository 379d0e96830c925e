"""Every check between the objects of a case, as findings that say what to do.

`CaseChecks` looks at everything once and stays with a table of people who drag objects about: after one move only what
that object touches is looked at again. Positions are face coordinates; pairs are judged in the panel's own
frame. Used by the check command, the roll-up and the review.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.check import holes as hole_checks
from scanprep.case.check.clashes import Gaps
from scanprep.case.check.outlines import Outlines
from scanprep.case.placed import PlacedObject
from scanprep.case.record.state import RecordedHole
from scanprep.findings import Finding, Verdict
from scanprep.panel.faces import from_other_left_mm
from scanprep.rules import Rulebook, Who, overridden, override_note

_IN_FACE_mm = 0.01  # tolerance: the post's own end lies in the face

Box = tuple[str, float, float, float, float]  # panel; x low, x high, y low, y high in the panel frame


class CaseChecks:
    """A case under the eyes of people who move things.

    recorded  the record's holes; the void ones count in spacing
    """

    def __init__(self, placed: Sequence[PlacedObject], case: CaseBrief, rules: Rulebook,
                 recorded: Iterable[RecordedHole] = ()) -> None:
        self.case, self.rules = case, rules
        self.panels = {panel.name: panel for panel in case.panels}
        self._recorded = tuple(recorded)
        self._void = {name: hole_checks.void_holes(self._recorded, panel, rules)
                      for name, panel in self.panels.items()}
        self.gaps, self.outlines = Gaps(), Outlines()
        self.placed: dict[str, PlacedObject] = {}
        self._boxes: dict[str, Box] = {}
        self._single: dict[str, tuple[Finding, ...]] = {}
        self._pairs: dict[tuple[str, str], tuple[Finding, ...]] = {}
        for item in placed:
            self._set(item)
        numbers = list(self._boxes)
        for i, number in enumerate(numbers):
            self._look_at_pairs(number, numbers[:i])

    def copy(self) -> CaseChecks:
        """Return the same case to try things on; what was measured is shared, moves are not."""
        twin = object.__new__(CaseChecks)
        twin.case, twin.rules, twin.panels = self.case, self.rules, self.panels
        twin._recorded, twin._void, twin.gaps, twin.outlines = self._recorded, self._void, self.gaps, self.outlines
        twin.placed, twin._boxes = dict(self.placed), dict(self._boxes)
        twin._single, twin._pairs = dict(self._single), dict(self._pairs)
        return twin

    def with_recorded(self, recorded: Iterable[RecordedHole]) -> CaseChecks:
        """Return the same case with other holes on record; what only void holes bear on is looked at again."""
        twin = self.copy()
        twin._recorded = tuple(recorded)
        twin._void = {name: hole_checks.void_holes(twin._recorded, panel, self.rules)
                      for name, panel in self.panels.items()}
        for item in tuple(twin.placed.values()):
            twin._set(item)
        return twin

    def void_on(self, panel: str) -> tuple[hole_checks.NamedHole, ...]:
        """Return a panel's void holes."""
        return self._void.get(panel, ())

    def boxes_apart_mm(self, one: str, other: str) -> float:
        """Return the gap between two objects' boxes in the panel frame; inf where either has no place or another."""
        a, b = self._boxes.get(one), self._boxes.get(other)
        if a is None or b is None or a[0] != b[0]:
            return float("inf")
        across, upward = max(a[1] - b[2], b[1] - a[2], 0.0), max(a[3] - b[4], b[3] - a[4], 0.0)
        return float(np.hypot(across, upward))

    def update(self, item: PlacedObject) -> None:
        """Take an object's new place (or its first, or none) and look again at what it touches."""
        for key in [key for key in self._pairs if item.number in key]:
            del self._pairs[key]
        self._set(item)
        self._look_at_pairs(item.number, [number for number in self._boxes if number != item.number])

    def findings(self) -> tuple[Finding, ...]:
        """Return all findings, worst first, each once."""
        found = [f for group in (*self._single.values(), *self._pairs.values()) for f in group]
        found += self._of_the_case()
        return tuple(sorted(found, key=lambda f: (-f.verdict.loudness, f.code, f.subject)))

    def findings_of(self, number: str) -> tuple[Finding, ...]:
        """Return the findings that one object has a part in, worst first."""
        found = list(self._single.get(number, ()))
        found += [f for key, group in self._pairs.items() if number in key for f in group]
        return tuple(sorted(found, key=lambda f: (-f.verdict.loudness, f.code)))

    def stops(self) -> tuple[tuple[tuple[str, ...], Finding], ...]:
        """Return the findings that say stop, each with the objects that take part in it."""
        single = [((number,), f) for number, group in self._single.items() for f in group]
        pairs = [(key, f) for key, group in self._pairs.items() for f in group]
        return tuple((who, f) for who, f in (*single, *pairs) if f.verdict is Verdict.STOP)

    def _set(self, item: PlacedObject) -> None:
        self.placed[item.number] = item
        self._boxes.pop(item.number, None)
        panel = None if item.stand is None else self.panels.get(item.stand.panel)
        if panel is not None:
            self._boxes[item.number] = self._box(item, panel)
        self._single[item.number] = self._alone(item, panel)

    def _box(self, item: PlacedObject, panel: PanelBrief) -> Box:
        low, high = self.gaps.box_mm(item)
        x_low, x_high = float(low[0]), float(high[0])
        if item.stand is not None and item.stand.face == "B":
            x_low, x_high = (from_other_left_mm(x_high, panel.width_mm), from_other_left_mm(x_low, panel.width_mm))
        return panel.name, x_low, x_high, float(low[1]), float(high[1])

    def _look_at_pairs(self, number: str, others: Sequence[str]) -> None:
        if number not in self._boxes or not others:
            return
        panel, *own = self._boxes[number]
        reach = max(self.rules.case.object_gap_mm, self.rules.case.outline_gap_mm,
                    hole_checks.reach_mm(self.rules))
        bounds = np.array([self._boxes[other][1:] for other in others])
        near = ((bounds[:, 0] < own[1] + reach) & (bounds[:, 1] > own[0] - reach)
                & (bounds[:, 2] < own[3] + reach) & (bounds[:, 3] > own[2] - reach))
        for index in np.flatnonzero(near):
            other = others[int(index)]
            if self._boxes[other][0] == panel:
                first, second = sorted((number, other))
                found = self._pair(self.placed[first], self.placed[second], self.panels[panel])
                if found:
                    self._pairs[(first, second)] = found

    def _alone(self, item: PlacedObject, panel: PanelBrief | None) -> tuple[Finding, ...]:
        subject = f"object {item.number}"
        found: list[Finding] = []
        if item.hold is None:
            found.append(Finding("no-hold-chosen", subject, Verdict.STOP, f"{subject} has no hold",
                                 "Look at its holds (`scanprep holds`) and choose one, or try other angles"))
        elif item.plan is None:
            found.append(Finding("no-post", subject, Verdict.STOP, f"{subject} has a hold but no post",
                                 "Run the batch again, or stock a thicker rod"))
        if item.stand is None:
            return (*found, Finding("unplaced", subject, Verdict.LOOK, f"{subject} has no place on a panel yet",
                                    "Place it, or let `scanprep arrange` propose a place"))
        if panel is None:
            return (*found, Finding("unknown-panel", subject, Verdict.STOP,
                                    f"{subject} is placed on {item.stand.panel}, which the case file does not have",
                                    f"Place it on one of: {', '.join(self.panels) or 'none yet'}"))
        found += self._on_sheet(item, panel)
        edge = hole_checks.edge_finding(item, panel, self.rules)
        found += [edge] if edge else []
        hole = item.hole()
        for void in self._void[panel.name] if hole is not None else ():
            named = hole_checks.NamedHole(subject, hole)  # type: ignore[arg-type]  # the loop is empty without a hole
            found += hole_checks.pair_findings(named, void, panel, self.rules)
        if not self.gaps.closed(item):
            found.append(Finding("gap-from-samples", subject, Verdict.LOOK,
                                 f"{subject}: its mesh is not closed, so its distances to others are lower bounds",
                                 "Repair the scan, or look at it by hand"))
        return tuple(found)

    def _on_sheet(self, item: PlacedObject, panel: PanelBrief) -> list[Finding]:
        subject, gap = f"object {item.number}", self.rules.case.edge_gap_mm
        found = []
        low, high = self.outlines.box_mm(item)
        inside = min(low[0], panel.width_mm - high[0], low[1], panel.height_mm - high[1])
        if inside < gap:
            over = "stands over the edge" if inside < 0 else f"comes to {inside:.1f} mm from the edge"
            found.append(Finding("outline-near-edge", subject, Verdict.STOP if inside < 0 else Verdict.LOOK,
                                 f"{subject} {over} of {panel.name}; {gap:.0f} mm are required",
                                 f"Move it {gap - inside:.1f} mm inwards", float(inside), gap, "mm"))
        behind = float(self.gaps.box_mm(item)[0][2])
        if behind < -_IN_FACE_mm:
            found.append(Finding("runs-into-sheet", subject, Verdict.STOP,
                                 f"{subject} or its mount runs {-behind:.1f} mm into the sheet",
                                 f"Make its stand-off {-behind:.1f} mm longer", behind, 0.0, "mm"))
        height = panel.stands_at_mm + float(item.origin_mm[1])
        limit = self.rules.case.fine_detail_high_mm
        if item.fine_detail and height > limit:
            found.append(Finding("fine-detail-high", subject, Verdict.LOOK,
                                 f"{subject} has fine detail and stands {height:.0f} mm above the floor; above "
                                 f"{limit:.0f} mm seated and short people see it only from below",
                                 f"Move it {height - limit:.0f} mm down", height, limit, "mm"))
        return found

    def _pair(self, a: PlacedObject, b: PlacedObject, panel: PanelBrief) -> tuple[Finding, ...]:
        found: list[Finding] = []
        if a.stand is not None and b.stand is not None and a.stand.face == b.stand.face:
            found += self._gap_findings(a, b)
        found += self.outlines.in_front(a, b, panel, self.rules.case.speck_mm2)
        one, other = a.hole(), b.hole()
        if one is not None and other is not None:
            first = hole_checks.NamedHole(f"object {a.number}", one)
            second = hole_checks.NamedHole(f"object {b.number}", other)
            found += hole_checks.pair_findings(first, second, panel, self.rules)
        return tuple(found)

    def _gap_findings(self, a: PlacedObject, b: PlacedObject) -> list[Finding]:
        subject, limit = f"object {a.number}", self.rules.case.object_gap_mm
        gap = self.gaps.gap(a, b, limit)
        if gap is not None:
            parts = " and ".join(f"{'the mount of ' if part == 'mount' else ''}object {item.number}"
                                 for part, item in zip(gap.parts, (a, b)))
            how = "touch or run into each other" if gap.gap_mm <= 0 else f"come to {gap.gap_mm:.1f} mm of each other"
            least = "" if gap.exact else " at the least (a mesh is not closed)"
            return [Finding("objects-too-near", subject, Verdict.STOP,
                            f"{parts} {how}{least}; {limit:.0f} mm are required",
                            f"Move one of them about {limit - gap.gap_mm:.1f} mm away", gap.gap_mm, limit, "mm")]
        apart, wanted = self.outlines.apart_mm(a, b), self.rules.case.outline_gap_mm
        if apart < wanted:
            how = "overlap as seen from the front" if apart <= 0 else f"are {apart:.1f} mm apart as seen from the front"
            return [Finding("outlines-too-near", subject, Verdict.LOOK,
                            f"objects {a.number} and {b.number} {how}; {wanted:.0f} mm are required",
                            f"Move one of them {wanted - apart:.1f} mm away", apart, wanted, "mm")]
        return []

    def _of_the_case(self) -> list[Finding]:
        found = [finding] if (finding := _changed_rules(self.rules)) else []
        sizes = sorted({item.plan.post.rod for item in self.placed.values() if item.plan is not None})
        most = self.case.max_post_diameters
        if len(sizes) <= most:
            return found
        return [*found, Finding("too-many-diameters", "case", Verdict.STOP, f"the case has {len(sizes)} post diameters "
                        f"({', '.join(sizes)}); at most {most} are allowed",
                        "Run the batch again so that the diameters are chosen over all objects", len(sizes), most, "")]


def _changed_rules(rules: Rulebook) -> Finding | None:
    """The rows that the case changes; those of the conservator or the engineer want a look."""
    owners = {row.who for row in overridden(rules)} - {Who.SHOP}
    if not (note := override_note(rules)):
        return None
    return Finding("rules-changed", "case", Verdict.LOOK if owners else Verdict.OK, note,
                   f"Have the {' and the '.join(sorted(owners))} agree to it in writing" if owners else "")
