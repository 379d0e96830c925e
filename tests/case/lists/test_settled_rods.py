"""Rods settle: once on record an object keeps its rod until it is not enough, and a made one in any case."""

from dataclasses import replace

import pytest

from scanprep.brief import ObjectBrief
from scanprep.case.lists.settled_rods import choose_rod, choose_sizes, plan_rods
from scanprep.case.record.frozen import MadeFacts
from scanprep.case.record.mount_life import MountLife
from scanprep.case.record.state import CaseState, DiameterChoice, RodChoice
from scanprep.errors import RecordError
from scanprep.post.records import PostNeed, Rod

SIZES = {"1/8": 3.175, "5/32": 3.96875, "3/16": 4.7625, "1/4": 6.35}
STOCK = [Rod(label, mm, 0.03, -0.03, "brass", "table") for label, mm in SIZES.items()]


def need(label):
    return PostNeed(next((rod for rod in STOCK if rod.label == label), None), f"thinner than {label} droops", ())


def needs(**labels):
    return {number.lstrip("n"): need(label) for number, label in labels.items()}


def on_record(rods, sizes, how="proposed", made=()):
    objects = {n: ObjectBrief(n) for n in rods}
    return CaseState(
        objects=objects, rods={n: RodChoice(r, how, "mountmaker", 5) for n, r in rods.items()},
        diameters=DiameterChoice(tuple(sizes), "proposed", "mountmaker", 4),
        mounts={n: MountLife(made=MadeFacts(rods[n], SIZES[rods[n]], True, 40.0, 20.0, 20.0)) for n in made})


def labels(plan):
    return {number: rod.label for number, rod in plan.rods.items()}


def test_the_first_time_the_few_diameters_are_chosen_and_said():
    # at most two sizes for needs 1/8, 5/32, 1/4: thickest must be 1/4; width 3.175+6.35+6.35 = 15.875 with 1/8 and 1/4,
    # 3.969+3.969+6.35 = 14.288 with 5/32 and 1/4, so the latter
    plan = plan_rods(CaseState(), needs(n1="1/8", n2="5/32", n3="1/4"), STOCK, 2)
    assert labels(plan) == {"1": "5/32", "2": "5/32", "3": "1/4"}
    assert [(e.kind, e.object) for e in plan.entries] == [("diameters", None), ("rod", "1"), ("rod", "2"), ("rod", "3")]
    assert plan.changes == ("post diameters 5/32, 1/4",)


def test_what_is_on_record_stays_also_where_a_new_choice_would_differ():
    state = on_record({"1": "3/16", "2": "3/16"}, ["3/16"])
    plan = plan_rods(state, needs(n1="1/8", n2="1/8"), STOCK, 2)
    assert (labels(plan), plan.entries, plan.changes) == ({"1": "3/16", "2": "3/16"}, (), ())


def test_a_new_object_takes_the_thinnest_of_the_case_that_serves():
    state = on_record({"1": "5/32", "2": "1/4"}, ["5/32", "1/4"])
    plan = plan_rods(state, needs(n1="1/8", n2="1/4", n3="3/16"), STOCK, 2)
    assert labels(plan)["3"] == "1/4"
    assert [(e.kind, e.object) for e in plan.entries] == [("rod", "3")]


def test_a_rod_that_is_not_enough_any_more_gives_way_and_says_why():
    state = on_record({"1": "5/32", "2": "1/4"}, ["5/32", "1/4"])
    plan = plan_rods(state, needs(n1="3/16", n2="1/4"), STOCK, 2)
    assert labels(plan) == {"1": "1/4", "2": "1/4"}
    assert plan.changes == ("object 1: rod 1/4, was 5/32: thinner than 3/16 droops",)
    assert plan.findings == ()


def test_a_made_post_keeps_its_rod_and_is_a_stop_instead():
    state = on_record({"1": "5/32", "2": "1/4"}, ["5/32", "1/4"], made=("1",))
    plan = plan_rods(state, needs(n1="3/16", n2="1/4"), STOCK, 2)
    assert (labels(plan)["1"], plan.entries) == ("5/32", ())
    (stop,) = plan.findings
    assert "its rod 5/32 is not enough any more; 3/16 would be" in stop.sentence


def test_a_person_s_choice_is_not_overruled_in_silence():
    state = on_record({"1": "5/32"}, ["5/32"], how="chosen")
    plan = plan_rods(state, needs(n1="3/16"), STOCK, 2)
    assert (labels(plan)["1"], [f.code for f in plan.findings]) == ("5/32", ["rod-not-enough"])
    chosen = replace(on_record({}, []), diameters=DiameterChoice(("5/32",), "chosen", "designer", 3))
    assert labels(plan_rods(chosen, needs(n1="3/16"), STOCK, 2)) == {"1": "5/32"}


def test_choosing_a_rod_or_the_sizes():
    state = on_record({"1": "5/32", "2": "1/4"}, ["5/32", "1/4"], made=("2",))
    (entry,) = choose_rod(state, "1", STOCK[2])
    assert (entry.kind, entry.payload) == ("rod", {"rod": "3/16", "how": "chosen"})
    with pytest.raises(RecordError, match="made of rod 1/4"):
        choose_rod(state, "2", STOCK[2])
    with pytest.raises(RecordError, match="1 to 2 post diameters"):
        choose_sizes(state, STOCK[:3], 2)
    (entry,) = choose_sizes(state, [STOCK[2], STOCK[0]], 2)
    assert entry.payload == {"rods": ["1/8", "3/16"], "how": "chosen"}
