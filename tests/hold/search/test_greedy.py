"""The search over rows: against trying every set of a small problem."""

import itertools

import numpy as np

from scanprep.hold.search.greedy import LEAST_TIPS, mended, neighbours, search
from scanprep.hold.search.twist_table import Rows


def problem(seed, units=14, rows=30, clash=()):
    rng = np.random.default_rng(seed)
    does = rng.uniform(0, 1, size=(rows, units)) * (rng.uniform(size=(rows, units)) < 0.5)
    asks = rng.uniform(0.3, 0.9, size=rows)
    barred = np.zeros((units, units), dtype=bool)
    for a, b in clash:
        barred[a, b] = barred[b, a] = True
    return Rows(does.astype(np.float32), asks.astype(np.float32), rows, rng.uniform(0, 0.3, size=units),
                tuple((i,) for i in range(units)), barred)


def every_set(rows, size):
    return [tips for tips in itertools.combinations(range(len(rows.tips)), size)
            if not rows.clash[np.ix_(tips, tips)].any()]


def test_a_set_is_found_wherever_trying_all_finds_one_of_up_to_five():
    met = 0
    for seed in range(12):
        rows = problem(seed)
        least = min((k for k in (3, 4, 5) for tips in every_set(rows, k) if rows.shortfall(list(tips)).max() <= 0),
                    default=None)
        found = search(rows, 6, 4)[0]
        if least is None:  # six of six: a greedy search may miss that
            continue
        met += 1
        assert found.lack <= 0, (seed, least)
        assert len(found.tips) <= least + 1  # greedy with swaps: at most one tip more than the fewest
    assert met >= 6


def test_what_a_set_lacks_is_told_as_it_is():
    rows = problem(3)
    for found in search(rows, 5, 4):
        assert np.isclose(found.lack, rows.shortfall(list(found.tips)).max(), atol=1e-6)
        assert LEAST_TIPS <= len(found.tips) <= 5


def test_tips_that_clash_never_stand_together():
    clash = [(a, b) for a in range(14) for b in range(a) if (a + b) % 3 == 0]
    for seed in range(6):
        rows = problem(seed, clash=clash)
        for found in search(rows, 6, 4):
            tips = list(found.tips)
            assert not rows.clash[np.ix_(tips, tips)].any()
            for near in neighbours(rows, found, 3):
                others = list(near.tips)
                assert not rows.clash[np.ix_(others, others)].any()


def test_a_barred_tip_is_never_taken_again():
    rows = problem(1)
    tip = search(rows, 6, 1)[0].tips[0]
    rows.bar(tip)
    rest = tuple(t for t in search(rows, 6, 1)[0].tips if t != tip)
    assert tip not in mended(rows, rest, 6).tips


def test_neighbours_differ_in_one_tip_and_lack_no_more():
    rows = problem(5)
    found = search(rows, 6, 4)[0]
    for near in neighbours(rows, found, 4):
        assert len(set(near.tips) & set(found.tips)) == len(found.tips) - 1
        assert near.lack <= max(found.lack, 0.0) + 1e-6


def test_a_new_row_is_minded():
    rows = problem(2)
    found = search(rows, 6, 4)[0]
    ask = np.zeros((1, len(rows.tips)), np.float32)
    wanted = next(i for i in range(len(rows.tips)) if i not in found.tips)
    ask[0, wanted] = 1.0
    rows.add(ask, np.array([0.5], np.float32))
    assert wanted in mended(rows, found.tips, 6).tips
