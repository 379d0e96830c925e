"""A case folder: its case file, its record, and where everything in it lies.

Reading only; what changes is said to the record through `say`, with the number of the last entry seen, so that two
people at once are told of each other.
"""

from __future__ import annotations

import getpass
import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.brief import CaseBrief, ObjectBrief, PanelBrief
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.fold import fold
from scanprep.case.record.inputs import case_inputs, check_same_case, take_inputs
from scanprep.case.record.intake import Intake, intake
from scanprep.case.record.measuring import with_measured
from scanprep.case.record.shop import OwnSpread, own_spreads, with_own_spreads
from scanprep.case.record.state import CaseState
from scanprep.errors import InputError, RecordError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.cache import Cache
from scanprep.files.case_file import read_case
from scanprep.files.checklist import left_aside, read_whole_checklist
from scanprep.files.ledger import ChangedUnderneathError, Ledger
from scanprep.files.new_case import CASE_FILE
from scanprep.files.record_health import check_whole, note_head, read_head
from scanprep.files.scan_urls import ScanPlace, place_under
from scanprep.numbering import natural_key
from scanprep.rules import Rulebook

RECORD = "record.sqlite"
MOST_TRIES = 20  # tolerance: of writing while others write of other objects


def person_name(given: str | None = None) -> str:
    """Return who is deciding: as given, or SCANPREP_PERSON, or the name of the login."""
    return given or os.environ.get("SCANPREP_PERSON") or getpass.getuser()


@dataclass(frozen=True, slots=True, eq=False)
class CaseFolder:
    """A case as it stands at one entry of its record."""

    root: Path
    case: CaseBrief  # what was measured since the case file was written is in it
    rules: Rulebook
    entries: tuple[Entry, ...]
    state: CaseState
    spreads: tuple[OwnSpread, ...] = ()  # what the shop's own readings say

    @property
    def cache_dir(self) -> Path:
        """Where results are kept: next to the case, or in the folder SCANPREP_CACHE names, shared by many cases."""
        shared = os.environ.get("SCANPREP_CACHE")
        return Path(shared) if shared else self.root / ".cache"

    @property
    def cache(self) -> Cache:
        """Results that may be thrown away."""
        return Cache(self.cache_dir)

    @property
    def own_cache(self) -> Cache:
        """What is remembered of this case's own files, wherever results are kept."""
        return Cache(self.root / ".cache")

    @property
    def out(self) -> Path:
        """Where specifications and lists are written."""
        return self.root / "out"

    def panel(self, name: str) -> PanelBrief:
        """Return a panel by name. Raises InputError naming those there are."""
        for panel in self.case.panels:
            if panel.name == name:
                return panel
        names = ", ".join(p.name for p in self.case.panels)
        raise InputError(field="panel", value=repr(name), problem="is no panel of this case",
                         remedy=f"The panels in case.toml are: {names or 'none yet'}")

    def object(self, number: str) -> ObjectBrief:
        """Return an object's checklist line. Raises InputError where the checklist has none of that number."""
        brief = self.state.objects.get(number)
        if brief is None:
            known = ", ".join(list(self.state.objects)[:8])
            raise InputError(field="OBJECT", value=number, problem="is not in this case's checklist",
                             remedy=f"Take it in with `scanprep intake`; there are: {known or 'none yet'}")
        return brief

    def numbers(self, text: str) -> tuple[str, ...]:
        """Return the objects that a person named: one, several with commas between, or `all` that are shown.

        Raises InputError where the checklist has none of such a number.
        """
        if text in self.state.objects:
            return (text,)  # a number may hold a comma of its own
        if self.means_all(text):
            return tuple(sorted(self.state.shown, key=natural_key))
        named = tuple(dict.fromkeys(part.strip() for part in text.split(",") if part.strip()))
        for number in named or (text,):
            self.object(number)
        return named

    def means_all(self, text: str) -> bool:
        """Whether a person named no object but `all` that are shown."""
        return text.strip().lower() == "all" and text not in self.state.objects

    def scan_place(self, brief: ObjectBrief) -> ScanPlace:
        """Return where an object's scan lies: below `scans_at` of the case file where it says so, else the case."""
        if self.case.scans_at is not None:
            return place_under(self.case.scans_at, brief.scan, self.root)
        return self.root / brief.scan

    def say(self, entries: Sequence[NewEntry], person: str | None) -> CaseFolder:
        """Put decisions on record, all or none, and return the case as it then stands.

        What others wrote meanwhile about other objects is no hindrance. Raises RecordError telling what changed
        underneath where they wrote of the same ones, of the case as a whole, or numbered a hole too.
        """
        review = self.state.open_session  # what is decided between reviews belongs to none
        seen = self.state.seq
        with Ledger(self.root / RECORD) as ledger:
            for _ in range(MOST_TRIES):
                try:
                    ledger.append(list(entries), person=person_name(person), session=review.number if review else None,
                                  expected_seq=seen)
                    break
                except ChangedUnderneathError as changed:
                    if not apart(entries, changed.entries):
                        raise
                    seen = changed.entries[-1].seq
            else:
                raise RecordError("others write to the record without a pause. Say it again in a moment")
            note_head(self.root, ledger.entries())
        return open_case(self.root)


def apart(said: Sequence[NewEntry], meanwhile: Sequence[Entry]) -> bool:
    """Return whether decisions and what others decided meanwhile have nothing to do with each other."""
    ours, theirs = {entry.object for entry in said}, {entry.object for entry in meanwhile}
    both_number = all(any("hole" in entry.payload for entry in each) for each in (said, meanwhile))
    return None not in ours | theirs and not ours & theirs and not both_number


def open_case(root: Path, person: str | None = None, reason: str = "", *, take: bool = True) -> CaseFolder:
    """Return the case in a folder, after taking on record what its case file says, where that has changed.

    person  who is at work: the change goes on record as theirs
    reason  why the case file has changed; required once the case is signed off
    take    False: the file is read and nothing is taken; for reading the record only

    Raises InputError where there is none, or where a file in it cannot be used, and RecordError where the case is
    signed off and its file changed without a reason.
    """
    case_file = root / CASE_FILE
    if not case_file.exists():
        raise InputError(file=root, problem="holds no case (there is no case.toml)",
                         remedy="Start one with `scanprep new DIR`, or see one with `scanprep demo DIR`")
    case, rules = read_case(case_file)
    if not os.access(root, os.W_OK) and (root / RECORD).exists():
        return _looked_at(root, case, rules)
    with Ledger(root / RECORD, create=True) as ledger:
        head = read_head(root)  # before the entries: another program may be writing
        entries = ledger.entries()
        check_whole(root, head, entries)
        state = fold(entries)
        check_same_case(state.inputs, case)
        said = take_inputs(state.inputs, case_inputs(case, rules), state.signed_off is not None, reason) if take else ()
        if said:
            review = state.open_session
            ledger.append(said, person=person_name(person), session=review.number if review else None,
                          expected_seq=state.seq)
            entries = ledger.entries()
            state = fold(entries)
    note_head(root, entries)
    return _as_measured(root, case, rules, entries, state)


def _looked_at(root: Path, case: CaseBrief, rules: Rulebook) -> CaseFolder:
    """Return a case that cannot be written to, as its record stands; what its case file says since is not taken."""
    with Ledger(root / RECORD, look=True) as ledger:
        head = read_head(root)
        entries = ledger.entries()
    check_whole(root, head, entries)
    state = fold(entries)
    check_same_case(state.inputs, case)
    return _as_measured(root, case, rules, entries, state)


def _as_measured(root: Path, case: CaseBrief, rules: Rulebook, entries: tuple[Entry, ...],
                 state: CaseState) -> CaseFolder:
    """A case with what was measured in place of what its file orders, and the shop's own spreads in its rules."""
    case = with_measured(case, state.measured)
    spreads = own_spreads(state, case.coupons, rules)
    return CaseFolder(root, case, with_own_spreads(rules, spreads), entries, state, spreads)


def read_intake(folder: CaseFolder, checklist: Path, reason: str = "") -> Intake:
    """Return what a checklist would change, without changing anything."""
    read = read_whole_checklist(checklist, folder.case.columns)
    changes = intake(folder.state, read.briefs, folder.case.panels, reason)
    return replace(changes, left_aside=left_aside(read.not_read))


def take_intake(folder: CaseFolder, checklist: Path, changes: Intake, person: str | None) -> CaseFolder:
    """Put a read checklist on record and keep a copy of the file as it was taken."""
    after = folder.say(changes.entries, person) if changes.entries else folder
    kept = folder.root / "checklists" / f"{after.state.seq:06d}-{checklist.name}"
    if changes.entries:
        write_atomically(kept, checklist.read_bytes())
    return after
