"""What yields first when a hand pushes at an object's edge, and whether that is what should.

A post that turns in its hole is set again by its clock mark; an arm that moves is bent back. A tip that presses beyond
what the object may bear, a rod that stays bent, a post that comes out: those must not come first. N.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.findings import Check, Verdict
from scanprep.hold.strength.cells import arm_capacity_N, tip_capacity_N
from scanprep.post.judge import worst_stress_MPa
from scanprep.post.loads import standing_load, touched_loads
from scanprep.post.object_chain import ObjectChain, pushed

SOURCE = "load table; what may come first: common practice"
TURNS, BENDS = "the post turns in its hole", "an arm stays bent"
PRESSES, ROD, OUT = "a tip presses beyond the object's limit", "the rod stays bent", "the post comes out"
#: What is set right at the bench and harms nothing.
MAY_YIELD = (TURNS, BENDS)


@dataclass(frozen=True, slots=True)
class Yielding:
    """One thing that a push at the edge does, and at what force."""

    what: str
    force_N: float


def yielding_order(chain: ObjectChain) -> tuple[Yielding, ...]:
    """Return what a push at the outermost point does, from the least force up. A fit not measured is left out."""
    tried = chain.tried
    carried, fit = tried.carried, tried.fit
    found = []
    if chain.wires:
        unit = pushed(chain.pushes_mm, 1.0)
        wires = chain.wires
        found += [Yielding(PRESSES, tip_capacity_N(wires, unit, tried.rules.hold)),
                  Yielding(BENDS, arm_capacity_N(wires, unit, chain.states, chain.solder))]
    standing, _ = worst_stress_MPa(tried, (standing_load(carried),))
    with_push, _ = worst_stress_MPa(tried, touched_loads(carried, 1.0))
    found.append(Yielding(ROD, max(0.0, tried.alloy.yield_typical_MPa - standing) / max(with_push - standing, 1e-9)))
    if fit.measured:
        still = abs(standing_load(carried).torque_Nmm)
        found.append(Yielding(TURNS, max(0.0, fit.holding.slip_torque_Nmm - still) / carried.outer_radius_mm))
        found.append(Yielding(OUT, fit.holding.pull_out_N))
    return tuple(sorted(found, key=lambda one: one.force_N))


def hand_words(chain: ObjectChain) -> str:
    """Return what yields first as one sentence."""
    return _words(chain, yielding_order(chain))


def _words(chain: ObjectChain, order: tuple[Yielding, ...]) -> str:
    said = ", then ".join(f"{one.what} at {one.force_N:.1f} N" for one in order)
    return f"pushed at its edge: first {said}" + ("" if chain.tried.fit.measured else "; its hole is not measured yet")


def gives_first_check(chain: ObjectChain) -> Check:
    """Judge what yields first: at least the accidental touch before anything that must not."""
    touch_N, order = chain.tried.rules.post.touch_N, yielding_order(chain)
    words = _words(chain, order)
    if "visitors" in chain.barrier or chain.barrier == "everyone":
        verdict = Verdict.OK if chain.tried.fit.measured else Verdict.UNMEASURED
        return Check("gives-first", order[0].force_N, None, "N", None, SOURCE, verdict,
                     f"{words}; a barrier keeps {chain.barrier} off")
    harmful = min(one.force_N for one in order if one.what not in MAY_YIELD)
    # a pull along the post is not eased by what turns or bends first
    fused = min((one.force_N for one in order if one.what in (PRESSES, ROD)), default=np.inf)
    first = min((one.force_N for one in order if one.what in MAY_YIELD), default=np.inf)
    stays_in = min((one.force_N for one in order if one.what == OUT), default=np.inf) >= touch_N
    safe = stays_in and (fused >= touch_N or first <= fused)
    verdict = Verdict.LOOK if not safe else Verdict.OK if chain.tried.measured and chain.tried.fit.measured else \
        Verdict.UNMEASURED
    advice = "" if safe else f"; it does not bear a touch of {touch_N:g} N: keep hands off with a barrier"
    return Check("gives-first", float(harmful), touch_N, "N", float(harmful) / touch_N, SOURCE, verdict,
                 f"{words}{advice}")
