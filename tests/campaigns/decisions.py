"""A case's life as a row of decisions, one of every kind, and the case before each: what faults are tried on.

Made once in a folder; a trial copies one step's record (some KB) and takes that step again under a fault. Studies are
invented and shared through SCANPREP_CACHE.
"""

from __future__ import annotations

import atexit
import functools
import os
import random
import shutil
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.brief import ObjectBrief
from scanprep.case.record import decide, later_life, measuring, retaining, words
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.intake import intake
from scanprep.post.holding import Proof
from scanprep.review.desk import Desk
from scanprep.review.messages import Decision, MoveTo, Speaker
from scanprep.workspace.folder import CaseFolder, open_case
from scanprep.workspace.logbook import rotate_exports
from tests.review.cases import small_desk

Says = Callable[[CaseFolder], Sequence[NewEntry]]
ONE, TWO, THREE = "FB-001", "FB-002", "FB-003"
BY = Speaker("Ada", "curator")


def _new_brief(folder: CaseFolder) -> Sequence[NewEntry]:
    briefs = [*folder.state.objects.values(), ObjectBrief("FB-099", "late one")]
    return intake(folder.state, briefs, folder.case.panels).entries


def _fewer_briefs(folder: CaseFolder) -> Sequence[NewEntry]:
    briefs = [brief for number, brief in folder.state.objects.items() if number != "FB-099"]
    return intake(folder.state, briefs, folder.case.panels).entries


#: Decisions of the command line, in an order in which each may be said.
SAYS: dict[str, Says] = {
    "session-opened": lambda f: decide.open_session(f.state, "walk round", ("Ada", "Ben")),
    "taken": _new_brief,
    "left-list": _fewer_briefs,
    "placed": lambda f: decide.place(f.state, TWO, f.case.panels[1], "B", 210.0, 900.0),
    "taken-off": lambda f: decide.take_off(f.state, TWO),
    "placed-again": lambda f: decide.place(f.state, TWO, f.case.panels[1], "A", 210.0, 900.0),
    "locked": lambda f: decide.lock(f.state, TWO, True),
    "agreed": lambda f: decide.agree(f.state, ONE, "angle", "as seen", "Ada", f.case),
    "agreed-contacts": lambda f: decide.agree(f.state, ONE, "contacts", "felt", "Ben", f.case),
    "refused": lambda f: words.refuse(f.state, ONE, "place", "lower", "Cy", f.case),
    "word-withdrawn": lambda f: words.take_word_back(f.state, ONE, "place", "Cy"),
    "asked": lambda f: words.ask(f.state, ONE, "place", "Cy", f.case),
    "condition": lambda f: decide.note_condition(f.state, ONE, "a chip at the rim"),
    "measured-rod": lambda f: measuring.measured_rod(f.state, "3/16", (4.75, 4.76)),
    "measured-hole": lambda f: measuring.measured_hole(f.state, "#11", (4.87,)),
    "measured-sheet": lambda f: measuring.measured_sheet(f.state, f.case, "West", (29.8, 30.0)),
    "weighed": lambda f: measuring.weighed(f.state, ONE, 251.0),
    "pad": lambda f: measuring.named_pad(f.state, ONE, "felt"),
    "diameters": lambda f: (NewEntry("diameters", None, {"rods": ["3/16"], "how": "chosen"}),
                            NewEntry("rod", ONE, {"rod": "3/16", "how": "chosen"})),
    "retained": lambda f: retaining.retain(f.state, ONE, "bow"),
    "stage-made": lambda f: decide.reach_stage(f.state, ONE, "made"),
    "remade": lambda f: later_life.make_again(f.state, ONE, "bent"),
    "stage-made-again": lambda f: decide.reach_stage(f.state, ONE, "made"),
    "opened": lambda f: decide.open_mount(f.state, ONE, "to look"),
    "stage-fitted": lambda f: decide.reach_stage(f.state, ONE, "fitted"),
    "axis-measured": lambda f: decide.measure_axis(f.state, ONE, 0.4, -0.2, 1.0),
    "marked": lambda f: decide.mark_hole(f.state, ONE),
    "drilled": lambda f: decide.drill_hole(f.state, ONE, drill="#11", depth_mm=21.0, checked_by="Ben", person="Ada"),
    "stage-dry-fitted": lambda f: decide.reach_stage(f.state, ONE, "dry-fitted"),
    "proof": lambda f: retaining.prove(f.state, ONE, 12.0, 40.0, Proof(10.0, 30.0)),
    "stage-installed": lambda f: decide.reach_stage(f.state, ONE, "installed"),
    "snug-check": lambda f: decide.check_snug(f.state, ONE, True),
    "moved-on": lambda f: later_life.move_on(f.state, ONE, "removed", "sound"),
    "void": lambda f: decide.void_hole(f.state, f.state.placements[ONE].hole or "", "cracked"),
    "reused": lambda f: later_life.reuse(f.state, "H1", THREE, "same place"),
    "void-again": lambda f: decide.void_hole(f.state, "H1", "too wide"),
    "plugged": lambda f: later_life.plug(f.state, "H1", "acrylic rod"),
    "withdrawn": lambda f: later_life.withdraw(f.state, TWO, "not lent"),
    "shown-again": lambda f: later_life.show_again(f.state, TWO),
    "undone": lambda f: decide.take_back(f.entries, f.state, f.entries[-1].seq, "a slip"),
    "session-closed": lambda f: decide.close_session(f.state),
    "signed-off": lambda f: decide.sign_off(f.state, "done"),
    "sign-off-lifted": lambda f: decide.lift_sign_off(f.state, "one more"),
}

#: Whose word it is where it is not Ada's.
SPEAKERS = {"refused": "Cy", "word-withdrawn": "Cy", "agreed-contacts": "Ben"}

#: Decisions of the page on the case as it stood when it was chosen from; each on its own.
PAGE: dict[str, Decision] = {
    "page-place": Decision("place", BY, {}, moves=(MoveTo(TWO, "West", "A", 150.0, 500.0),
                                                   MoveTo(THREE, "East", "B", 300.0, 500.0))),
    "page-hold": Decision("hold", BY, {}, TWO, index=1, words="turned"),
    "page-agree": Decision("agree", BY, {}, ONE, topic="angle", words="as seen"),
    "page-refuse": Decision("refuse", BY, {}, ONE, topic="place", words="lower"),
    "page-ask": Decision("ask", BY, {}, ONE, topic="place", words="right?"),
    "page-note": Decision("note", BY, {}, ONE, words="a chip"),
    "page-lock": Decision("lock", BY, {}, ONE),
    "page-session": Decision("session", BY, {}, words="walk round", people=("Ada",)),
    "page-sign-off": Decision("sign-off", BY, {}, words="done"),
}


@dataclass(frozen=True, slots=True, eq=False)
class Life:
    """The case before each decision, by its name, and the desk that page decisions are taken at."""

    root: Path
    desk: Desk
    adds: dict[str, int]  # how many entries each decision puts on record

    @property
    def names(self) -> tuple[str, ...]:
        """Everything that can be tried."""
        return (*SAYS, *PAGE, "inputs", "export")

    def copy(self, name: str, to: Path) -> Path:
        """Put the case as it stood before a decision into a folder of its own; return it."""
        shutil.rmtree(to, ignore_errors=True)
        shutil.copytree(self.root / "steps" / (name if name in SAYS else "start"), to)
        return to

    def take(self, name: str, root: Path) -> None:
        """Take one decision on a copy of the case."""
        if name in PAGE:
            self.desk.folder = open_case(root)
            self.desk.decide(replace(PAGE[name], base=dict.fromkeys(("", ONE, TWO, THREE), self.desk.folder.state.seq)))
        elif name == "inputs":
            toml = root / "case.toml"
            toml.write_text(toml.read_text(encoding="utf-8").replace('"30 mm"', '"29 mm"'), encoding="utf-8")
            open_case(root, "Ada")
        elif name == "export":
            rotate_exports(open_case(root))
        else:
            folder = open_case(root)
            folder.say(tuple(SAYS[name](folder)), SPEAKERS.get(name, "Ada"))


def live(root: Path) -> Life:
    """Return a whole life, made in a folder."""
    os.environ["SCANPREP_CACHE"] = str(root / "cache")
    desk = small_desk(root / "case", 4)
    desk.decide(Decision("hold", BY, {ONE: desk.folder.state.seq}, ONE, index=1, words="turned"))
    case = root / "case"

    def keep(name: str) -> None:
        open_case(case)  # the write-ahead log is folded in
        (root / "steps" / name).mkdir(parents=True)
        for path in (case / "case.toml", case / "record.sqlite", case / "record.head"):
            shutil.copy(path, root / "steps" / name / path.name)

    keep("start")
    adds = {"inputs": 1, "export": 0, **{name: max(1, len(said.moves)) for name, said in PAGE.items()}}
    for name, says in SAYS.items():
        keep(name)
        folder = open_case(case)
        entries = tuple(says(folder))
        folder.say(entries, SPEAKERS.get(name, "Ada"))
        adds[name] = len(entries)
    return Life(root, desk, adds)


@functools.cache
def shared_life() -> Life:
    """Return a whole life, made once for all campaigns of this process and of those it forks."""
    base = Path("/dev/shm") if Path("/dev/shm").is_dir() else None
    place = Path(tempfile.mkdtemp(dir=base, prefix="campaign-life-"))
    maker = os.getpid()
    atexit.register(lambda: shutil.rmtree(place, ignore_errors=True) if os.getpid() == maker else None)
    return live(place)


def chosen(life: Life, dice: random.Random) -> str:
    """Return a decision to try."""
    return dice.choice(life.names)
