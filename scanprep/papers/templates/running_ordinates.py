"""Running ordinates along a template's datum edges: every hole's X and Y, all told from one origin.

Superimposed running dimensioning after ISO 129-1: a small circle at the origin, a tick at each place, its value along
the extension line. Values that stand close are spread, each with a bent leader to its tick. Face frame, mm; outside the
sheet's edges, so only on the long page. The ticks are where the holes' axes meet the edges.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from scanprep.panel.faces import FaceName
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.sheet import Circle, Item, Path, Pen, Text, line
from scanprep.papers.templates.template import TemplateHole, TemplatePanel, datum_x_mm

LAYER = "ORDINATES"
#: layout: how far the words reach beyond an edge: tick, leader and `2200.00 HELD` at this height.
REACH_MM = 34.0
_WORDS_MM, _PITCH_MM = 2.5, 3.6  # layout: height and pitch of ordinates
_TICK_MM, _BEND_MM, _WORDS_AT_MM = 3.0, 8.0, 10.0  # layout: tick, bend and words of a leader
_LINE = Pen(0.13)  # layout: leader


def spread(places: Sequence[float], pitch: float) -> list[float]:
    """Return places, in rising order, moved apart to at least `pitch`, as little as least squares asks.

    Runs that would overlap are pooled and stand evenly about their mean (pooling of adjacent violators).
    """
    pools: list[list[float]] = []  # sum of (place - k pitch), count
    for k, place in enumerate(places):
        pools.append([place - k * pitch, 1.0])
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] > pools[-1][0] / pools[-1][1]:
            total, count = pools.pop()
            pools[-1][0] += total
            pools[-1][1] += count
    starts = [total / count for total, count in pools for _ in range(int(count))]
    return [start + k * pitch for k, start in enumerate(starts)]


def running_ordinates(panel: TemplatePanel, face: FaceName, measures: Measures) -> list[Item]:
    """Return the marks along the lower edge (X) and the datum edge (Y) for all holes that are or will be there."""
    holes = [hole for hole in panel.on(face) if hole.state != "void"]
    edge, out = (0.0, -1.0) if face == "A" else (panel.width_mm, 1.0)
    items: list[Item] = [Circle(edge, 0.0, 1.2, Pen(0.25), layer=LAYER)]
    xs = _said({hole: (hole.from_left_mm, measures.fine(datum_x_mm(hole, panel))) for hole in holes})
    ys = _said({hole: (hole.y_mm, measures.fine(hole.y_mm)) for hole in holes})
    for (x, said), at in zip(sorted(xs.items()), spread(sorted(xs), _PITCH_MM), strict=True):
        items += [line(x, 0.0, x, -_TICK_MM, Pen(0.25), LAYER),
                  Path(((x, -_TICK_MM), (at, -_BEND_MM), (at, -_WORDS_AT_MM + 0.5)), _LINE, layer=LAYER),
                  Text(at + _WORDS_MM / 2, -_WORDS_AT_MM, said, _WORDS_MM, "end", 90.0, layer=LAYER)]
    for (y, said), at in zip(sorted(ys.items()), spread(sorted(ys), _PITCH_MM), strict=True):
        tick, bend, words = (edge + out * away for away in (_TICK_MM, _BEND_MM, _WORDS_AT_MM))
        items += [line(edge, y, tick, y, Pen(0.25), LAYER),
                  Path(((tick, y), (bend, at), (words - out * 0.5, at)), _LINE, layer=LAYER),
                  Text(words, at - _WORDS_MM / 2, said, _WORDS_MM, "end" if out < 0 else "start", layer=LAYER)]
    return items


def _said(places: Mapping[TemplateHole, tuple[float, str]]) -> dict[float, str]:
    """Place -> its words, which say HELD where no hole at that place may be drilled."""
    open_at = {round(at, 4) for hole, (at, _) in places.items() if hole.standing != "held"}
    return {round(at, 4): words if round(at, 4) in open_at else f"{words} HELD" for at, words in places.values()}
