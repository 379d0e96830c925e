"""Panels under everything that hangs on them: loads come from the posts, findings name panel and object."""

from dataclasses import replace

from pytest import approx

from scanprep.case.check.panels import panel_findings, panel_report, panel_reports, row_findings
from scanprep.findings import Verdict
from scanprep.post.records import Preset
from scanprep.rules import Rulebook
from tests import shapes
from tests.case.cases import CASE, WEST, an_object

SHOP = Rulebook()


def hung(number, frequency_Hz=50.0, **more):
    item = an_object(number, shapes.box(40, 40, 40), "West", **more)
    post = replace(item.plan.post, carried_g=500.0, reach_mm=40.0, mass_measured=True, frequency_Hz=frequency_Hz)
    return replace(item, plan=replace(item.plan, post=post))


def test_loads_stand_where_the_objects_do():
    report = panel_report(WEST, (hung(1, left_mm=200.0, y_mm=900.0), hung(2, face="B", left_mm=300.0, y_mm=1500.0)),
                          SHOP)
    assert [(load.face, load.from_left_mm, load.y_mm, load.mass_g) for load in report.loads] == [
        ("A", 200.0, 900.0, 500.0), ("B", 300.0, 1500.0, 500.0)]
    # half the sheet and the reach: 15 + 40
    assert report.loads[0].offset_mm == approx(55)


def test_every_panel_reports_even_a_bare_one():
    assert [report.name for report in panel_reports((hung(1, left_mm=200, y_mm=900),), CASE, SHOP)] == ["West", "East",
                                                                                                    "South"]


def test_a_tall_free_panel_stops_the_case():
    found = {(f.subject, f.code): f for f in panel_findings((hung(1, left_mm=200, y_mm=900),), CASE, SHOP)}
    assert found[("panel West", "panel-first-mode")].verdict is Verdict.STOP


def test_an_object_in_step_with_its_panel_is_named():
    modes = panel_report(WEST, (hung(1, left_mm=200, y_mm=900),), SHOP)
    calm = panel_findings((hung(1, 50.0, left_mm=200, y_mm=900),), CASE, SHOP)
    swaying = panel_findings((hung(1, 9.5, left_mm=200, y_mm=900),), CASE, SHOP)
    assert modes.resonances[0][0] == "1"
    assert "post-resonance" not in {f.code for f in calm}
    told = [f for f in swaying if f.code == "post-resonance"]
    assert [f.subject for f in told] == ["panel West"] and "1, 9.5 Hz" in told[0].sentence


def drooping(number, droop_mm, from_left_mm, y_mm, face="A"):
    item = hung(number, left_mm=from_left_mm, y_mm=y_mm, face=face)
    trimmed = Preset(9.0, 0.0, 0.0, droop_mm / 2, 0.0, droop_mm / 2, 0.0)  # a great droop, bent away before it hangs
    return replace(item, plan=replace(item.plan, post=replace(item.plan.post, preset=trimmed)))


def test_a_row_that_sinks_unevenly_is_told():
    row = (drooping(1, 0.1, 100, 900), drooping(2, 0.75, 300, 902), drooping(3, 0.3, 500, 898))
    found = row_findings(row, SHOP)
    assert [(f.subject, f.verdict) for f in found] == [("objects 1 and 2", Verdict.LOOK)]
    assert found[0].measured == approx(0.65)


def test_other_heights_faces_and_panels_are_other_rows():
    assert row_findings((drooping(1, 0.1, 100, 900), drooping(2, 0.9, 300, 1200)), SHOP) == ()
    assert row_findings((drooping(1, 0.1, 100, 900), drooping(2, 0.9, 300, 900, "B")), SHOP) == ()


def test_hanging_follows_the_order_of_the_case():
    placed = (hung(1, left_mm=200, y_mm=900, order=2.0), hung(2, left_mm=500, y_mm=900, order=1.0))
    assert [load.stage for load in panel_report(WEST, placed, SHOP).loads] == [1, 0]


def test_what_a_panel_leaves_unmeasured_is_one_line():
    found = [f for f in panel_findings((hung(1, 50.0, left_mm=200, y_mm=900),), CASE, SHOP)
             if f.subject == "panel West" and f.verdict is Verdict.UNMEASURED]
    assert len(found) == 1 and "panel overturning" in found[0].sentence


def test_an_object_that_sways_in_step_with_its_panel_is_asked_for_the_code_s_most():
    # S_DS 0.5, I_p 1: 0.4 x 2.5 x 0.5 / 2.5 = 0.2 g for a flexible part; in step 1.6 x 0.5 = 0.8 g
    site = replace(CASE, spectral_g=0.5)
    held = replace(WEST, top_restraint=True)
    modes = panel_report(held, (hung(1, left_mm=200, y_mm=900),), SHOP, site)
    near = next(check.note for _, check in modes.resonances)
    panel_Hz = float(near.split("panel ")[1].split(" Hz")[0])
    slow, quick = hung(1, panel_Hz, left_mm=200, y_mm=900), hung(2, 60.0, left_mm=400, y_mm=900)
    found = panel_report(held, (slow, quick), SHOP, site).in_step
    assert [number for number, _ in found] == ["1"]
    assert found[0][1].limit == approx(0.8) and "in step" in found[0][1].note
    assert panel_report(held, (slow, quick), SHOP, CASE).in_step == ()  # an engineer's number is taken as it is
