"""The survey's lines for people."""

from __future__ import annotations

from scanprep.settings import Settings
from scanprep.survey import survey_object
from scanprep.survey.table import survey_rows
from scanprep.wish import ObjectWish
from tests.shapes import bottle, cleaned_of, cup


def test_rows_say_what_was_measured() -> None:
    rows = {row.what: row for row in survey_rows(survey_object(cleaned_of(cup()), ObjectWish("1", mass_g=133.0),
                                                               Settings()))}
    assert rows["height"].value == "70.0 mm"  # the cup is made 70 high and 70 wide
    mass = rows["mass"]
    assert (mass.value, mass.doubt, mass.basis) == ("133 g", "132.3 .. 133.7 g", "weighed")
    assert rows["up"].value == "+y" and rows["up"].doubt == "sure"
    assert rows["base"].value.startswith("flat")
    assert rows["axis of revolution"].value in ("+y", "-y")
    assert rows["wall"].value.startswith("4.0")


def test_doubt_is_shown_where_there_is_some() -> None:
    survey = survey_object(cleaned_of(bottle()), ObjectWish("1", material="glass"), Settings())
    rows = {row.what: row for row in survey_rows(survey, "in")}
    assert " .. " in rows["mass"].doubt
    assert rows["height"].value == "5 29/32 in"  # 150 mm is 5.9055 in, 378/64
    assert rows["centre of mass"].doubt.startswith("within")
