"""Twelve holes from an empty folder to their removal, told through the command line alone, with the papers read back.

Twelve like tiles on both faces of one sheet: released, drilled, installed, signed off; then a mass is corrected, the
sheet is measured thinner, one object is withdrawn and one refused. What was drilled or made never changes by what
follows. Positions are worked out here by hand from the checklist and the readings; papers are read with libraries that
did not write them.
"""

import csv
import io
import json
import re
from pathlib import Path

import ezdxf
import openpyxl
import pypdfium2
import pytest
from pytest import approx

from scanprep.errors import RecordError
from scanprep.findings import Verdict
from tests.cli.telling import Told, share_study, write_tiles
from tests.papers.small_pictures import small_pictures

pytestmark = pytest.mark.slow

NUMBERS = [str(k) for k in range(1, 13)]
PEOPLE = {"Ada": "conservator", "Ben": "mountmaker", "Cora": ["curator", "designer"], "Dan": "driller",
          "Eve": "checker", "Finn": "installer"}
WIDTH_MM = 700.0  # of the sheet that a new case has
KINDS = ("templates", "drills", "schedule", "rods", "labels", "install", "removal")
TUTORIAL = Path(__file__).parents[2] / "docs" / "tutorial" / "from-scan-to-released-hole.md"


def place(number):
    """(face, X from the datum edge, Y) as the checklist has them: eight on face A, four on face B."""
    k = NUMBERS.index(number)
    return "A" if k < 8 else "B", 110.0 + 150.0 * (k % 4), 900.0 + 100.0 * (k // 4)


def right_mm(number):
    """How far right of its plan a finished mount's post comes out, as its face's viewer sees it."""
    return 0.2 + 0.05 * int(number)


UP_MM = -0.3


def hole_at(number):
    """(X, Y) of its hole: the plan corrected by the finished mount. Face B's viewer has X running to the left."""
    face, x, y = place(number)
    return x + (right_mm(number) if face == "A" else -right_mm(number)), y + UP_MM


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
            yield what, which, f"{right_mm(which):.2f} mm", f"{UP_MM} mm", "0.5 deg"


@pytest.fixture(scope="module", autouse=True)
def small():
    """What the pictures of holds show is not looked at here."""
    with small_pictures():
        yield


@pytest.fixture(scope="module")
def story(tmp_path_factory):
    """Everything known and agreed of twelve tiles."""
    story = Told(tmp_path_factory.mktemp("story") / "case")
    story.say("new", "--title", "Twelve tiles", by=None)
    text = (story.root / "case.toml").read_text(encoding="utf-8").replace('grade = "unknown"', 'grade = "cell cast"')
    text = text.replace('[site]\n', '[site]\nbarrier = "everyone"\n')
    people = "\n".join(f'"{name}" = {json.dumps(roles)}' for name, roles in PEOPLE.items())
    shop = '[rules.post]\nstocked = ["3/16"]\n'
    (story.root / "case.toml").write_text(f"{text}\n[people]\n{people}\n{shop}", encoding="utf-8")
    write_tiles(story.root, NUMBERS)
    lines = ["number,title,material,scan,unit,mass,condition,up,front,attitude,panel,face,x,y,pad"]
    for number in NUMBERS:
        face, x, y = place(number)
        lines.append(f"{number},tile {number},earthenware / terracotta,scans/{number}.ply,mm,30 g,sound,+y,+z,face-on,"
                     f"West,{face},{x:g} mm,{y:g} mm,suede")
    checklist = story.root / "checklist.csv"
    checklist.write_text("\n".join(lines) + "\n", encoding="utf-8")
    story.say("intake", checklist)
    share_study(story.root, NUMBERS)
    story.say("batch", "--workers", 0, code=None)
    story.say("choose", "all", 1, by="Cora")
    story.say("agree", "all", "contacts", by="Ada")
    story.say("agree", "all", "angle,place", by="Cora")
    blank = story.root / "to-measure.csv"
    story.say("measured", "--blank", blank, "--workers", 0)
    with blank.open(encoding="utf-8", newline="") as stream:
        story.asked = [(row["what"], row["which"]) for row in csv.DictReader(stream)]
    told = story.say("measured", story.table("measured.csv", *filled(story.asked)), "--workers", 0)
    # papers and this sentence name one place: X from the datum, on face B too
    assert "object 9: diameter 4.750 mm, was 4.763 mm; depth 21.5 mm" in told and "hole at X 109.4, Y 1099.7 mm" in told
    return story


def frozen(state):
    """What is made and drilled, as the record has it."""
    return ({n: state.life(n).made for n in state.objects if state.life(n).made is not None},
            {h.number: (h.panel, h.face, h.from_left_mm, h.y_mm, h.real) for h in state.holes if h.was_drilled})


def stops_of(story, number):
    """The stops that `check` finds about one object."""
    found = story.told("check", "--workers", 0, code=None)["findings"]
    return [f["sentence"] for f in found if f["verdict"] == Verdict.STOP.value
            and f["subject"] == f"object {number}"]


class Papers:
    """The papers' folder, read back."""

    def __init__(self, root):
        self.root = root

    def rows(self, name):
        with (self.root / name).open(encoding="utf-8-sig", newline="") as stream:
            return list(csv.DictReader(stream))

    def page(self, name):
        """A sheet of lists.xlsx as rows."""
        rows = openpyxl.load_workbook(io.BytesIO((self.root / "lists.xlsx").read_bytes()))[name].iter_rows(
            values_only=True)
        heads = next(rows)
        return [dict(zip(heads, row, strict=True)) for row in rows]

    def drawing(self, face):
        """(circles on drilling layers as (X, Y, diameter), every hole's facts) of a face's DXF."""
        space = ezdxf.readfile(self.root / "templates" / f"West-{face}.dxf").modelspace()
        drilled = [(c.dxf.center.x if face == "A" else WIDTH_MM - c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius)
                   for c in space.query("CIRCLE") if c.dxf.layer.startswith("DRILL_")]
        facts = [{a.dxf.tag: a.dxf.text for a in one.attribs} for one in space.query("INSERT")]
        return drilled, {one["OBJECT"]: one for one in facts if "NO" in one}

    def words(self, name):
        """The text of a PDF, all pages."""
        book = pypdfium2.PdfDocument((self.root / name).read_bytes())
        return "\n".join(page.get_textpage().get_text_range() for page in book)

    def controls(self):
        """File -> (identity, issue) as the register has them; each stands in the file itself."""
        papers = json.loads((self.root / "register.json").read_text(encoding="utf-8"))["papers"]
        found = {}
        for file, paper in papers.items():
            if not paper["withdrawn_by"]:
                control = paper["issues"][-1]["control"]
                found[file] = control["identity"], control["issue"]
                if file.endswith(".pdf"):
                    assert f"issue {control['issue']}, paper {control['identity']}" in self.words(file), file
                elif not file.endswith(".xlsx"):
                    text = (self.root / file).read_text(encoding="utf-8-sig")
                    assert f"scanprep paper {control['identity']} issue {control['issue']}" in text, file
        return found


def test_from_an_empty_folder_to_removal(story):
    # released: by nine commands with the one below, and one table
    assert [what for what, _ in story.asked] == ["rod", *["coupon"] * 5, "sheet", *["mount"] * 12]
    releases = story.releases()
    commands = len(story.commands)
    assert {n: r["reasons"] for n, r in releases.items() if not r["released"]} == {}
    assert sorted(releases, key=int) == NUMBERS
    tutorial = TUTORIAL.read_text(encoding="utf-8")
    assert re.search(r"\*\*(\w+) commands\*\*", tutorial)[1] == {9: "nine"}[commands]
    asked = {"rod": 2, "coupon": 25, "sheet": 2, "mount": 3}  # readings that filled() gives
    assert f"| finished mounts: right, up, turned | {asked['mount']} readings | {12 * asked['mount']} readings |" in \
        tutorial

    # the papers say one thing of each hole: that of the checklist and the readings
    story.told("papers", *KINDS, "--workers", 0)
    papers = Papers(story.root / "papers")
    first = papers.controls()
    assert {issue for _, issue in first.values()} == {1}
    expected = {n: (place(n)[0], *hole_at(n)) for n in NUMBERS}
    for face, count in (("A", 8), ("B", 4)):
        drilling, facts = papers.drawing(face)
        wanted = [expected[n][1:] for n in NUMBERS if expected[n][0] == face]
        assert sorted(c[:2] for c in drilling) == [approx(at, abs=1e-3) for at in sorted(wanted)]
        assert len(facts) == count and {f["RELEASE"] for f in facts.values()} == {"released"}
        ordinates = papers.words(f"templates/West-{face}-ordinates.pdf")
        for number, one in facts.items():
            assert (float(one["X"]), float(one["Y"])) == approx(expected[number][1:], abs=1e-3)
            assert f"{expected[number][1]:.2f}" in ordinates and one["NO"] in ordinates
        assert "NOT FOR DRILLING" not in ordinates
    # seat 20 mm and 1.5 mm beneath it, in a sheet of 29.8 mm with its web of 6 mm and a point of 1.5 mm: it fits
    drill = next(which for what, which in story.asked if what == "coupon")
    for rows in (papers.rows("drill-list.csv"), papers.page("drill list")):
        assert {r["object"]: (r["face"], float(r["x_mm"]), float(r["y_mm"])) for r in rows} == {
            n: (face, approx(x, abs=1e-3), approx(y, abs=1e-3)) for n, (face, x, y) in expected.items()}
        assert {(r["drill"], float(r["depth_mm"]), r["release"]) for r in rows} == {(drill, 21.5, "released")}
    for rows in (papers.rows("schedule.csv"), papers.page("schedule")):
        assert {r["object"]: float(r["x_mm"]) for r in rows} == {
            n: approx(x, abs=0.051) for n, (_, x, _) in expected.items()}
    assert "HELD" not in papers.words("labels.pdf") and "NOT FOR DRILLING" not in papers.words("drill-list.pdf")
    identity = first["drill-list.pdf"][0]
    assert story.told("papers", "--verify", identity)["may_be_used"] is True

    # marked and drilled, as the list says but for one that went deeper
    story.say("made", "all", "marked")
    rest = ",".join(n for n in NUMBERS if n != "2")
    story.say("drilled", rest, "--drill", drill, "--depth", "21.5mm", "--checked-by", "Eve", by="Dan")
    story.say("drilled", 2, "--drill", drill, "--depth", "22.5mm", "--checked-by", "Eve", by="Dan")
    assert not any(r["released"] for r in story.releases().values())  # nothing is drilled twice
    (stop,) = [s for s in stops_of(story, "2") if "hole is drilled with" in s]
    assert "22.5 mm deep; planned now is 21.5 mm" in stop
    story.say("settle", "2", "drilled-depth", "--reason", "seat marked on the post", by="Ben")

    # dry-fitted, installed, signed off
    with pytest.raises(RecordError, match="dry-fitted first"):
        story.say("made", "1", "installed", by="Finn")
    story.say("made", "all", "dry-fitted")
    story.say("made", "all", "installed", by="Finn")
    story.say("signoff", "--reason", "opening", "--workers", 0, by="Cora")
    before = frozen(story.state)
    assert len(before[0]) == len(before[1]) == len(NUMBERS)

    # a late change: what is signed off asks for reasons, what is real stays
    case_file = story.root / "case.toml"
    text = case_file.read_text(encoding="utf-8")
    case_file.write_text(text.replace("max_post_diameters = 3", "max_post_diameters = 2"), encoding="utf-8")
    with pytest.raises(RecordError, match=r"signed off.*max post diameters 2, was 3"):
        story.say("release", by=None)
    story.say("inputs", "--reason", "the designer's wish", by="Cora")
    late = story.table("late.csv", ("mass", "2", "31 g"), ("sheet", "West", "28.1 mm"))
    with pytest.raises(Exception, match="needs a reason"):
        story.say("measured", late, "--workers", 0)
    told = story.say("measured", late, "--workers", 0, "--reason", "measured again at the opening")
    assert "object 2" in told
    with pytest.raises(RecordError, match="contacts is for conservator to say"):
        story.say("refuse", "1", "contacts", "--reason", "felt sheds", by="Ben")
    story.say("refuse", "1", "contacts", "--reason", "the suede stains", by="Ada")
    with pytest.raises(RecordError, match="take it out first"):
        story.say("withdraw", "3", "--reason", "lender", by="Cora")
    story.say("moved", "3", "removed", "--note", "sound, no marks", by="Finn")
    story.say("withdraw", "3", "--reason", "the lender asks for it", by="Cora")
    assert frozen(story.state) == before  # whatever was said
    (void,) = [h for h in story.state.holes if h.object == "3"]
    story.say("plug", void.number, "--with", "acrylic rod")
    story.say("condition", "4", "a chip at the foot, old", by="Ada")
    story.say("moved", "4", "removed", "--note", "lent to the school; sound", by="Finn")
    found = stops_of(story, "1"), stops_of(story, "2")
    assert "object 1: Ada refuses its contacts: the suede stains" in found[0]
    assert [s for s in found[1] if "its hole is drilled with" in s]  # settled for another sheet

    # issued anew: what is real is printed, nothing is left to drill, and a note says what to recall
    done = story.told("papers", "--workers", 0, *KINDS)
    assert done["note"] and story.told("papers", "--verify", identity, code=1)["standing"] == "superseded"
    note = papers.words(done["note"])
    second = papers.controls()
    for file in ("drill-list.pdf", "templates/West-A.dxf", "templates/West-A-ordinates.pdf", "labels.pdf"):
        assert second[file][1] == 2 and second[file][0] != first[file][0]
        assert file in note and first[file][0] in note and second[file][0] in note
    drawings = {face: papers.drawing(face) for face in "AB"}
    assert all(drilling == [] for drilling, _ in drawings.values())
    real = {n: one for _, facts in drawings.values() for n, one in facts.items()}
    for number, one in real.items():
        assert (float(one["X"]), float(one["Y"])) == approx(hole_at(number), abs=1e-3)
        assert float(one["DEPTH"]) == (22.5 if number == "2" else 21.5)  # as drilled, whatever is planned now
        assert one["STATE"] == ("void" if number == "3" else "drilled")
    assert sorted(real, key=int) == NUMBERS
    assert "3" not in {r["object"] for r in papers.rows("schedule.csv")}
    assert not any(row["hole"] for row in papers.rows("drill-list.csv"))

    # the removal sheet: objects first, each with its state and its last condition; the hole given up and plugged
    out = {r["object"]: r for r in papers.rows("removal.csv") if r["what"] == "object"}
    assert sorted(out, key=int) == [n for n in NUMBERS if n != "3"]
    assert [r["what"] for r in papers.rows("removal.csv")] == ["object"] * 11 + ["mount"] * 11
    assert out["4"]["by_the_record"].endswith("lent to the school; sound") and out["5"]["by_the_record"] == "installed"
    assert out["4"]["last_condition"].endswith("a chip at the foot, old")
    sheet = papers.words("removal.pdf").replace("\r\n", " ").replace("\n", " ")
    assert "plugged with acrylic rod" in sheet and "object 3 withdrawn" in sheet

    # another pad, the refusal taken back; removal
    story.say("agree", "1", "contacts", "--reason", "washed suede", by="Ada")
    story.say("moved", "1", "removed", "--note", "end of the display; sound", by="Finn")
    assert story.state.life("1").whereabouts == "removed" and not story.state.life("1").refusals
    assert frozen(story.state) == before
    told = story.say("history", "3", by=None)
    for words in ("drilled hole", "said it is removed (sound, no marks)", "withdrew it from the display: the lender"):
        assert words in told, words
    told = story.say("history", by=None)
    assert "took what case.toml says now: max post diameters 2, was 3: the designer's wish" in told
