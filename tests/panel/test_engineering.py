"""The engineering note names what governs each object and says who may sign."""

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.cautions import LICENCE
from scanprep.findings import Check, Verdict
from scanprep.panel import FaceLoad, judge_panel, place_anchor
from scanprep.panel.engineering import engineering_note, governing, note_text
from scanprep.post import plan_post, stocked_rods
from scanprep.rules import Rulebook
from tests.post.hung import hold_of_block, survey_of_block

SHOP = Rulebook()
PANEL = PanelBrief("West", 700, 2200, 30.0, thickness_measured=True, grade="cell cast")
CASE = CaseBrief("Birds", panels=(PANEL,), acceleration_g=0.5, site="gallery on the first floor", site_reason="stated")


def note(masses=(100, 400)):
    rod = stocked_rods(SHOP, CASE)[3]
    plans = {str(i): place_anchor(plan_post(hold_of_block(), survey_of_block(m), rod, SHOP, CASE, PANEL), PANEL, "A",
                                  200, 500 + 300 * i) for i, m in enumerate(masses)}
    checks = judge_panel(PANEL, tuple(FaceLoad("A", 200, 500, m, 85) for m in masses), SHOP)
    return engineering_note("Birds", plans, {"West": checks}, SHOP, CASE)


def test_one_row_for_every_object_and_panel():
    assert [row.subject for row in note().rows] == ["object 0", "object 1", "panel West"]


def test_the_loudest_check_with_the_least_margin_governs():
    def check(name, margin, verdict):
        return Check(name, 1.0, margin, "mm", margin, "", verdict)

    found = governing([check("a", 3.0, Verdict.OK), check("b", 0.9, Verdict.LOOK), check("c", 0.8, Verdict.LOOK),
                       check("d", 0.1, Verdict.UNMEASURED)])
    assert found is not None and found.name == "c"
    assert governing([]) is None


def test_a_free_tall_panel_is_governed_by_its_first_mode():
    row = note().rows[-1]
    assert row.check == "panel first mode" and row.verdict is Verdict.STOP and row.margin < 1


def test_objects_are_governed_by_a_design_check_not_by_what_a_coupon_answers():
    assert note().rows[0].check not in ("seat turning", "seat pull out", "drill fit")
    assert "rod and test hole" in note().rows[0].to_measure


def test_demand_licence_and_memory_are_said():
    text = " ".join(note_text(note()).split())
    assert "0.5 g in the worst direction" in text and "gallery on the first floor" in text
    assert LICENCE in text and "licensed engineer" in text
    assert "creep modulus of acrylic 1500 MPa" in text
    assert "Hetényi" in text


def test_the_rods_alloy_is_said_with_the_sources_of_its_strength():
    # ASTM B16 free-cutting brass, half hard: 45 ksi (310 MPa) for rod to 1 in, 18 ksi (124 MPa) annealed, as the cited
    # sheets give them; E 97 GPa
    (told,) = [entry for entry in note().assumptions if entry.startswith("rod ")]
    assert "C36000" in told
    assert "E 97000 MPa" in told
    assert "310 typical, 124 annealed" in told
    strength = told.split("strength: ")[1]
    assert "makeitfrom.com" in strength
    assert "E-Z LOK" in strength


def test_every_source_is_there_once():
    found = note()
    assert len(found.sources) == len(set(found.sources)) and len(found.sources) > 8


def test_it_stays_a_page_for_one_panel():
    # a page of 11 pt holds about 60 lines; long lists of objects run on by one or two lines each
    assert len(note_text(note()).splitlines()) < 60


def test_sources_are_short_enough_for_a_sheet():
    assert [source for row in note().rows for source in (row.source,) if len(source) > 60] == []
    plan = plan_post(hold_of_block(), survey_of_block(200), stocked_rods(SHOP, CASE)[3], SHOP, CASE, PANEL)
    checks = (*place_anchor(plan, PANEL, "A", 200, 500).checks, *judge_panel(PANEL, (), SHOP))
    assert all(check.source and len(check.source) <= 60 for check in checks)


def test_a_case_of_thirty_objects_is_still_one_page():
    lines = note_text(note(masses=tuple(range(100, 400, 10)))).splitlines()
    assert len(lines) <= 75  # of 8 pt on A4 or Letter, 3.5 mm a line
    assert max(map(len, lines)) <= 140


def test_what_all_want_is_said_once_and_who_has_no_post_is_named():
    rod = stocked_rods(SHOP, CASE)[3]
    plans = {"1": place_anchor(plan_post(hold_of_block(), survey_of_block(200), rod, SHOP, CASE, PANEL), PANEL, "A",
                               200, 500)}
    text = note_text(engineering_note("Birds", plans, {}, SHOP, CASE, without=("7", "9")))
    assert text.split("Sources:")[0].count("rod and test hole") == 1
    assert "not judged here: 7, 9." in text
