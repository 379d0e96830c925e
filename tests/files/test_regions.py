"""Regions that a cell names, for tips to keep off and for parts of other material."""

import pytest

from scanprep.errors import InputError
from scanprep.files.cells import parts, regions


def test_every_kind_of_region():
    box, ball, plane, beyond, colour = regions(
        "box 1 2 3 10 20 30 mm repair; ball 0 0 5 1.5 cm handle; plane 0 80 0 0 1 0 mm rim; beyond -z 2 in back; "
        "colour #C8A030 gilding")
    assert (box.kind, box.centre_mm, box.size_mm, box.why) == ("box", (1, 2, 3), (10, 20, 30), "repair")
    assert (ball.centre_mm, ball.size_mm[0], ball.why) == ((0, 0, 50), 15, "handle")
    assert (plane.kind, plane.centre_mm, plane.normal, plane.why) == ("plane", (0, 80, 0), (0, 1, 0), "rim")
    assert (beyond.kind, beyond.centre_mm, beyond.normal) == ("plane", (0, 0, -50.8), (0, 0, -1))
    assert (colour.kind, colour.colour, colour.why) == ("colour", (200, 160, 48), "gilding")


@pytest.mark.parametrize("text", ["box 1 2 3 mm", "ball 0 0 0 0 mm", "plane 0 0 0 0 0 0 mm", "beyond up 3 mm", "rim",
                                  "colour gold", "ball a b c 3 mm", "ball 1 2 3 4 furlong why"])
def test_what_is_no_region_is_refused_in_one_sentence(text):
    with pytest.raises(ValueError, match=r"region|above 0|direction|number|length"):
        regions(text)


def test_parts_of_other_material():
    bronze, ivory = parts("bronze: box 0 0 0 10 10 10 mm; ivory: beyond +y 60 mm")
    assert (bronze.material, bronze.region.kind, ivory.region.normal) == ("bronze", "box", (0, 1, 0))


def test_a_part_of_unknown_material_or_none_is_refused():
    with pytest.raises(InputError, match="kryptonite"):
        parts("kryptonite: beyond +y 60 mm")
    with pytest.raises(ValueError, match="names no material"):
        parts("beyond +y 60 mm")


def test_a_tip_keeps_off_the_rim_by_a_plane():
    # the same half-space that the search for tips asks of: a point beyond it is inside, one before it is not
    from scanprep.survey.regions import in_region

    (rim,) = regions("beyond +y 80 mm rim")
    import numpy as np

    assert in_region(np.array([[0.0, 81, 0], [5.0, 79, 5]]), rim, None).tolist() == [True, False]
