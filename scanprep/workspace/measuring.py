"""The bench's table of measurements: what is still to be measured, taking it on record, and what it changed.

A mount whose finished axis is measured is on record as made and fitted with it. Used by the `measured` command.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.case.record import decide, measuring
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.fold import fold
from scanprep.errors import InputError, RecordError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.measured_table import MeasuredRow, Wanted, blank_bytes, read_measured
from scanprep.findings import Verdict
from scanprep.numbering import natural_key
from scanprep.panel.faces import datum_x_of
from scanprep.post.drill import drill_name, parse_drill, same_drill
from scanprep.post.measure import PAD, to_measure
from scanprep.post.records import Hole
from scanprep.post.rod_names import same_rod
from scanprep.spec import MountSpec
from scanprep.workspace.batch import Progress, compute_case
from scanprep.workspace.decisions import made_now
from scanprep.workspace.executor import make_executor
from scanprep.workspace.folder import CaseFolder, person_name


def wanted(folder: CaseFolder, workers: int | None, tell: Progress) -> tuple[Wanted, ...]:
    """Return what a case still waits for to be measured, things of the whole case first, then by object."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        specs = compute_case(folder, executor, tell).specs
    plans = [spec.plan for spec in specs.values() if spec.plan is not None]
    found = [Wanted("rod", label, "micrometer, at up to five places")
             for label in sorted({p.post.rod for p in plans}, key=natural_key)
             if not any(same_rod(label, rod.label) for rod in folder.case.measured_rods)]
    found += [Wanted("coupon", drill, "hole (mm), line (mm), push (N); an hour later twist (N mm), pull (N)")
              for drill in sorted({p.hole.drill for p in plans}, key=natural_key)
              if not any(same_drill(drill, coupon.drill) for coupon in folder.case.coupons)
              for _ in range(folder.rules.fit.coupons)]
    found += [Wanted("sheet", panel.name, f"calliper where the holes go; ordered {panel.thickness_mm:g} mm")
              for panel in folder.case.panels if not panel.thickness_measured]
    for number in sorted(specs, key=natural_key):
        found += _of_object(folder, specs[number])
    return tuple(found)


def _of_object(folder: CaseFolder, spec: MountSpec) -> list[Wanted]:
    name = spec.title or "untitled"
    found = []
    if not spec.survey.mass_measured:
        found.append(Wanted("mass", spec.number, f"bench scale; {name}"))
    if PAD in to_measure(spec.checks):
        found.append(Wanted("pad", spec.number, f"the conservator names it; {name}"))
    if spec.plan is not None and spec.chosen_by != "proposed" and folder.state.life(spec.number).as_made is None:
        found.append(Wanted("mount", spec.number, f"post's axis right, up (mm), mark turned (deg); {name}"))
    return found


def write_blank(folder: CaseFolder, target: Path, workers: int | None, tell: Progress) -> tuple[Wanted, ...]:
    """Write a blank table of what a case waits for; return its lines. Raises InputError where the file exists."""
    if target.exists():
        raise InputError(file=target, problem="is already there", remedy="Name a new file; nothing is overwritten")
    rows = wanted(folder, workers, tell)
    write_atomically(target, blank_bytes(rows, target.suffix.lower()))
    return rows


@dataclass(frozen=True, slots=True)
class Measuring:
    """What a table put on record, and what that changed in the plan."""

    entries: int
    changes: tuple[str, ...]  # sentences, one an object


def take_table(folder: CaseFolder, table: Path, person: str | None, reason: str, workers: int | None,
               tell: Progress) -> tuple[CaseFolder, Measuring]:
    """Put a filled table on record, all or none, and say what each object's plan became by it.

    Raises InputError with the row where a measurement cannot be one.
    """
    entries = entries_of(folder, read_measured(table), table, person_name(person), reason)
    if not entries:
        return folder, Measuring(0, ())
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        before = compute_case(folder, executor, tell).specs
        after = folder.say(entries, person)
        now = compute_case(after, executor, tell)
    widths_mm = {panel.name: panel.width_mm for panel in after.case.panels}
    changes = [text for number in sorted(now.specs, key=natural_key)
               for text in (plan_changes(before.get(number), now.specs[number], widths_mm),) if text]
    had = {one.rule for one in folder.spreads if one.used}
    own = [one.words for one in after.spreads if one.used and one.rule not in had]
    return after, Measuring(len(entries), (*own, *now.rods.changes, *changes))


def entries_of(folder: CaseFolder, rows: Sequence[MeasuredRow], table: Path, person: str,
               reason: str) -> tuple[NewEntry, ...]:
    """Return the entries of a table's rows; each sees the record as the rows before it leave it."""
    entries: list[NewEntry] = []
    tried = Counter[str]()
    for row in rows:
        so_far = _pretend(folder, entries, person)
        tried[row.which] += row.what == "coupon"
        try:
            entries += _entries(so_far, row, reason or row.note, tried[row.which])
        except (RecordError, InputError) as problem:
            raise InputError(file=table, field=f"row {row.row}", problem=str(problem),
                             remedy="Nothing of the table was taken; correct that row") from problem
    return tuple(entries)


def _pretend(folder: CaseFolder, new: Sequence[NewEntry], person: str) -> CaseFolder:
    """The case as it would stand with further entries."""
    last = folder.state.seq
    entries = (*folder.entries, *(Entry(last + i, "", person, None, e.kind, e.object, e.payload, e.reason, "", "")
                                  for i, e in enumerate(new, start=1)))
    state = fold(entries)
    return replace(folder, case=measuring.with_measured(folder.case, state.measured), entries=entries, state=state)


def _entries(folder: CaseFolder, row: MeasuredRow, reason: str, coupon: int) -> tuple[NewEntry, ...]:
    state, which = folder.state, row.which
    if row.what == "rod":
        return measuring.measured_rod(state, which, row.readings, reason)
    if row.what == "test hole":
        return measuring.measured_hole(state, which, row.readings, reason, row.note)
    if row.what == "coupon":
        hole_mm, line_mm, push_N, twist_Nmm, pull_N = row.readings
        more = {"line_mm": line_mm or None, "push_N": push_N, "twist_Nmm": twist_Nmm, "pull_N": pull_N}
        return measuring.measured_hole(state, which, (hole_mm,), reason, row.note, more, coupon)
    if row.what == "sheet":
        return measuring.measured_sheet(state, folder.case, which, row.readings, reason)
    if row.what == "mass":
        return measuring.weighed(state, which, row.readings[0], reason)
    if row.what == "pad":
        return measuring.named_pad(state, which, row.text, reason)
    return _mount(folder, which, row.readings, reason)


def _mount(folder: CaseFolder, number: str, readings: Sequence[float], reason: str) -> tuple[NewEntry, ...]:
    """A measured mount is made and fitted; where the record does not say so yet, it does with this."""
    made: tuple[NewEntry, ...] = ()
    life = folder.state.life(number)
    if not life.come_to("made"):
        decide.reach_stage(folder.state, number, "made", reason)
        made = decide.reach_stage(folder.state, number, "made", reason, made_now(folder, number, None, None, None))
    if not life.come_to("fitted"):
        made += (NewEntry("stage", number, {"stage": "fitted"}, reason),)
    so_far = _pretend(folder, made, "")
    dx_mm, dy_mm, turned_deg = readings
    return (*made, *decide.measure_axis(so_far.state, number, dx_mm, dy_mm, turned_deg, reason))


def coupon_entries(folder: CaseFolder, drill: str, hole_mm: float, line_mm: float | None, push_N: float | None,
                   twist_Nmm: float | None, pull_N: float | None, note: str, reason: str, anew: bool
                   ) -> tuple[NewEntry, ...]:
    """Return the entry of one coupon as the bench reads it, the next of its drill's series.

    anew  it begins a new series, which takes the place of the one before
    """
    name = drill_name(parse_drill(drill))
    tried = sum(what == "test hole" and measuring.drill_of(which) == name and one.values.get("push_N") is not None
                for (what, which), one in folder.state.measured.items())
    more = {"line_mm": line_mm, "push_N": push_N, "twist_Nmm": twist_Nmm, "pull_N": pull_N}
    return measuring.measured_hole(folder.state, drill, (hole_mm,), reason, note, more, 1 if anew else tried + 1)


def plan_changes(before: MountSpec | None, now: MountSpec, widths_mm: Mapping[str, float]) -> str:
    """Return what became of one object's plan, as a sentence; empty where nothing did.

    widths_mm  of the sheets, by name
    """
    if before is None or before.plan is None or now.plan is None:
        return "" if before is not None and (before.plan is None) == (now.plan is None) else \
            f"object {now.number}: it has {'a' if now.plan is not None else 'no'} post now"
    old, new = before.plan, now.plan
    told = [f"{name} {after}, was {was}" for name, was, after in (
        ("rod", old.post.rod, new.post.rod),
        ("diameter", f"{old.post.diameter_mm:.3f} mm", f"{new.post.diameter_mm:.3f} mm"),
        ("drill", old.hole.drill, new.hole.drill),
        ("depth", _depth(old.hole.through, old.hole.depth_mm), _depth(new.hole.through, new.hole.depth_mm)),
        ("cut length", f"{old.post.cut_length_mm:.1f} mm", f"{new.post.cut_length_mm:.1f} mm"),
        ("hole at", _at(old.hole, widths_mm), _at(new.hole, widths_mm)),
        ("verdict", before.verdict.value, now.verdict.value)) if was != after]
    had = {f.code for f in before.findings if f.verdict is Verdict.STOP}
    told += [f"new stop: {f.sentence.removeprefix(f'object {now.number}: ')}" for f in now.findings
             if f.verdict is Verdict.STOP and f.code not in had]
    return f"object {now.number}: {'; '.join(told)}" if told else ""


def _depth(through: bool, depth_mm: float) -> str:
    return "through" if through else f"{depth_mm:.1f} mm"


def _at(hole: Hole, widths_mm: Mapping[str, float]) -> str:
    if hole.panel is None or hole.face is None or hole.from_left_mm is None or hole.y_mm is None:
        return "no place"
    return f"X {datum_x_of(hole.face, hole.from_left_mm, widths_mm[hole.panel]):.1f}, Y {hole.y_mm:.1f} mm"
