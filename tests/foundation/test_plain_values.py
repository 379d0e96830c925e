"""Records to plain values and back: the law is that reading what was written gives the same record."""

import json

import numpy as np
import pytest

from scanprep.brief import KnownSize, ObjectBrief, Region
from scanprep.findings import Check, Verdict
from scanprep.interval import Interval
from scanprep.plain_values import from_plain, to_plain
from scanprep.scan.mesh import RawMesh


def test_a_wish_written_then_read_is_equal():
    brief = ObjectBrief(
        number="FB-014", title="Bow-headed pin, née clasp", sizes=(KnownSize("height", 92.0),),
        no_touch=(Region("ball", (1, 2, 3), (4, 0, 0), why="rim"),), up=(0.0, 1.0, 0.0), mass_g=12.5,
    )
    assert from_plain(ObjectBrief, json.loads(json.dumps(to_plain(brief)))) == brief


def test_enums_infinity_and_intervals_survive():
    check = Check("post-droop", 0.1, 0.5, "mm", float("inf"), "assumed", Verdict.LOOK)
    assert from_plain(Check, json.loads(json.dumps(to_plain(check)))) == check
    assert from_plain(Interval, to_plain(Interval(1, 2, 3))) == Interval(1, 2, 3)


@pytest.mark.parametrize("aside", [True, False])
def test_arrays_keep_shape_and_type(aside):
    mesh = RawMesh(np.eye(3), np.array([[0, 1, 2]], dtype=np.int32), None, "m", None)
    store = [] if aside else None
    again = from_plain(RawMesh, to_plain(mesh, store), store)
    assert again.vertices.dtype == np.float64 and again.faces.dtype == np.int32
    np.testing.assert_array_equal(again.vertices, mesh.vertices)
    np.testing.assert_array_equal(again.faces, mesh.faces)
    assert again.colours is None and again.unit == "m"


def test_what_does_not_fit_is_named():
    with pytest.raises(ValueError, match="no_such_field"):
        from_plain(ObjectBrief, {"number": "1", "no_such_field": 2})
    with pytest.raises(ValueError, match="mass_g"):
        from_plain(ObjectBrief, {"number": "1", "mass_g": [1]})
