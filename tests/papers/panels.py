"""An invented panel with holes on both faces, some of them the two ends of one through-axis."""

import random
from dataclasses import replace

from scanprep.papers.templates.template import TemplateHole, TemplatePanel

SIZES = (("3/16", 4.7625, 4.76), ("#30", 3.2639, 3.18), ("1/4", 6.35, 6.35), ("4.0", 4.0, 3.97))


def invented_panel(name="West", count=9, seed=5, width_mm=600.0, height_mm=2200.0, measured=True, through=2):
    """`count` holes a face, at least 45 mm apart, the last `through` of face A matched on face B."""
    dice, holes = random.Random(seed), []
    for face in ("A", "B"):
        k = 0
        while k < count - (through if face == "B" else 0):
            x, y = round(dice.uniform(45, width_mm - 45), 3), round(dice.uniform(70, height_mm - 70), 3)
            if any(abs(h.from_left_mm - x) < 45 and abs(h.y_mm - y) < 45 for h in holes if h.face == face):
                continue
            k += 1
            drill, diameter, rod = SIZES[k % len(SIZES)]
            state = {2: "void", 3: "drilled"}.get(k, "planned")
            waits = ("rod not measured", f"thickness of panel {name} is not measured")
            holes.append(TemplateHole(
                f"{name[0]}{face}-{k:02d}", f"FB-{len(holes) + 1:03d}", face, x, y, drill, diameter, 21.5, False, rod,
                3, dice.choice((0.0, 15.0, -20.0, 90.0)), state, () if measured or state == "void" else waits))
    ends = [h for h in holes if h.face == "A"][count - through:count]
    holes = [replace(h, through=True) if h in ends else h for h in holes]
    # the far end of a through-axis, as face B's viewer sees it: the panel frame's x is width - x (panel/faces.py)
    holes += [replace(h, face="B", number=h.number + "T", from_left_mm=width_mm - h.from_left_mm,
                      through=True) for h in ends]
    return TemplatePanel(name, width_mm, height_mm, 30.0, measured, tuple(holes))
