"""Whether a wire's end can lie at a contact, asked in short and asked in full."""

from __future__ import annotations

import numpy as np

from scanprep.hold.wires.wire_ends import find_wire_ends, has_wire_end
from scanprep.rules import HoldRules
from tests import shapes
from tests.hold.mounting import contact, view_of


def test_the_short_question_has_the_answer_of_the_long_one():
    # pads on the wall of a cup, inside and out: inside, low down, no end fits that is as thick as the cup is wide
    view = view_of(shapes.cup())
    low, high = view.vertices_mm.min(axis=0), view.vertices_mm.max(axis=0)
    answers = set()
    for wire_mm in (1.0, 3.0, 60.0):
        for y in np.linspace(low[1] + 3, high[1] - 3, 6):
            for sign in (1.0, -1.0):  # from without, and from the axis outwards
                one = contact(view, (0.0, y, 200.0 if sign > 0 else 0.0), (0.0, 0.0, -sign))
                long = bool(find_wire_ends(view, one, wire_mm, HoldRules()))
                assert has_wire_end(view, one, wire_mm, HoldRules()) == long
                answers.add(long)
    assert answers == {True, False}
