"""The stated sum of stated parts."""

import pytest

from scanprep.hold.rank import in_order, score_parts
from scanprep.rules import HoldRules

SETTINGS = HoldRules()
GOOD = {"seen": 1.0, "natural": 1.0, "sound": True, "shake_g": 0.6, "target_g": 0.6, "covered_share": 0.0,
        "beside_share": 0.0, "depth_mm": 50.0, "least_depth_mm": 50.0, "force_ratio": 0.0, "tips": 3,
        "rules": SETTINGS}


def test_the_best_there_can_be_is_the_sum_of_the_weights():
    weights = [getattr(SETTINGS, f"weight_{name}") for name in
               ("seen", "natural", "sound", "margin", "hidden", "depth", "force", "tips")]
    parts = score_parts(**GOOD)
    assert [name for name, _ in parts] == ["seen", "natural", "sound", "margin", "hidden", "depth", "force", "tips"]
    assert [value for _, value in parts] == pytest.approx(weights)


@pytest.mark.parametrize(("change", "part", "share"), [
    ({"shake_g": 0.3}, "margin", 0.5), ({"shake_g": 5.0}, "margin", 1.0), ({"shake_g": 0.0}, "margin", 0.0),
    ({"depth_mm": 100.0}, "depth", 0.5), ({"tips": 6}, "tips", 0.5), ({"force_ratio": 0.25}, "force", 0.75),
    ({"covered_share": SETTINGS.covered_share}, "hidden", 0.5), ({"seen": 0.5}, "seen", 0.5),
    ({"sound": False}, "sound", 0.0),
])
def test_each_part_falls_in_its_own_way(change, part, share):
    before, after = dict(score_parts(**GOOD)), dict(score_parts(**{**GOOD, **change}))
    assert after[part] == pytest.approx(share * before[part])
    assert {name: after[name] for name in after if name != part} == {n: before[n] for n in before if n != part}


def test_no_margin_makes_a_turned_view_come_before_the_straight_one():
    straight = score_parts(**{**GOOD, "shake_g": 0.35, "seen": 0.85, "tips": 5, "force_ratio": 1.0})
    turned = score_parts(**{**GOOD, "natural": 0.7})
    assert sum(value for _, value in straight) > sum(value for _, value in turned)


def test_a_straight_view_that_wants_a_look_comes_before_a_sound_one_from_another_side():
    straight = sum(value for _, value in score_parts(**{**GOOD, "sound": False}))
    choice = sum(value for _, value in score_parts(**{**GOOD, "natural": SETTINGS.choice_natural}))
    assert choice > straight  # by the sum alone the side that only a person can choose would come first
    assert sorted([(SETTINGS.choice_natural, choice), (1.0, straight)], key=lambda one: in_order(*one))[0][0] == 1.0
