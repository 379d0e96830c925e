"""Cautions of contact: every material named in them is one of the table, each has a source, the harmless get none."""

import pytest

from scanprep.findings import Verdict
from scanprep.loads.contacts import contact_findings, contact_table
from scanprep.materials import object_materials

LEADED = "C36000 / CZ121 / CW614N free-cutting brass"


def test_every_material_is_one_of_the_table_and_stands_in_one_group():
    named = [material for row in contact_table() for material in row.materials]
    assert set(named) <= set(object_materials()) and len(set(named)) == len(named)
    assert all(row.source and row.status in ("verified in stored text", "from memory") for row in contact_table())


@pytest.mark.parametrize(("material", "code", "words"), [
    # CCI and the handbooks named in the table: tarnish, lead carbonate, bronze disease, Byne's decay
    ("silver", "contact-silver", "sulfur"), ("lead", "contact-lead", "lead carbonate"),
    ("bronze", "contact-copper", "bronze disease"), ("marble", "contact-calcareous", "acid vapours"),
    ("shell", "contact-calcareous", "45 %"), ("ivory", "contact-organic", "barrier"),
    ("iron", "contact-iron", "35 %")])
def test_what_is_at_risk_is_said_once_and_left_to_the_conservator(material, code, words):
    found = contact_findings(material, LEADED)
    assert [finding.code for finding in found] == [code]
    assert found[0].verdict is Verdict.LOOK and words in found[0].sentence and "conservator" in found[0].remedy


def test_leaded_rod_is_named_where_acids_are_to_be_expected():
    assert "2.5 to 3 % lead" in contact_findings("ivory", LEADED)[0].sentence
    assert "2.5 to 3 % lead" not in contact_findings("ivory", "C26000")[0].sentence
    assert "2.5 to 3 % lead" not in contact_findings("iron", LEADED)[0].sentence


@pytest.mark.parametrize("material", ["terracotta", "glass", "granite", None])
def test_what_is_not_at_risk_gets_none(material):
    assert contact_findings(material, LEADED) == ()
