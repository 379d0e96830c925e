"""One case from an empty folder to its removal, told through the command line alone.

Three tiles on one sheet: released, drilled, installed, signed off; then a mass is corrected, the sheet is measured
thinner, one object is withdrawn and one refused. What was drilled or made never changes by what follows.
"""

import csv
import json

import pytest
import trimesh
from scanprep_cli.main import app
from typer.testing import CliRunner

from scanprep.errors import RecordError
from scanprep.findings import Verdict
from scanprep.workspace.folder import open_case
from tests import shapes

pytestmark = pytest.mark.slow

NUMBERS = ["1", "2", "3"]
PEOPLE = {"Ada": "conservator", "Ben": "mountmaker", "Cora": ["curator", "designer"], "Dan": "driller",
          "Eve": "checker", "Finn": "installer"}


class Story:
    """A case folder, the commands said about it, and how many there were."""

    def __init__(self, root):
        self.root, self.commands = root, 0

    def say(self, command, *words, by="Ben", code=0):
        """Run a command; return what it prints."""
        self.commands += 1
        person = ["--person", by] if by else []
        done = CliRunner().invoke(app, [command, str(self.root), *map(str, words), *person])
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        assert code is None or done.exit_code == code, done.output
        return done.stdout

    def told(self, command, *words, by=None, code=0):
        """Run a command for its JSON."""
        return json.loads(self.say(command, *words, "--json", by=by, code=code))

    def releases(self):
        """The release of each object's standing hole."""
        found = self.told("release", "--workers", 1)["releases"]
        return {r["object"]: r for r in found if r["state"] != "void"}

    def table(self, name, *lines):
        """A filled table of measurements."""
        path = self.root / name
        heads = ["what", "which", "about", *(f"reading {i}" for i in range(1, 6)), "note"]
        with path.open("w", newline="", encoding="utf-8") as stream:
            rows = csv.writer(stream)
            rows.writerow(heads)
            rows.writerows([what, which, "", *readings, *[""] * (5 - len(readings)), ""]
                           for what, which, *readings in lines)
        return path

    @property
    def state(self):
        return open_case(self.root, take=False).state


def frozen(state):
    """What is made and drilled, as the record has it."""
    return ({n: state.life(n).made for n in state.objects if state.life(n).made is not None},
            {h.number: (h.panel, h.face, h.from_left_mm, h.y_mm, h.real) for h in state.holes if h.was_drilled})


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """Everything known and agreed of three tiles."""
    story = Story(tmp_path_factory.mktemp("story") / "case")
    story.say("new", "--title", "Three tiles", by=None)
    text = (story.root / "case.toml").read_text(encoding="utf-8").replace('grade = "unknown"', 'grade = "cell cast"')
    text = text.replace('[site]\n', '[site]\nbarrier = "everyone"\n')
    people = "\n".join(f'"{name}" = {json.dumps(roles)}' for name, roles in PEOPLE.items())
    shop = '[rules.post]\nstocked = ["3/16"]\n'
    (story.root / "case.toml").write_text(f"{text}\n[people]\n{people}\n{shop}", encoding="utf-8")
    lines = []
    for k, number in enumerate(NUMBERS):
        tile = shapes.box(40.0 + k, 36.0, 8.0, 10)
        trimesh.Trimesh(tile.vertices_mm, tile.faces, process=False).export(story.root / "scans" / f"{number}.ply")
        lines.append(f"{number},tile {number},earthenware / terracotta,scans/{number}.ply,mm,30 g,sound,+y,+z,face-on,"
                     f"West,A,{150 + 200 * k} mm,900 mm,suede")
    checklist = story.root / "checklist.csv"
    checklist.write_text("number,title,material,scan,unit,mass,condition,up,front,attitude,panel,face,x,y,pad\n"
                         + "\n".join(lines) + "\n", encoding="utf-8")
    story.say("intake", checklist)
    story.say("batch", "--workers", 1, code=None)
    story.say("choose", "all", 1, by="Cora")
    story.say("agree", "all", "contacts", by="Ada")
    story.say("agree", "all", "angle", by="Cora")
    story.say("agree", "all", "place", by="Cora")
    blank = story.root / "to-measure.csv"
    story.say("measured", "--blank", blank, "--workers", 1)
    with blank.open(encoding="utf-8", newline="") as stream:
        asked = [(row["what"], row["which"]) for row in csv.DictReader(stream)]
    story.asked = asked
    story.say("measured", story.table("measured.csv", *filled(asked)), "--workers", 1)
    return story


def filled(asked):
    """Readings for a blank table: a rod 12 um thin, holes 0.12 mm loose closed by a line, a thin sheet, mounts off."""
    pushes = iter(("58 N", "61 N", "60 N", "57 N", "62 N"))
    for what, which in asked:
        if what == "rod":
            yield what, which, "4.749 mm", "4.751 mm"
        elif what == "coupon":
            yield what, which, "4.870 mm", "0.16 mm", next(pushes), "130 N mm", "50 N"
        elif what == "sheet":
            yield what, which, "29.8 mm", "29.9 mm"
        else:
            assert what == "mount", f"{what} {which} is asked for, though the checklist says it"
            yield what, which, "0.4 mm", "-0.3 mm", "0.5 deg"


def planned(story):
    """Drill and depth of each object, as the schedule prints them."""
    with (story.root / "out" / "schedule.csv").open(encoding="utf-8", newline="") as stream:
        return {row["object"]: (row["drill"], row["depth_mm"]) for row in csv.DictReader(stream)}


def stops_of(story, number):
    """The stops that `check` finds about one object."""
    found = story.told("check", "--workers", 1, code=None)["findings"]
    return [f["sentence"] for f in found if f["verdict"] == Verdict.STOP.value
            and f["subject"] == f"object {number}"]


def test_from_an_empty_folder_to_removal(story):
    # released: by ten commands with the one below, and one table
    assert story.commands == 9
    assert [what for what, _ in story.asked] == ["rod", *["coupon"] * 5, "sheet", *["mount"] * 3]
    releases = story.releases()
    assert {n: r["reasons"] for n, r in releases.items() if not r["released"]} == {}
    assert sorted(releases, key=int) == NUMBERS

    # marked and drilled, as the schedule says but for one that went deeper than its plan
    story.say("made", "all", "marked")
    story.say("batch", "--workers", 1, code=None)
    for (drill, depth), numbers in grouped(planned(story)).items():
        deeper = [n for n in numbers if n == "2"]
        rest = [n for n in numbers if n != "2"]
        if rest:
            story.say("drilled", ",".join(rest), "--drill", drill, "--depth", f"{depth}mm", "--checked-by", "Eve",
                      by="Dan")
        for number in deeper:
            story.say("drilled", number, "--drill", drill, "--depth", f"{float(depth) + 1.0}mm", "--checked-by", "Eve",
                      by="Dan")
    assert not any(r["released"] for r in story.releases().values())  # nothing is drilled twice
    (stop,) = [s for s in stops_of(story, "2") if "hole is drilled with" in s]
    _, depth = planned(story)["2"]  # papers print what is real
    assert f"{float(depth):.1f} mm deep; planned now is {float(depth) - 1:.1f} mm" in stop
    story.say("settle", "2", "drilled-depth", "--reason", "seat marked on the post", by="Ben")
    assert not [s for s in stops_of(story, "2") if "hole is drilled with" in s]

    # dry-fitted, installed, signed off
    with pytest.raises(RecordError, match="dry-fitted first"):
        story.say("made", "1", "installed", by="Finn")
    story.say("made", "all", "dry-fitted")
    story.say("made", "all", "installed", by="Finn")
    story.say("signoff", "--reason", "opening", "--workers", 1, by="Cora")
    before = frozen(story.state)
    assert len(before[0]) == len(before[1]) == len(NUMBERS)

    # a late change: what is signed off asks for reasons, what is real stays
    case_file = story.root / "case.toml"
    text = case_file.read_text(encoding="utf-8")
    case_file.write_text(text.replace("max_post_diameters = 3", "max_post_diameters = 2"), encoding="utf-8")
    with pytest.raises(RecordError, match=r"signed off.*max post diameters 2, was 3"):
        story.say("release", by=None)
    story.say("inputs", "--reason", "the designer's wish", by="Cora")
    late = story.table("late.csv", ("mass", "2", "46 g"), ("sheet", "West", "28.1 mm"))
    with pytest.raises(Exception, match="needs a reason"):
        story.say("measured", late, "--workers", 1)
    told = story.say("measured", late, "--workers", 1, "--reason", "measured again at the opening")
    assert "object 2" in told
    with pytest.raises(RecordError, match="contacts is for conservator to say"):
        story.say("refuse", "1", "contacts", "--reason", "felt sheds", by="Ben")
    story.say("refuse", "1", "contacts", "--reason", "the suede stains", by="Ada")
    with pytest.raises(RecordError, match="take it out first"):
        story.say("withdraw", "3", "--reason", "lender", by="Cora")
    story.say("moved", "3", "removed", "--note", "sound, no marks", by="Finn")
    story.say("withdraw", "3", "--reason", "the lender asks for it", by="Cora")
    assert frozen(story.state) == before  # whatever was said
    assert "object 1: Ada refuses its contacts: the suede stains" in stops_of(story, "1")
    assert [s for s in stops_of(story, "2") if "its hole is drilled with" in s]  # settled for another sheet
    releases = story.releases()
    assert "3" not in releases and not any(r["released"] for r in releases.values())
    holes = {h.number: h for h in story.state.holes}
    (void,) = [h for h in holes.values() if h.object == "3"]
    assert (void.state, void.was_drilled) == ("void", True)

    # re-issue: another pad, the refusal taken back; removal; the void hole plugged
    story.say("agree", "1", "contacts", "--reason", "washed suede", by="Ada")
    assert not [s for s in stops_of(story, "1") if "refuses" in s]
    story.say("plug", void.number, "--with", "acrylic rod")
    story.say("moved", "1", "removed", "--note", "end of the display; sound", by="Finn")
    assert story.state.life("1").whereabouts == "removed"
    assert frozen(story.state) == before
    told = story.say("history", "3", by=None)
    for words in ("drilled hole", "said it is removed (sound, no marks)", "withdrew it from the display: the lender"):
        assert words in told, words
    told = story.say("history", by=None)
    assert "took what case.toml says now: max post diameters 2, was 3: the designer's wish" in told


def grouped(plans):
    """Objects by what is drilled for them."""
    found = {}
    for number, plan in plans.items():
        found.setdefault(plan, []).append(number)
    return found
