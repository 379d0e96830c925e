"""Two objects that share one post diameter: the thinner one's mount is fabricated for the rod that the case settled.

A light and a heavy block, one diameter in the whole case: the heavy one's rod is the light one's too, and thicker than
what that was studied for. Written as scans, studied and chosen by the commands.
"""

import json
import math
import shutil
from dataclasses import replace

import numpy as np
import pytest
from scanprep_cli.main import app
from typer.testing import CliRunner

import scanprep.fabrication
import scanprep.held
from scanprep.fabrication import fabricate
from scanprep.held import held
from scanprep.hold.making.refit import made_for
from scanprep.loads.cases import KNOCK, PUSH_OBJECT, TOUCH
from scanprep.loads.records import ChainPart
from scanprep.post import plan_post, stocked_rods
from scanprep.workspace.batch import study_one
from scanprep.workspace.decisions import planned_now
from scanprep.workspace.folder import open_case
from tests.shapes import box
from tests.workspace.writing import write_ply

FILLET_mm = 0.8  # of solder between the post and the laps round it: the hub's own rule
LINES = """number,title,material,scan,unit,mass,condition,up,front,panel,face,x,y
1,Light block,marble,scans/light.ply,mm,60 g,sound,+y,+z,West,A,200 mm,1400 mm
2,Heavy block,marble,scans/heavy.ply,mm,700 g,sound,+y,+z,West,A,400 mm,1400 mm
"""


def run(*words, code=0):
    done = CliRunner().invoke(app, [str(word) for word in words], catch_exceptions=False)
    assert code is None or done.exit_code == code, done.output
    return done


@pytest.fixture(scope="module")
def case(tmp_path_factory):
    folder = tmp_path_factory.mktemp("case") / "display"
    run("new", folder, "--title", "Two blocks")
    toml = (folder / "case.toml").read_text(encoding="utf-8")
    assert "max_post_diameters = 3" in toml
    (folder / "case.toml").write_text(toml.replace("max_post_diameters = 3", "max_post_diameters = 1"),
                                      encoding="utf-8")
    for name, solid in (("light", box(40, 60, 20)), ("heavy", box(60, 90, 50))):
        (folder / "scans").mkdir(exist_ok=True)
        write_ply(folder / "scans" / f"{name}.ply", solid.vertices_mm, solid.faces)
    (folder / "checklist.csv").write_text(LINES, encoding="utf-8")
    run("intake", folder, folder / "checklist.csv", "--person", "curator")
    run("batch", folder, "--workers", 0, code=None)
    return folder


def spec_of(case, number):
    return json.loads((case / "out" / number / "spec.json").read_text(encoding="utf-8"))


def test_laps_stand_clear_of_the_post_that_the_case_settled(case):
    light, heavy = (spec_of(case, number) for number in ("1", "2"))
    rod_mm = heavy["post"]["diameter_mm"]
    study = study_one(open_case(case), open_case(case).object("1"))
    assert study.needs[0].thinnest.diameter_mm < rod_mm - 0.5 and light["post"]["diameter_mm"] == rod_mm
    assert made_for(study.holds.holds[0]).post_mm < rod_mm
    hold = light["holds"][light["hold"]]
    assert hold["hub"]["made_for"]["post_mm"] == pytest.approx(rod_mm)
    if hold["hub"]["kind"] != "cross-wire":  # wires that lie in slots of the post begin at its axis
        for tip in hold["tips"]:
            from_axis = np.subtract(tip["arm"]["path_mm"][0], light["post"]["attach_point_mm"])[:2]
            assert np.linalg.norm(from_axis) >= rod_mm / 2 + FILLET_mm - 1e-6
    assert not [finding for finding in light["findings"] if finding["code"] in ("hub-post", "mount-covered")]


def test_it_is_the_same_hold_on_another_hub_and_every_check_is_there_once(case):
    folder = open_case(case)
    study = study_one(folder, folder.object("1"))
    one, plan = planned_now(folder, "1")
    drawn, made = study.holds.holds[0], one.hold
    assert made.attitude.name == drawn.attitude.name and made.family == drawn.family
    assert [tip.point_mm for tip in made.tips] == [tip.point_mm for tip in drawn.tips]
    assert [tip.force_N for tip in made.tips] == [tip.force_N for tip in drawn.tips]
    assert made.margin_g == drawn.margin_g
    assert sorted(check.name for check in made.checks) == sorted(check.name for check in drawn.checks)
    # what droops is worked out with the hub as fabricated: its own plan, not the one of the hub as drawn
    assert plan.post.diameter_mm == pytest.approx(made_for(made).post_mm)


def test_nothing_is_fabricated_twice(case, monkeypatch):
    def never(*_):
        raise AssertionError("worked out again")

    monkeypatch.setattr(scanprep.held, "refitted", never)
    monkeypatch.setattr(scanprep.held, "thinnest_rod", never)
    monkeypatch.setattr(scanprep.fabrication, "plan_post", never)
    monkeypatch.setattr(scanprep.fabrication, "thinnest_rod", never)
    done = run("check", case, "--workers", 0, code=None)
    assert done.exit_code in (0, 1), done.output


def test_a_chosen_hold_is_kept_as_it_is_printed_and_stays_the_same_hold(case, tmp_path):
    copy = tmp_path / "chosen"
    shutil.copytree(case, copy)
    run("choose", copy, "1", 1, "--person", "curator")
    folder = open_case(copy)
    kept = folder.state.choices["1"].kept["hold"]
    assert kept["hub"]["made_for"]["post_mm"] == pytest.approx(spec_of(copy, "1")["post"]["diameter_mm"])
    study = study_one(folder, folder.object("1"))
    one = held(study, folder.state.choices["1"], folder.rules, folder.case)
    assert [finding.code for finding in one.findings] == [] and one.index == 0
    assert len(one.study.holds.holds) == len(study.holds.holds)
    assert "nothing new" in run("choose", copy, "1", 1, "--person", "curator").stdout


def test_what_was_made_keeps_its_hub_and_a_rod_over_its_laps_is_told(case):
    folder = open_case(case)
    study = study_one(folder, folder.object("1"))
    one = held(study, None, folder.rules, folder.case)
    rod = next(rod for rod in stocked_rods(folder.rules, folder.case)
               if rod.diameter_mm > made_for(one.hold).post_mm + 0.5)
    made, plan = fabricate(one, rod, folder.rules, folder.case, made=made_for(one.hold))
    assert made.hold is one.hold
    [told] = [finding for finding in plan.findings if finding.code == "hub-post"]
    assert told.measured == pytest.approx((rod.diameter_mm - made_for(one.hold).post_mm) / 2)
    free, plan = fabricate(one, rod, folder.rules, folder.case)
    assert made_for(free.hold).post_mm == pytest.approx(rod.diameter_mm)
    assert not [finding for finding in plan.findings if finding.code == "hub-post"]
    # a mount that was made on a fabricated hub is printed on that one, whatever rod is thought of later
    again, _ = fabricate(one, stocked_rods(folder.rules, folder.case)[0], folder.rules, folder.case,
                         made=made_for(free.hold))
    assert made_for(again.hold) == made_for(free.hold)


def test_the_record_says_what_the_made_for_a_made_mount_was_made_for(case, tmp_path):
    copy = tmp_path / "made"
    shutil.copytree(case, copy)
    run("choose", copy, "1", 1, "--person", "curator")
    run("agree", copy, "1", "contacts", "--person", "conservator", code=None)
    run("made", copy, "1", "--person", "mountmaker", "--reason", "tried on a dummy", code=None)
    made = open_case(copy).state.life("1").made
    assert made is not None and made.made_for.post_mm == pytest.approx(spec_of(case, "1")["post"]["diameter_mm"])


def with_solder(rules, times):
    """The rules with a solder so many times as strong, for a moment and for years."""
    loads = rules.loads
    return replace(rules, loads=replace(loads, tin_silver_MPa=times * loads.tin_silver_MPa,
                                        tin_silver_years_MPa=times * loads.tin_silver_years_MPa))


def longest_lap_mm(hold):
    return max(tip.arm.lap_mm for tip in hold.tips)


def joint_ratio(plan):
    """How many times what it may the worst lap bears of all that no hand does to it."""
    return max(cell.demand / cell.resistance for cell in plan.table.cells if cell.part is ChainPart.ARM_JOINT and
               cell.demand is not None and cell.case not in (TOUCH, KNOCK, PUSH_OBJECT))


@pytest.mark.parametrize("share, reached", [(0.7, True), (0.1, False)])
def test_a_lap_is_as_long_as_its_joint_needs_and_no_longer_than_anyone_solders(case, share, reached):
    """A solder of part of the strength asks for a longer lap.

    Bent, the bond is a line, 6 M / (b L2); pulled or sheared a strip, F / (b L) (Manko, Solders and Soldering, p. 142):
    what bears r times what it may asks for sqrt(r) to r times the length.
    """
    folder = open_case(case)
    study = study_one(folder, folder.object("1"))
    one = held(study, None, folder.rules, folder.case)
    rod = stocked_rods(folder.rules, folder.case)[-1]
    strong, usual = fabricate(one, rod, with_solder(folder.rules, 2.0), folder.case)
    assert joint_ratio(usual) <= 1.0 and strong.hold.hub.made_for.lap_mm == 0.0
    weak = with_solder(folder.rules, share)
    made, plan = fabricate(one, rod, weak, folder.case)
    most_mm = 8 * max(tip.arm.wire_mm for tip in made.hold.tips)
    assert longest_lap_mm(strong.hold) < longest_lap_mm(made.hold) <= most_mm
    assert (joint_ratio(plan) <= 1.0) is reached
    assert (plan.lap_mm == 0.0) is reached
    if reached:
        drawn = plan_post(strong.hold, study.survey, rod, weak, folder.case, None, study.brief.material)
        usual_mm, times = longest_lap_mm(strong.hold), joint_ratio(drawn)
        assert times > 1.0
        # in whole mm; an arm that begins further out bears a little less
        assert 0.95 * math.sqrt(times) * usual_mm <= longest_lap_mm(made.hold) <= math.ceil(times * usual_mm)
        assert made.hold.hub.size_mm >= strong.hold.hub.size_mm + 2 * (
            longest_lap_mm(made.hold) - longest_lap_mm(strong.hold)) - 1e-6
    else:  # what is still wanting is told as it was
        assert any(f"make it {math.ceil(plan.lap_mm)} mm long" in cell.rule for cell in plan.table.cells)
