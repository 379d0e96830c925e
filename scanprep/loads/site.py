"""What acceleration the site asks of a part, by its own frequency: from a code's formula, or an engineer's number.

Codes give a horizontal force on a part of a building; divided by its weight it is an acceleration in g. A part slower
than 16.7 Hz (period above 0.06 s) counts as flexible and is asked for 2.5 times as much: panels (1 to 6 Hz) and most
objects on their posts (10 to 15 Hz) are. Which code, which ground, whether a mount counts as a part at all: an engineer
says. Pure numbers in, g out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

#: A component with a longer fundamental period than this is flexible. exact: ASCE 7-16, 11.2 (from memory).
FLEXIBLE_PERIOD_s = 0.06
#: a_p of rigid and of flexible components. exact: UFC 3-310-03A table 10-1, note a; the same in ASCE 7-16 table 13.5-1.
RIGID_AMPLIFICATION, FLEXIBLE_AMPLIFICATION = 1.0, 2.5


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


def asce7_16_g(short_period_g: float, *, amplification: float = RIGID_AMPLIFICATION, response: float = 2.5,
               importance: float = 1.0, height_share: float = 0.0) -> Demand:
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


def amplification_of(frequency_Hz: float) -> float:
    """Return a_p of a part by its lowest frequency: 2.5 where it is flexible, else 1.0.

    >>> amplification_of(11.0), amplification_of(16.6), amplification_of(17.0)
    (2.5, 2.5, 1.0)
    """
    if frequency_Hz <= 0:
        raise ValueError(f"a frequency is above 0 Hz; got {frequency_Hz}")
    return FLEXIBLE_AMPLIFICATION if 1 / frequency_Hz > FLEXIBLE_PERIOD_s else RIGID_AMPLIFICATION


class Site(Protocol):
    """What is said of where a case stands; a case's brief is one."""

    @property
    def acceleration_g(self) -> float:
        """The engineer's number, or the allowance for handling and footfall."""
    @property
    def spectral_g(self) -> float | None:
        """S_DS of the site; None where an acceleration is given instead."""
    @property
    def vertical_g(self) -> float | None:
        """The engineer's number up or down; None: as much as sideways."""
    @property
    def importance(self) -> float:
        """I_p."""
    @property
    def height_share(self) -> float:
        """z/h of the floor."""
    @property
    def response(self) -> float:
        """R_p."""


@dataclass(frozen=True, slots=True)
class Shake:
    """What a part is shaken with, on top of gravity."""

    horizontal_g: float
    vertical_g: float
    words: str
    source: str

    @property
    def greatest_g(self) -> float:
        """The greater of the two."""
        return max(self.horizontal_g, self.vertical_g)


def shake_of(site: Site, frequency_Hz: float, carrier_Hz: float | None = None, *, in_step_ratio: float = 1.0) -> Shake:
    """Return what the site asks of a part.

    frequency_Hz   the part's own lowest
    carrier_Hz     of what carries it, such as the panel under an object; None: it stands on the floor
    in_step_ratio  how near one another two frequencies lie that may sway in step

    An engineer's number, and the allowance for footfall, are taken as acting on the part: they are not raised again.
    By the code's formula a part is asked for at least what its carrier is; where both are flexible and in step, nothing
    less than the code's most is safe to say (assumed: the formula knows one stage of amplification only).
    """
    if site.spectral_g is None:
        upright = site.acceleration_g if site.vertical_g is None else site.vertical_g
        return Shake(site.acceleration_g, upright, f"{site.acceleration_g:g} g, as the case states it",
                     "the case's own number")
    own, code = amplification_of(frequency_Hz), _asked(site, frequency_Hz)
    if carrier_Hz is None:
        return Shake(code.horizontal_g, code.vertical_g, f"a_p {own:g} at {frequency_Hz:.1f} Hz: {demand_words(code)}",
                     code.source)
    below = _asked(site, carrier_Hz)
    in_step = 1 / in_step_ratio <= frequency_Hz / carrier_Hz <= in_step_ratio
    if in_step and own > RIGID_AMPLIFICATION and amplification_of(carrier_Hz) > RIGID_AMPLIFICATION:
        return Shake(code.most_g, code.vertical_g, f"{frequency_Hz:.1f} Hz on a panel of {carrier_Hz:.1f} Hz may sway "
                     f"in step: the code's most, {code.most_g:.3f} g", code.source)
    governs = max((code, below), key=lambda demand: demand.horizontal_g)
    return Shake(governs.horizontal_g, governs.vertical_g, f"a_p {own:g} at {frequency_Hz:.1f} Hz, its panel "
                 f"{carrier_Hz:.1f} Hz: {demand_words(governs)}", governs.source)


def demanded_g(site: Site) -> float:
    """Return the acceleration that holds and rods are made for before any frequency is known: a flexible part's.

    >>> from scanprep.brief import CaseBrief
    >>> demanded_g(CaseBrief("", spectral_g=1.0, importance=1.5, height_share=0.5))
    1.2
    """
    return shake_of(site, 1 / (2 * FLEXIBLE_PERIOD_s)).greatest_g


def _asked(site: Site, frequency_Hz: float) -> Demand:
    if site.spectral_g is None:
        raise ValueError("a site without S_DS has no formula")
    return asce7_16_g(site.spectral_g, amplification=amplification_of(frequency_Hz), response=site.response,
                      importance=site.importance, height_share=site.height_share)
