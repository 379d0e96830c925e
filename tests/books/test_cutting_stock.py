"""Cut lists against published and independently solved cutting-stock problems.

Paper mill: "Cutting stock problem", Wikipedia, stock 5600: 13 widths, bound 72.7, optimum 73 rolls, waste 0.401 %.
First-fit trap and brass rods: solved with another solver (PuLP/CBC) while this test was written.
"""

import math

import pytest

from scanprep.case.lists.cutlist import Piece, cut_list

MILL = [(1380, 22), (1520, 25), (1560, 12), (1710, 14), (1820, 18), (1880, 18), (1930, 20), (2000, 10), (2050, 12),
        (2100, 14), (2140, 16), (2150, 18), (2200, 20)]


def pieces(items):
    return [Piece(f"{length}.{i}", float(length)) for length, count in items for i in range(count)]


def whole(found, wanted, bar_mm, kerf_mm):
    """Every piece once, no bar overfull: the last cut may run off the bar's end."""
    assert sorted(p.name for bar in found.bars for p in bar.pieces) == sorted(p.name for p in wanted)
    for bar in found.bars:
        assert sum(p.length_mm for p in bar.pieces) + kerf_mm * (len(bar.pieces) - 1) <= bar_mm + 1e-6


def test_paper_mill_reaches_the_published_optimum():
    found = cut_list("roll", pieces(MILL), 5600.0)
    assert (len(found.bars), found.least_bars, found.proven) == (73, 73, True)
    assert found.waste_share == pytest.approx(0.00401, abs=5e-6)
    whole(found, pieces(MILL), 5600.0, 0.0)


def test_first_fit_trap():
    # longest-first into the first bar with room needs 11 bars here; 9 are enough
    items = [(510, 6), (270, 6), (260, 6), (230, 12)]
    found = cut_list("bar", pieces(items), 1000.0)
    assert (len(found.bars), found.proven) == (9, True)
    whole(found, pieces(items), 1000.0, 0.0)


@pytest.mark.parametrize("kerf_mm", [0.0, 1.0, 2.0])
def test_brass_rods_with_kerf(kerf_mm):
    items = [(62, 20), (71, 18), (85, 25), (97, 12), (110, 9)]
    found = cut_list("3/16", pieces(items), 914.4, kerf_mm)
    assert (len(found.bars), found.proven) == (8, True)
    whole(found, pieces(items), 914.4, kerf_mm)
    total = sum(length * count for length, count in items)
    assert math.ceil(total / 914.4) <= 8
