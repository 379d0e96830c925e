"""The wall of a case: proposals for places, nudges, tries, the order of installation, taken to the record when wanted.

Everything here is computed from the record and the kept studies; only `take` writes. Tries lie as small files in the
case folder's `tries`, beside the record, never in it. Used by the wall commands.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from scanprep.case.arrange.comparison import Comparison, compare, refused, tried
from scanprep.case.arrange.first_layout import Arrangement, arrange
from scanprep.case.arrange.nudge import Nudge, nudge
from scanprep.case.arrange.spacing import FaceSpacing, face_svg, rhythm
from scanprep.case.check.checks import CaseChecks
from scanprep.case.lists.install_order import InstallPlan, plan_order
from scanprep.case.lists.schedule_rows import check_case, every_finding
from scanprep.case.lists.settled_rods import choose_rod, choose_sizes
from scanprep.case.placed import FacePosition
from scanprep.case.record.decide import place_many, take_off
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.fold import names_as_now
from scanprep.case.release import HoleRelease, hole_releases
from scanprep.errors import InputError
from scanprep.file_names import safe_name
from scanprep.files.atomic_write import write_atomically
from scanprep.findings import Verdict
from scanprep.numbering import natural_key
from scanprep.panel.faces import FACES
from scanprep.plain_values import from_plain, to_plain
from scanprep.post import stocked_rods
from scanprep.post.plan import find_rod
from scanprep.post.records import Rod
from scanprep.workspace.batch import Progress, compute_case
from scanprep.workspace.executor import make_executor
from scanprep.workspace.folder import CaseFolder


@dataclass(frozen=True, slots=True)
class Proposal:
    """An arrangement with the small moves that clear what it left."""

    arrangement: Arrangement
    stands: Mapping[str, FacePosition]  # of the new objects, nudged
    stops: int  # of the whole case, so arranged


def wall_checks(folder: CaseFolder, workers: int | None, tell: Progress) -> CaseChecks:
    """Return the case as the record has it, studied where it was not yet, ready for moves."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        done = compute_case(folder, executor, tell)
    return CaseChecks(done.placed, folder.case, folder.rules, folder.state.holes)


def stop_sentences(folder: CaseFolder, workers: int | None, tell: Progress) -> tuple[str, ...]:
    """Return every stop of the case as a sentence: between objects, of each one, and scans that cannot be used."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        done = compute_case(folder, executor, tell)
    findings = every_finding(check_case(done.placed, folder.case, folder.state, folder.rules),
                             tuple(done.specs.values()), done.placed, folder.case, folder.rules)
    unusable = (f"object {number}: {why}" for number, why in done.failures.items())
    return (*unusable, *(f.sentence for f in findings if f.verdict is Verdict.STOP))


def releases(folder: CaseFolder, workers: int | None, tell: Progress) -> tuple[HoleRelease, ...]:
    """Return which holes may be drilled now, and what the others wait for."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        done = compute_case(folder, executor, tell)
    findings = check_case(done.placed, folder.case, folder.state, folder.rules)
    return hole_releases(folder.case, folder.state, done.specs, done.placed, findings, folder.rules.fit)


def rod_rows(folder: CaseFolder, workers: int | None, tell: Progress) -> list[tuple[str, str, str, str]]:
    """Return (object, rod, how it is on record, thinnest rod that serves) for each object that has a hold."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        done = compute_case(folder, executor, tell)
    rows = []
    for number in sorted(done.rods.rods, key=natural_key):
        on_record, need = folder.state.rods.get(number), done.specs[number].need
        made = folder.state.life(number).made
        how = "made" if made is not None else "not yet" if on_record is None else on_record.how
        enough = "none in stock" if need is None or need.thinnest is None else need.thinnest.label
        rows.append((number, done.rods.rods[number].label, how, enough))
    return rows


def rod_choices(folder: CaseFolder, chosen: Sequence[tuple[str, str]], sizes: str | None,
                reason: str) -> tuple[NewEntry, ...]:
    """Return the entries that put people's choice of rods on record. Raises InputError for a rod not in stock."""
    entries: list[NewEntry] = []
    if sizes is not None:
        rods = [_stocked(folder, name) for name in sizes.split(",") if name.strip()]
        entries += choose_sizes(folder.state, rods, folder.case.max_post_diameters, reason)
    for number, name in chosen:
        entries += choose_rod(folder.state, number, _stocked(folder, name), reason)
    return tuple(entries)


def _stocked(folder: CaseFolder, name: str) -> Rod:
    label = find_rod(name).label
    stocked = stocked_rods(folder.rules, folder.case)
    found = next((rod for rod in stocked if rod.label == label), None)
    if found is None:
        raise InputError(field="rod", value=name, problem="is not in stock",
                         remedy=f"Take one of {', '.join(rod.label for rod in stocked)}, or add it to what is stocked")
    return found


def installation(folder: CaseFolder, workers: int | None, tell: Progress) -> InstallPlan:
    """Return the order in which everything goes in."""
    checks = wall_checks(folder, workers, tell)
    return plan_order(tuple(checks.placed.values()), folder.case, folder.rules, checks.gaps)


def with_try(folder: CaseFolder, name: str, moves: Mapping[str, FacePosition | None]) -> dict[str, FacePosition | None]:
    """Return a try with further moves, and keep it. Without moves it has to be there already."""
    for number, stand in moves.items():
        folder.object(number)
        if stand is not None:
            folder.panel(stand.panel)
    stands = {**(kept_try(folder, name) if not moves or _try_path(folder, name).exists() else {}), **moves}
    if moves:
        keep_try(folder, name, stands)
    return stands


def compared(folder: CaseFolder, name: str, stands: Mapping[str, FacePosition | None], against: str | None,
             workers: int | None, tell: Progress) -> tuple[Comparison, tuple[str, ...]]:
    """Return a try beside the record or another try, and the moves that the record would refuse."""
    other = None if against is None else kept_try(folder, against)
    base = wall_checks(folder, workers, tell)
    left = ("record", base) if against is None or other is None else (against, tried(base, other))
    return compare(base, left, (name, tried(base, stands))), refused(base, stands)


def propose(base: CaseChecks, seed: int = 0) -> tuple[Proposal, ...]:
    """Return proposals for the objects without a place, fewest stops first. Objects that stand are not moved."""
    new = {number for number, item in base.placed.items() if item.stand is None}
    proposals = []
    for arrangement in arrange(tuple(base.placed.values()), base.case, base.rules, seed):
        trial = tried(base, arrangement.stands)
        moves = nudge(trial, seed, still=frozenset(base.placed) - new).moves
        stands = {**arrangement.stands, **{move.number: move.after for move in moves}}
        proposals.append(Proposal(arrangement, stands, len(tried(base, stands).stops())))
    return tuple(sorted(proposals, key=lambda p: (len(p.arrangement.left_out), p.stops, p.arrangement.score)))


def nudged(base: CaseChecks, seed: int = 0) -> Nudge:
    """Return the least moves that clear every stop."""
    return nudge(base, seed)


def take(folder: CaseFolder, stands: Mapping[str, FacePosition | None], person: str | None, reason: str) -> CaseFolder:
    """Put places on record, all or none; None takes an object off its panel, where it has a place there."""
    off = [entry for number, stand in stands.items() if stand is None and number in folder.state.placements
           for entry in take_off(folder.state, number, reason)]
    moves = []
    for number, stand in stands.items():
        if stand is None:
            continue
        made = folder.state.life(number).as_made
        dx_mm, dy_mm = (0.0, 0.0) if made is None else (made.dx_mm, made.dy_mm)
        moves.append((number, folder.panel(stand.panel), stand.face, stand.from_left_mm - dx_mm, stand.y_mm - dy_mm))
    return folder.say((*off, *place_many(folder.state, moves, reason)), person)


def faces_drawn(folder: CaseFolder, name: str | None, workers: int | None, tell: Progress
                ) -> tuple[tuple[FaceSpacing, ...], tuple[Path, ...]]:
    """Return the figures of every face that carries objects, and a picture of each, written under `out/faces`.

    name  of a try to draw instead of the record; its pictures lie in a folder of that name, also of a face that the try
          leaves empty, and show where the record has what the try moves
    """
    stands = None if name is None else kept_try(folder, name)
    base = wall_checks(folder, workers, tell)
    checks = base if stands is None else tried(base, stands)
    placed, was = tuple(checks.placed.values()), tuple(base.placed.values())
    figures = rhythm(placed, folder.case, folder.rules, checks.outlines)
    target = folder.out / "faces" / (name or "")
    pictures = []
    for panel in folder.case.panels:
        for face in FACES:
            if any(item.stand is not None and (item.stand.panel, item.stand.face) == (panel.name, face)
                   for item in (*placed, *was)):
                path = target / f"{safe_name(panel.name)}-{face}.svg"
                write_atomically(path, face_svg(placed, panel, face, checks.outlines, was))
                pictures.append(path)
    return figures, tuple(pictures)


def keep_try(folder: CaseFolder, name: str, stands: Mapping[str, FacePosition | None]) -> None:
    """Keep a try as a small file. Raises InputError on a name that is no file name."""
    plain = {"entry": folder.state.seq, "stands": {number: to_plain(stand) for number, stand in stands.items()}}
    write_atomically(_try_path(folder, name), json.dumps(plain, indent=1, ensure_ascii=False, sort_keys=True) + "\n")


def kept_tries(folder: CaseFolder) -> tuple[str, ...]:
    """Return the names of a case's kept tries."""
    return tuple(sorted(path.stem for path in (folder.root / "tries").glob("*.json")))


def kept_try(folder: CaseFolder, name: str) -> dict[str, FacePosition | None]:
    """Return a kept try. Raises InputError when there is none of that name, it cannot be read or fits another case."""
    path = _try_path(folder, name)
    if not path.exists():
        there = ", ".join(kept_tries(folder)) or "none yet"
        raise InputError(field="NAME", value=name, problem="is no try of this case", remedy=f"There are: {there}")
    try:
        plain = json.loads(path.read_text(encoding="utf-8"))
        stands = {str(number): from_plain(FacePosition | None, None if stand is None else names_as_now(stand))
                  for number, stand in plain["stands"].items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
        raise InputError(file=path, problem=f"is not a try ({problem})", remedy="Remove it and try again") from problem
    panels = [panel.name for panel in folder.case.panels]
    for number, stand in stands.items():
        if number not in folder.state.objects or (stand is not None and stand.panel not in panels):
            at = "" if stand is None else f" on panel {stand.panel!r}"
            raise InputError(file=path, problem=f"puts object {number}{at}, which this case does not have",
                             remedy="Remove it and try again")
    return stands


def _try_path(folder: CaseFolder, name: str) -> Path:
    if not name or not all(c.isalnum() or c in "-_ " for c in name):
        raise InputError(field="NAME", value=repr(name), problem="cannot be the name of a try",
                         remedy="Use letters, digits, - and _")
    return folder.root / "tries" / f"{name}.json"
