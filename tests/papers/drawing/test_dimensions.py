"""Dimensions and balloons stand clear of each other, as ISO 129-1 asks: no line through a dimension's words."""

from scanprep.papers.drawing.dimensions import balloons_round, level_dimensions
from scanprep.papers.drawing.sheet import WHITE, Box, Circle, Path, Text, bounds


def test_an_extension_line_is_hidden_where_it_passes_words():
    # 20 is too narrow for its words: they stand right of it, where the third span's line comes down
    items = level_dimensions([(0.0, 5.0, "20.0", (30.0, 30.0)), (5.0, 12.0, "18.0", (30.0, 30.0))], 20.0)
    words = [(k, item) for k, item in enumerate(items) if isinstance(item, Text)]
    first = words[0][1]
    crossing = [k for k, item in enumerate(items) if isinstance(item, Path) and item.fill is None
                and bounds(item).height_mm > 5 and bounds(item).meets(bounds(first))]
    plate = next(k for k, item in enumerate(items) if isinstance(item, Path) and item.fill == WHITE
                 and bounds(item).left_mm <= first.x_mm + 1e-9)
    assert crossing and max(crossing) < plate < words[0][0]
    assert not bounds(first).meets(bounds(words[1][1]))


def test_balloons_stand_clear_of_what_is_kept_clear_and_of_each_other():
    view = Box(0.0, 0.0, 40.0, 40.0)
    targets = [("1", (20.0, 38.0)), ("2", (25.0, 38.0)), ("3", (2.0, 5.0))]
    above = Box(18.0, 40.0, 24.0, 46.0)

    def balloons(kept):
        made = balloons_round(targets, view, gap_mm=2.5, kept_clear=kept)
        return [bounds(item) for item in made if isinstance(item, Circle) and item.radius_mm > 1.0]

    assert any(one.meets(above) for one in balloons(()))
    moved = balloons((above,))
    assert not any(one.meets(above) for one in moved)
    assert not any(one.meets(other) for i, one in enumerate(moved) for other in moved[:i])
    assert moved[0] == balloons(())[0] and len(moved) == 3  # who stands clear stays
