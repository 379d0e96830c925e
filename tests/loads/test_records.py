"""A load table has no hole in it, and its weakest link is the least margin under what comes by itself."""

import dataclasses

import pytest

from scanprep.findings import Verdict
from scanprep.loads import cases as case
from scanprep.loads.cases import load_cases
from scanprep.loads.records import OBJECT_PARTS, PANEL_PARTS, ChainPart, borne, cell_words, spared, unrated, whole_table
from scanprep.rules import Rulebook

RULES = Rulebook()
CASES = load_cases(RULES.loads, RULES.post, RULES.panel, 0.35, 0.35)
PARTS = (ChainPart.ROD, ChainPart.SEAT)


def cells():
    return [spared(one.key, part, "it is a test") for one in CASES for part in PARTS]


def test_a_missing_a_double_and_an_unknown_cell_are_refused():
    whole = cells()
    with pytest.raises(ValueError, match="missing"):
        whole_table("x", whole[:-1], CASES, PARTS)
    with pytest.raises(ValueError, match="twice"):
        whole_table("x", [*whole, whole[0]], CASES, PARTS)
    with pytest.raises(ValueError, match="unknown"):
        whole_table("x", [*whole, dataclasses.replace(whole[0], part=ChainPart.HUB)], CASES, PARTS)


def test_a_cell_that_does_not_apply_says_why():
    with pytest.raises(ValueError, match="must say why"):
        spared(case.WEIGHT, ChainPart.ROD, "")
    assert "does not apply, because it is a test" in cell_words(cells()[0], CASES)


def test_the_weakest_link_is_not_a_hand_s_and_not_what_is_set_at_the_bench():
    found = {(cell.case, cell.part): cell for cell in cells()}
    for key, part, demand in ((case.TOUCH, ChainPart.ROD, 9.0), (case.HANDLING, ChainPart.SEAT, 3.0),
                              (case.SHAKE, ChainPart.ROD, 2.0), (case.WEIGHT, ChainPart.SEAT, 0.5)):
        found[key, part] = borne(key, part, demand, 1.0, "N", "", "")
    found[case.COLD, ChainPart.SEAT] = unrated(case.COLD, ChainPart.SEAT, 99.0, "N", "", "")
    table = whole_table("x", found.values(), CASES, PARTS)
    weakest = table.weakest(CASES)
    assert weakest is not None and (weakest.case, weakest.part, weakest.margin) == (case.SHAKE, ChainPart.ROD, 0.5)
    assert table.verdict is Verdict.STOP
    assert table.cell(case.COLD, ChainPart.SEAT).verdict is Verdict.UNMEASURED


def test_every_part_belongs_to_the_object_or_the_panel():
    assert (*OBJECT_PARTS, *PANEL_PARTS) == tuple(ChainPart)
    assert len({one.key for one in CASES}) == len(CASES) == 16
