"""What an object's checklist line says of its post's retention counts where no case has decided otherwise."""

import pytest

from scanprep.brief import ObjectBrief
from scanprep.hold.records import HoldSet
from scanprep.pipeline import finish_object
from scanprep.post import thinnest_rod
from scanprep.post.retention import parse_retention
from scanprep.rules import Rulebook
from scanprep.spec import ObjectStudy
from tests.papers.invented import invented_hold, invented_spec

RULES = Rulebook()


@pytest.mark.parametrize(("line", "chosen", "held_by"), [
    ("bow", None, "bow"), ("slit + second pin", None, "slit + second pin"),
    ("bow", "slit", "slit"),  # somebody decided since
])
def test_the_checklist_s_retention_holds_the_post_of_a_single_scan(line, chosen, held_by):
    spec, working = invented_spec()
    hold = invented_hold(spec.survey)
    study = ObjectStudy(ObjectBrief("1", retention=line), spec.scan, spec.survey, working, HoldSet((hold,), ()),
                        (thinnest_rod(hold, spec.survey, RULES, None),), ())
    found = finish_object(study, None, RULES, retention=parse_retention(chosen) if chosen else None)
    assert found.plan.post.retention == held_by
