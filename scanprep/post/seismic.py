"""What acceleration a building code would ask of a mount: a proposal for the case file, never a decision.

Codes give a horizontal force on a part of a building; divided by its weight it is an acceleration in g. Which code,
which ground, whether a mount counts as a part at all: an engineer says. Pure numbers in, g out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

#: Printed wherever a proposed acceleration stands.
ENGINEER_DECIDES = (
    "This acceleration is a proposal from a published formula; a licensed engineer decides what the site, the building "
    "and the local code ask for."
)


@dataclass(frozen=True, slots=True)
class Demand:
    """A code's force on a part, over its weight."""

    horizontal_g: float
    raw_g: float  # before the code's limits
    least_g: float
    most_g: float
    vertical_g: float  # up or down, at the same time; 0 where the code's clause says nothing of it
    governs: str  # "formula", "least", "most"
    source: str


def asce7_16_g(short_period_g: float, *, amplification: float = 1.0, response: float = 2.5, importance: float = 1.0,
               height_share: float = 0.0) -> Demand:
    """Return the demand of ASCE 7-16, equation 13.3-1 with its limits 13.3-2 and 13.3-3.

    short_period_g  S_DS, the design spectral acceleration of the site at short periods, in g
    amplification   a_p, 1.0 rigid to 2.5 flexible
    response        R_p, 1.0 brittle to 2.5 and more
    importance      I_p, 1.0 or 1.5
    height_share    z/h of the floor in the building, 0 ground to 1 roof

    F_p = 0.4 a_p S_DS W_p (1 + 2 z/h) / (R_p/I_p), between 0.3 S_DS I_p W_p and 1.6 S_DS I_p W_p; vertical 0.2 S_DS.

    >>> asce7_16_g(0.85, response=1.0).horizontal_g
    0.34
    """
    if not (short_period_g >= 0 and response > 0 and 0 <= height_share <= 1):
        raise ValueError(f"S_DS >= 0, R_p > 0 and 0 <= z/h <= 1; got {short_period_g}, {response}, {height_share}")
    raw = 0.4 * amplification * short_period_g * (1 + 2 * height_share) / (response / importance)
    least, most = 0.3 * short_period_g * importance, 1.6 * short_period_g * importance
    value = min(max(raw, least), most)
    governs = "formula" if value == raw else "least" if value == least else "most"
    return Demand(value, raw, least, most, 0.2 * short_period_g, governs, "ASCE 7-16, 13.3.1")


def en1998_1_g(ground_share: float, *, height_share: float = 0.0, period_ratio: float = 0.0, importance: float = 1.0,
               behaviour: float = 1.0) -> Demand:
    """Return the demand of EN 1998-1, 4.3.5: S_a = alpha S [3 (1 + z/H)/(1 + (1 - Ta/T1)^2) - 0.5], not below alpha S.

    ground_share  alpha S, ground acceleration over g times the soil factor
    period_ratio  Ta/T1 of part and building
    behaviour     q_a

    From memory; the symbols were confirmed on a software help page.

    >>> round(en1998_1_g(0.30, height_share=0.5).horizontal_g, 3)
    0.525
    """
    raw = ground_share * (3 * (1 + height_share) / (1 + (1 - period_ratio) ** 2) - 0.5)
    value = max(raw, ground_share)
    return Demand(value * importance / behaviour, raw * importance / behaviour, ground_share * importance / behaviour,
                  float("inf"), 0.0, "formula" if value == raw else "least", "EN 1998-1, 4.3.5 (from memory)")


def demand_words(demand: Demand) -> str:
    """Return a demand as one sentence: what is asked, what governs, the limits, the clause."""
    governs = {"formula": "the formula", "least": "the code's least", "most": "the code's most"}[demand.governs]
    upright = f", {demand.vertical_g:.3f} g up or down" if demand.vertical_g else "; up or down the clause says nothing"
    most = f", most {demand.most_g:.3f}" if math.isfinite(demand.most_g) else ""
    return (f"{demand.horizontal_g:.3f} g sideways{upright}; {governs} governs (formula {demand.raw_g:.3f}, least "
            f"{demand.least_g:.3f}{most} g). {demand.source}")
