"""A chosen hold is kept whole and comes back as it was, on the object also when its centre of mass has moved."""

import dataclasses
import json
from types import SimpleNamespace

import numpy as np
import pytest

from scanprep.case.record.chosen import hold_differences, kept_values, read_kept, shifted
from scanprep.findings import Verdict
from scanprep.hold.records import Arm, Bend, Face, Tip
from scanprep.interval import Interval
from scanprep.plain_values import to_plain
from tests.case.cases import a_hold


def tip(from_left_mm, y_mm):
    point = (from_left_mm, y_mm, 2.0)
    arm = Arm(np.array([[0.0, 0.0, -15.0], point]), 1.6, 40.0, (Bend(12.0, 90.0, 2.4),), 80.0, 0.2, 4.0, "#a08c70",
              (60.0, 2.0, 9.0), pieces_mm=(np.array([[1.0, 2.0, 3.0], [4.0, 5.0, 6.0]]),))
    return Tip(point, (0.0, 0.0, -1.0), "pad", False, 1.0, 2.0, 0.15, "felt", 2.0, 0.8, arm, True,
               (Face(point, (0.0, 0.0, -1.0), 2.0, 2.0),))


HOLD = dataclasses.replace(a_hold(-15.0), tips=(tip(20.0, 0.0), tip(-20.0, 0.0), tip(0.0, -18.0)))
SCAN = SimpleNamespace(mm_per_unit=1.0, sha256="a" * 64)


def survey(mass_g=30.0, centre=(1.0, 2.0, 3.0), radius=0.5):
    return SimpleNamespace(mass_g=Interval(mass_g * 0.98, mass_g, mass_g * 1.02), centre_of_mass_mm=centre,
                           centre_radius_mm=radius)


def kept():
    return json.loads(json.dumps(kept_values(HOLD, survey(), SCAN), allow_nan=False))


def test_it_comes_back_number_for_number():
    back = read_kept(kept(), survey(), SCAN, "1")
    assert to_plain(back.hold) == to_plain(HOLD)
    assert back.findings == ()


def test_the_frame_follows_the_centre_of_mass_and_the_hold_stays_on_the_object():
    back = read_kept(kept(), survey(centre=(1.2, 2.0, 3.0)), SCAN, "1")
    # the centre went 0.2 mm along x, so every point lies 0.2 mm further back along x in the new frame
    assert back.hold.tips[0].point_mm == pytest.approx((19.8, 0.0, 2.0))
    assert back.hold.attach_mm == pytest.approx((-0.2, 0.0, -15.0))
    assert back.findings == ()  # inside the doubt it was judged with


def coordinates(value, name=""):
    """Every coordinate in a record: fields in mm that hold a point or points."""
    if dataclasses.is_dataclass(value):
        return [c for f in dataclasses.fields(value) for c in coordinates(getattr(value, f.name), f.name)]
    if isinstance(value, np.ndarray):
        return [value.reshape(-1, 3)] if name.endswith("_mm") else []
    if isinstance(value, tuple) and value and name.endswith("_mm") and all(isinstance(v, float) for v in value):
        return [np.array(value).reshape(-1, 3)]
    if isinstance(value, tuple):
        return [c for item in value for c in coordinates(item, name)]
    return []


def test_every_coordinate_of_a_hold_moves_with_it():
    by = np.array([0.3, -0.4, 0.5])
    before, after = coordinates(HOLD), coordinates(shifted(HOLD, by))
    assert len(before) == 14  # hub, attach; of each of three tips its point, its face, its path, its piece
    assert all(np.allclose(b + by, a) for b, a in zip(before, after))
    assert shifted(HOLD, by).back_mm == HOLD.back_mm + 0.5


@pytest.mark.parametrize(("now", "code"), [
    (survey(mass_g=34.0), "hold-judged-lighter"), (survey(centre=(1.0, 2.9, 3.0)), "hold-judged-elsewhere"),
])
def test_what_it_was_not_judged_for_is_a_stop(now, code):
    (finding,) = read_kept(kept(), now, SCAN, "1").findings
    assert (finding.code, finding.verdict) == (code, Verdict.STOP)


def test_a_lighter_object_needs_no_other_judgement_and_another_scan_is_a_look():
    assert read_kept(kept(), survey(mass_g=28.0), SCAN, "1").findings == ()
    (look,) = read_kept(kept(), survey(), SimpleNamespace(mm_per_unit=1.0, sha256="b" * 64), "1").findings
    assert (look.code, look.verdict) == ("hold-other-scan", Verdict.LOOK)
    (stop,) = read_kept(kept(), survey(), SimpleNamespace(mm_per_unit=25.4, sha256="a" * 64), "1").findings
    assert (stop.code, stop.verdict) == ("hold-other-scale", Verdict.STOP)


def test_fields_of_another_version_are_passed_over_and_a_spoilt_hold_is_not_guessed():
    other = kept()
    other["hold"]["aura"] = 3
    other["hold"]["tips"][0]["colour_of_the_day"] = "blue"
    assert to_plain(read_kept(other, survey(), SCAN, "1").hold) == to_plain(HOLD)
    del other["hold"]["tips"][0]["point_mm"]
    assert read_kept(other, survey(), SCAN, "1") is None


def test_differences_are_told_in_a_bench_s_words():
    assert hold_differences(HOLD, HOLD) == ()
    assert hold_differences(HOLD, dataclasses.replace(HOLD, tips=HOLD.tips[:2])) == ("2 tips instead of 3",)
    moved = dataclasses.replace(HOLD, tips=(*HOLD.tips[:2], tip(3.0, -14.0)), attach_mm=(0.6, 0.0, -15.0))
    # the third tip went (3, 4): 5 mm
    assert hold_differences(HOLD, moved) == ("a tip 5.0 mm elsewhere", "the post 0.6 mm right")
    turned = dataclasses.replace(HOLD, tips=tuple(reversed(HOLD.tips)))  # their order means nothing
    assert hold_differences(HOLD, turned) == ()


def test_each_arm_is_compared_with_that_of_its_own_tip():
    longer = dataclasses.replace(HOLD.tips[0].arm, developed_length_mm=46.0)
    tips = (*HOLD.tips[1:], dataclasses.replace(HOLD.tips[0], arm=longer))  # in another order
    assert hold_differences(HOLD, dataclasses.replace(HOLD, tips=tips)) == ("an arm 6.0 mm longer",)
    uneven = dataclasses.replace(HOLD, tips=tips)
    assert hold_differences(uneven, HOLD) == ("an arm 6.0 mm shorter",)
    assert hold_differences(uneven, dataclasses.replace(uneven, tips=tuple(reversed(tips)))) == ()


@pytest.mark.parametrize(("attach_mm", "words"), [
    ((-0.6, 0.0, -15.0), "the post 0.6 mm left"), ((0.0, 0.7, -15.0), "the post 0.7 mm higher"),
    ((0.0, -0.7, -15.0), "the post 0.7 mm lower")])
def test_a_post_that_moved_says_which_way(attach_mm, words):
    assert hold_differences(HOLD, dataclasses.replace(HOLD, attach_mm=attach_mm)) == (words,)


@pytest.mark.parametrize(("off_mm", "differs"), [(0.049, False), (0.051, True)])
def test_a_hold_is_the_same_within_a_scribers_line(off_mm, differs):
    # common practice: 0.05 mm is finer than a scriber's line
    moved = dataclasses.replace(HOLD, tips=(tip(20.0 + off_mm, 0.0), *HOLD.tips[1:]))
    assert bool(hold_differences(HOLD, moved)) is differs


@pytest.mark.parametrize(("grown", "codes"), [(1.0019, []), (1.0021, ["hold-judged-lighter"])])
def test_a_mass_is_the_same_within_a_bench_scale(grown, codes):
    # assumed: a bench scale reads to 2 of 1000
    assert [f.code for f in read_kept(kept(), survey(mass_g=30.0 * grown), SCAN, "1").findings] == codes
