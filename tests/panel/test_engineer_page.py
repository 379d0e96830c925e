"""The engineer's page of a panel: every load case with its reactions, what governs, what nobody has said yet."""

import dataclasses

from pytest import approx

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.panel import FaceLoad
from scanprep.panel.chain import panel_loads
from scanprep.panel.engineer_page import UNFACTORED, engineer_page, page_text
from scanprep.rules import Rulebook

RULES = Rulebook()
PANEL = PanelBrief("Quay", 700, 2200, 30.0, top_restraint=True)
HUNG = tuple(FaceLoad("AB"[i % 2], 350, 400 + 150 * i, 400, 70) for i in range(8))
CASE = CaseBrief("C", acceleration_g=0.8, site_reason="engineer's letter")


def page(panel=PANEL, case=CASE):
    return engineer_page(panel, HUNG, panel_loads(panel, HUNG, RULES, case), {}, case)


def test_every_case_that_reaches_the_fixings_has_its_row():
    found = page()
    assert len(found.reactions) == 9
    push = next(row for row in found.reactions if "top edge" in row.load)
    # 100 N at 2.2 m along the sheet: 220 N m on its foot; at the edge it twists with 100 x 0.35
    assert (push.along_N, push.along_Nm, push.twist_Nm) == (100.0, approx(220.0), approx(35.0))
    assert "(100 N)" in push.load


def test_it_names_what_nobody_has_said():
    found = page()
    assert {"what the foot bears", "what the top fixing bears", "the sheet's thickness",
            "how the foot turns under a known push"} <= set(found.unmeasured)
    said = dataclasses.replace(PANEL, thickness_measured=True, foot_known="designed", foot_moment_limit_Nmm=5e6,
                               top_limit_N=2000.0, top_room_mm=8.0)
    assert page(said).unmeasured == ()


def test_it_fits_one_page_and_leaves_the_factors_to_the_engineer():
    text = page_text(page())
    assert max(map(len, text.splitlines())) <= 128 and len(text.splitlines()) <= 72
    assert UNFACTORED.split(".")[0] in " ".join(text.split()) and "0.8 g as stated (engineer's letter)" in text
    assert "weakest link:" in text and "overturning:" in text
