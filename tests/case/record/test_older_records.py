"""Records of an earlier version, kept as they were written: they open, and what they say means what it meant then.

That version called the distance from a face's own left edge `x_mm`, in checklist lines and in places alike.
"""

import json
from pathlib import Path

from scanprep.brief import PanelBrief
from scanprep.case.record.entry import Entry
from scanprep.case.record.fold import fold
from scanprep.case.record.history import history
from scanprep.case.record.intake import intake
from scanprep.files.checklist import read_checklist

KEPT = Path(__file__).parent / "kept" / "positions_called_x.jsonl"
WEST = PanelBrief("West", 700.0, 2200.0)


def entries():
    lines = (json.loads(line) for line in KEPT.read_text(encoding="utf-8").splitlines())
    return [Entry(**line, previous_hash="", hash="") for line in lines]


def test_places_and_holes_are_where_they_were_put():
    # as typed then: 1 at 210 on A, given up, then 300 on B; 2 at 150 on B, its finished mount 2.5 right and 1 lower,
    # drilled; 3 moved to 520 on B
    state = fold(entries())
    assert {n: (p.face, p.from_left_mm, p.y_mm, p.hole) for n, p in state.placements.items()} == {
        "1": ("B", 300.0, 900.0, "H4"), "2": ("B", 150.0, 1100.0, "H2"), "3": ("B", 520.0, 705.0, "H3")}
    assert {h.number: (h.from_left_mm, h.y_mm, h.state) for h in state.holes} == {
        "H2": (152.5, 1099.0, "drilled"), "H3": (520.0, 705.0, "planned"), "H4": (300.0, 900.0, "planned")}
    assert (state.lines["2"].from_left_mm, state.lines["2"].datum_x_mm) == (150.0, None)


def test_its_logbook_names_x_from_the_datum_as_papers_do():
    told = [line.sentence for line in history(entries(), "3")]
    assert told[1] == "placed on West B, X 200.0 mm, Y 700.0 mm, hole H3"  # 700 - 500
    assert told[2] == "moved 20.0 mm right and 5.0 mm up, to West B, X 180.0 mm, Y 705.0 mm, hole H3"  # 700 - 520


def test_its_checklist_read_again_moves_nothing_to_the_mirrored_place(tmp_path):
    path = tmp_path / "list.csv"
    head, rest = "number,title,panel,face,{},y", "1,bowl,West,A,210 mm,900 mm\n2,cup,West,B,150 mm,1100 mm\n3,jug,,,,\n"
    path.write_text(f"{head.format('x')}\n{rest}", encoding="utf-8")
    undrilled = fold([entry for entry in entries() if entry.seq <= 8])
    found = intake(undrilled, read_checklist(path), [WEST])
    assert [e.kind for e in found.entries if e.object == "2"] == ["taken"]
    (refused,) = [c.sentence for c in found.changes if c.kind == "refused"]
    assert "object 2: x 150 mm on face B was read as from the face's own left edge" in refused and "x 550 mm" in refused
    path.write_text(f"{head.format('from left')}\n{rest}", encoding="utf-8")
    assert intake(undrilled, read_checklist(path), [WEST]).entries == ()
