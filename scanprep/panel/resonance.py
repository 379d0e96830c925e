"""Whether an object sways in step with its panel.

A panel nods at a few hertz when someone walks by; an object on its post that has the same frequency is carried along
many times over. Kept apart by a band; inside it, how much the object would move. Hz in, ratios out.
"""

from __future__ import annotations

import math

from scanprep.brief import PanelBrief
from scanprep.findings import Check, Verdict
from scanprep.panel.strength import FaceLoad, Stage, stages, swaying
from scanprep.rules import PostRules, Rulebook

SOURCE = "den Hartog, transmissibility; walking wakes slow panels (both from memory)"


def transmissibility(ratio: float, damping_ratio: float) -> float:
    """Return how many times its support's movement a mass makes; ratio = support's frequency over the mass's own.

    T = sqrt((1 + (2 z r)^2) / ((1 - r^2)^2 + (2 z r)^2)).

    >>> round(transmissibility(1.0, 0.03), 1)
    16.7
    """
    term = (2 * damping_ratio * ratio) ** 2
    return math.sqrt((1 + term) / ((1 - ratio**2) ** 2 + term))


def panel_modes_Hz(panel: PanelBrief, loads: tuple[FaceLoad, ...], rules: Rulebook) -> tuple[float, ...]:
    """Return the bending and twisting frequencies of a panel that walking can wake: bare, one face full, all hung.

    The steps between lie between these. None where the panel is too stiff for that.
    """
    whole = [stage for stage in stages(loads) if not stage.name.startswith("after")]
    seen = [swaying(stage, panel, rules.panel) for stage in (Stage("bare", ()), *whole)]
    every = {round(f, 2) for one in seen for f in (*one.bending_Hz, *one.torsion_Hz) if f < rules.panel.woken_Hz}
    return tuple(sorted(every))


def resonance_check(frequency_Hz: float, panel_Hz: tuple[float, ...], rules: PostRules, *,
                    measured: bool = False) -> Check:
    """Judge an object's lowest frequency against its panel's: outside 0.7 to 1.4 times each of them.

    The value is the nearest ratio, object over panel; the note tells how much it would be carried along.
    """
    if not panel_Hz:
        return Check("post-resonance", None, None, "times", None, SOURCE,
                     Verdict.OK if measured else Verdict.UNMEASURED,
                     "the panel has no frequency that steps or doors could wake")
    nearest = min(panel_Hz, key=lambda mode: abs(math.log(frequency_Hz / mode)))
    ratio = frequency_Hz / nearest
    gain = transmissibility(1 / ratio, rules.damping_ratio)
    inside = rules.resonance_low_ratio < ratio < rules.resonance_high_ratio
    limit = rules.resonance_high_ratio if ratio >= 1 else rules.resonance_low_ratio
    margin = ratio / limit if ratio >= 1 else limit / ratio
    return Check("post-resonance", ratio, limit, "times", margin, SOURCE,
                 Verdict.LOOK if inside else Verdict.OK if measured else Verdict.UNMEASURED,
                 f"object {frequency_Hz:.1f} Hz, panel {nearest:.1f} Hz: it would move {gain:.1f} times the panel "
                 f"(damping {rules.damping_ratio:.0%}, assumed)")
