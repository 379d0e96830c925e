"""The page of checks lists every check that posts, holes and panels make, and no other."""

import re
from pathlib import Path

from scanprep.brief import PanelBrief
from scanprep.panel import FaceLoad, judge_panel, place_anchor
from scanprep.panel.anchor import meeting_check
from scanprep.panel.chain import panel_loads
from scanprep.panel.resonance import resonance_check
from scanprep.post import plan_post, stocked_rods
from scanprep.post.judge import SIZING
from scanprep.rules import PanelRules, PostRules, Rulebook
from tests.post.hung import hold_of_block, survey_of_block

PAGE = (Path(__file__).parents[2] / "docs" / "reference" / "checks-posts-panels.md").read_text(encoding="utf-8")
SHOP = Rulebook()
PANEL = PanelBrief("West", 700, 2200, 30.0)


def listed(section):
    text = PAGE.split(f"\n## {section}\n")[1].split("\n## ")[0]
    return re.findall(r"^\| `([a-z-]+)`", text, re.M)


def plan():
    return plan_post(hold_of_block(), survey_of_block(200), stocked_rods(SHOP, None)[3], SHOP, None, PANEL)


def test_checks_of_posts_and_holes():
    placed = place_anchor(plan(), PANEL, "A", 200, 500)
    made = [check.name for check in placed.checks]
    made += [meeting_check(placed.hole, placed.hole, PANEL, SHOP.post).name,
             resonance_check(20, (5.0,), SHOP.post).name]
    assert listed("Post") + listed("Hole") == made


def test_checks_of_panels():
    loads = (FaceLoad("A", 200, 500, 500, 80),)
    made = [check.name for check in (*judge_panel(PANEL, loads, SHOP), *panel_loads(PANEL, loads, SHOP).checks)]
    assert listed("Panel") == made


def test_the_first_of_the_post_decide_the_diameter():
    assert len(SIZING) == 5
    assert [name.split("-", 1)[1] for name in listed("Post")[:5]] == [c.__name__.replace("_", "-") for c in SIZING]


def test_printed_limits_are_the_rules():
    plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", PAGE)  # each limit is a link to its row
    post, panel = PostRules(), PanelRules()
    for words in (f"({post.droop_mm:g} mm)", f"({post.slope_deg:g} deg)", f"({post.roll_deg:g} deg)",
                  f"| {post.least_frequency_Hz:g} Hz at least |",
                  f"| {post.web_mm:g} mm at least |", f"| {panel.least_frequency_Hz:g} Hz at least |",
                  f"| {panel.push_move_mm:g} mm |", f"| {panel.buckling_safety:g} at least |"):
        assert words in plain, words
