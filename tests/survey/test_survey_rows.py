"""The survey's lines for people."""

from __future__ import annotations

from scanprep.brief import ObjectBrief
from scanprep.rules import Rulebook
from scanprep.survey import survey_object
from scanprep.survey.survey_rows import cost, lies_on, survey_rows
from tests.shapes import bottle, cleaned_of, cup


def test_rows_say_what_was_measured() -> None:
    rows = {row.what: row for row in survey_rows(survey_object(cleaned_of(cup()), ObjectBrief("1", mass_g=133.0),
                                                               Rulebook()))}
    assert rows["height"].value == "70.0 mm"  # the cup is made 70 high and 70 wide
    mass = rows["mass"]
    assert (mass.value, mass.doubt, mass.basis) == ("133 g", "132.3 .. 133.7 g", "weighed")
    assert rows["up"].value == "+y" and rows["up"].doubt == "sure"
    assert rows["base"].value.startswith("flat")
    assert rows["axis of revolution"].value in ("+y", "-y")
    assert rows["wall"].value.startswith("4.0")


def test_doubt_is_shown_where_there_is_some() -> None:
    survey = survey_object(cleaned_of(bottle()), ObjectBrief("1", material="glass"), Rulebook())
    rows = {row.what: row for row in survey_rows(survey, "in")}
    assert " .. " in rows["mass"].doubt
    assert rows["height"].value == "5 29/32 in"  # 150 mm is 5.9055 in, 378/64
    assert rows["centre of mass"].doubt.startswith("within")


def test_rests_are_told_by_the_side_that_lies_down() -> None:
    survey = survey_object(cleaned_of(cup()), ObjectBrief("1", up=(0, 1, 0), front=(0, 0, 1)), Rulebook())
    sides = {lies_on(rest, survey): rest for rest in survey.rests}
    assert sides["on its base"].up[1] > 0.999
    assert any(name.startswith(("on its left", "on its right", "on its back", "on its front")) for name in sides)
    assert {row.what: row.value for row in survey_rows(survey)}["mean colour"] == "none"  # made without colours
    assert cost(-250.0, 2) == "-2.5 cm2" and cost(0.0, 3) == ""
