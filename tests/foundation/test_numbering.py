"""Numbers in the order in which people count them."""

from hypothesis import given
from hypothesis import strategies as st

from scanprep.numbering import natural_key


def in_order(*numbers):
    return sorted(numbers, key=natural_key)


def test_digits_count_as_numbers():
    # counted by hand: 2 < 10, and FB-9 comes before FB-010 since 9 < 10
    assert in_order("H10", "H2", "H1") == ["H1", "H2", "H10"]
    assert in_order("FB-010", "FB-9", "FB-100") == ["FB-9", "FB-010", "FB-100"]
    assert in_order("12a", "12", "2", "1.10", "1.2") == ["1.2", "1.10", "2", "12", "12a"]


@given(st.lists(st.text(alphabet="0123456789Hab.- ", max_size=6), max_size=8), st.randoms())
def test_the_order_does_not_depend_on_what_came_first(numbers, chance):
    mixed = list(numbers)
    chance.shuffle(mixed)
    assert in_order(*mixed) == in_order(*numbers)


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_plain_whole_numbers_sort_as_numbers(one, other):
    assert in_order(str(one), str(other)) == [str(n) for n in sorted((one, other))]
