"""Few diameters against every choice there is (brute force), and by hand."""

import itertools

import numpy as np
import pytest

from scanprep.case.lists.diameters import choose_diameters
from scanprep.post.records import PostNeed, Rod


def rod(diameter_mm):
    return Rod(f"{diameter_mm:g} mm", diameter_mm, 0.0, 0.0, "brass", "test")


def need(diameter_mm):
    return PostNeed(None if diameter_mm is None else rod(diameter_mm), "post-droop", ())


def test_by_hand():
    # needs 2, 2, 2, 3, 5 with two sizes: {2, 5} costs 3*4 + 2*25 = 62; {3, 5} costs 4*9 + 25 = 61; {5} costs 125.
    needs = {str(i): need(d) for i, d in enumerate([2, 2, 2, 3, 5])}
    found = choose_diameters(needs, [rod(d) for d in (2, 3, 4, 5)], 2)
    assert found.diameters_mm == (3, 5)
    assert (found.visual_weight_mm2, found.visual_weight_alone_mm2) == (61, 46)
    assert [(r.alone.diameter_mm, r.given.diameter_mm) for r in found.given] == [(2, 3)] * 3 + [(3, 3), (5, 5)]


def test_widths_shift_the_choice():
    # as above, but the 2 mm posts are ten times as long: {2, 5}: 120 + 50 = 170 beats {3, 5}: 270 + 9 + 25 = 304.
    needs = {str(i): need(d) for i, d in enumerate([2, 2, 2, 3, 5])}
    assert choose_diameters(needs, [], 2, {"0": 10.0, "1": 10.0, "2": 10.0}).diameters_mm == (2, 5)


@pytest.mark.parametrize("seed", range(30))
def test_equals_brute_force(seed):
    rng = np.random.default_rng(seed)
    stock = np.sort(rng.choice(np.arange(10, 80), size=int(rng.integers(2, 9)), replace=False)) / 10
    wanted = rng.choice(stock, size=int(rng.integers(1, 12)))
    k = int(rng.integers(1, 5))
    widths = {str(i): float(w) for i, w in enumerate(rng.integers(1, 9, len(wanted)))}

    def weight(sizes):
        if max(wanted) > max(sizes):
            return np.inf
        return sum(widths[str(i)] * min(s for s in sizes if s >= d) ** 2 for i, d in enumerate(wanted))

    least = min(weight(c) for n in range(1, k + 1) for c in itertools.combinations(stock, n))
    found = choose_diameters({str(i): need(float(d)) for i, d in enumerate(wanted)}, [rod(float(d)) for d in stock], k,
                             widths)
    assert found.visual_weight_mm2 == pytest.approx(least, rel=1e-12)
    assert len(found.chosen) <= k
    assert all(r.given.diameter_mm >= r.alone.diameter_mm for r in found.given)


def test_objects_that_nothing_in_stock_carries_are_named():
    found = choose_diameters({"1": need(2), "2": need(None)}, [rod(2), rod(3)], 2)
    assert (found.without, found.diameters_mm, found.rods["1"].diameter_mm) == (("2",), (2, 3), 2)


def test_what_nothing_in_stock_carries_gets_the_thickest():
    assert choose_diameters({"2": need(None)}, [rod(2), rod(3)], 1).rods["2"].diameter_mm == 3
    with pytest.raises(ValueError, match="at least one"):
        choose_diameters({}, [], 0)
