"""Cut lists against brute force on small cases, and what they say of odd ones."""

import numpy as np
import pytest

from scanprep.case.lists.cutlist import Piece, cut_list, cut_lists
from tests.case.cases import an_object, box


def fewest(lengths, bar, kerf):
    """Brute force: try every way of putting each piece into an open bar or a new one."""
    lengths = sorted(lengths, reverse=True)
    best = len(lengths)

    def put(index, rooms):
        nonlocal best
        if len(rooms) >= best:
            return
        if index == len(lengths):
            best = len(rooms)
            return
        need = lengths[index] + kerf
        for room in sorted({r for r in rooms if r >= need - 1e-9}):
            at = rooms.index(room)
            put(index + 1, [*rooms[:at], room - need, *rooms[at + 1 :]])
        put(index + 1, [*rooms, bar + kerf - need])

    put(0, [])
    return best


@pytest.mark.parametrize("seed", range(25))
def test_equals_brute_force(seed):
    rng = np.random.default_rng(seed)
    lengths = rng.integers(120, 560, int(rng.integers(3, 11))).astype(float)
    kerf = float(rng.integers(0, 4))
    found = cut_list("rod", [Piece(str(i), x) for i, x in enumerate(lengths)], 914.4, kerf)
    assert len(found.bars) == fewest(list(lengths), 914.4, kerf)
    assert found.proven


def test_a_whole_bar_is_one_piece_and_a_longer_one_is_named():
    found = cut_list("rod", [Piece("1", 914.4), Piece("2", 914.5)], 914.4, 1.0)
    assert ([bar.pieces[0].name for bar in found.bars], found.too_long) == (["1"], (Piece("2", 914.5),))
    assert found.bars[0].offcut_mm == 0.0


def test_offcut_by_hand():
    # 914.4 - 3 x 200 - 3 saw cuts of 1 mm
    found = cut_list("rod", [Piece(str(i), 200.0) for i in range(3)], 914.4, 1.0)
    assert found.bars[0].offcut_mm == pytest.approx(311.4)
    assert found.waste_share == pytest.approx(1 - 600 / 914.4)


def test_one_list_a_rod_thin_to_thick_and_blanks_are_longer():
    placed = [an_object(1, box(), rod="1/4", diameter_mm=6.35), an_object(2, box(), hole_number="H2"),
              an_object(3, box())]
    final, blank = (cut_lists(placed, 914.4, 1.0, blank=b) for b in (False, True))
    assert [(c.rod, len(c.bars[0].pieces)) for c in final] == [("3/16", 2), ("1/4", 1)]
    assert {p.name for p in final[0].bars[0].pieces} == {"2 H2", "3"}
    assert blank[0].bars[0].pieces[0].length_mm == final[0].bars[0].pieces[0].length_mm + 30


def test_nonsense_is_refused():
    for args in (([Piece("1", 0.0)], 914.4, 1.0), ([Piece("1", 5.0)], 0.0, 1.0), ([Piece("1", 5.0)], 914.4, -1.0)):
        with pytest.raises(ValueError, match="above 0"):
            cut_list("rod", *args)
    assert cut_list("rod", [], 914.4).bars == ()
