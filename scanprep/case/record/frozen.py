"""What has become metal or a hole, against what the plan says now.

A finished mount keeps its rod, lengths and wire, a drilled hole its drill, depth and sheet, whatever is planned later:
the record says what is real, and every difference is a stop that names both and the ways out. A difference that a
person settled (accepted, or closed with a shim) with a reason is told as a look, until either side changes again.
Lengths in mm. Used by the decisions, the fold and the batch.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from scanprep.errors import InputError
from scanprep.findings import Finding, Verdict
from scanprep.hold.records import Hold, MadeFor
from scanprep.post.drill import drill_name, parse_drill, point_length_mm, same_drill
from scanprep.post.hole import what_shows
from scanprep.post.records import Hole, Post, PostPlan
from scanprep.rules import CaseRules


@dataclass(frozen=True, slots=True)
class Wire:
    """One arm as it was cut."""

    wire_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True)
class MadeFacts:
    """A finished mount: what it was made of and from which inputs."""

    rod: str  # label of the rod table
    rod_mm: float
    rod_measured: bool
    cut_length_mm: float
    free_length_mm: float  # face of the panel to the hub
    seat_depth_mm: float
    wires: tuple[Wire, ...] = ()
    inputs: int = 0  # the latest entry of the record that it was made by
    made_for: MadeFor | None = None  # what hub and arms were made for; None: an older record: as its hold was kept


@dataclass(frozen=True, slots=True)
class DrilledFacts:
    """A drilled hole."""

    drill: str  # as the shop calls it: "4.7 mm", "#12"
    drill_mm: float
    depth_mm: float | None  # None: a record that does not say
    through: bool | None  # None: a record of an older version, which did not say
    thickness_mm: float | None  # of the sheet at that place; None: nobody measured it
    checked_by: str


@dataclass(frozen=True, slots=True)
class Settled:
    """A difference between what is real and what is planned that a person has settled."""

    code: str  # of the finding, such as "made-cut-length"
    real: str  # both as the finding said them
    planned: str
    how: str  # "accepted", "shim 0.25 mm"
    person: str
    reason: str
    seq: int


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that is real and not as the plan says now."""

    code: str
    real: str  # "rod 3/16"
    planned: str
    ways: str  # the ways out, as one sentence
    measured: float | None = None
    limit: float | None = None


def made_facts(post: Post, hold: Hold, rod_measured: bool, inputs: int) -> MadeFacts:
    """Return what a mount is made of when it is made to its plan."""
    wires = tuple(Wire(round(tip.arm.wire_mm, 3), round(tip.arm.developed_length_mm, 1)) for tip in hold.tips)
    return MadeFacts(post.rod, post.diameter_mm, rod_measured, round(post.cut_length_mm, 2),
                     round(post.free_length_mm, 2), round(post.seat_depth_mm, 2), wires, inputs, hold.hub.made_for)


def made_differences(made: MadeFacts, post: Post, hold: Hold | None, number: str,
                     rules: CaseRules) -> tuple[Difference, ...]:
    """Return how a finished mount differs from what would be made now."""
    again = f"Make it anew (`scanprep made DIR {number} again`)"
    accept = f"accept it with `scanprep settle DIR {number} CODE --reason`"
    found = []
    if made.rod != post.rod:
        found.append(Difference("made-rod", f"rod {made.rod}", f"rod {post.rod}", f"{again}, or {accept}"))
    elif abs(made.rod_mm - post.diameter_mm) > rules.same_diameter_mm:
        found.append(Difference("made-rod-diameter", f"{made.rod_mm:.3f} mm", f"{post.diameter_mm:.3f} mm",
                                f"Measure its post again, fit it with a shim, or {accept}", made.rod_mm,
                                post.diameter_mm))
    if abs(made.cut_length_mm - post.cut_length_mm) > rules.same_length_mm:
        longer = made.cut_length_mm > post.cut_length_mm
        ways = "Cut it to length" if longer else again
        found.append(Difference("made-cut-length", f"{made.cut_length_mm:.1f} mm", f"{post.cut_length_mm:.1f} mm",
                                f"{ways}, or {accept}", made.cut_length_mm, post.cut_length_mm))
    if hold is not None and made.wires:
        was = sorted((w.wire_mm, w.length_mm) for w in made.wires)
        now = sorted((round(t.arm.wire_mm, 3), t.arm.developed_length_mm) for t in hold.tips)
        if len(was) != len(now) or any(
                abs(a[0] - b[0]) > rules.same_diameter_mm or abs(a[1] - b[1]) > rules.same_length_mm
                for a, b in zip(was, now)):
            found.append(Difference("made-arms", _arms(was), _arms(now), f"{again}, or {accept}"))
    return tuple(found)


def _arms(wires: Sequence[tuple[float, float]]) -> str:
    return ", ".join(f"{wire:.2f} x {length:.0f} mm" for wire, length in wires) or "no arms"


def drilled_differences(real: DrilledFacts, hole: Hole, hole_number: str, number: str,
                        rules: CaseRules) -> tuple[Difference, ...]:
    """Return how a drilled hole differs from what would be drilled now."""
    accept = f"accept it with `scanprep settle DIR {number} CODE --reason`"
    give_up = f"abandon it (`scanprep void DIR {hole_number} --reason`)"
    found = []
    if not same_drill(real.drill, hole.drill):
        wider = real.drill_mm > hole.drill_diameter_mm
        shim = "Close it with a shim (`scanprep settle … --shim`)" if wider else "Drill it up to size"
        found.append(Difference("drilled-drill", f"drill {real.drill}", f"drill {hole.drill}",
                                f"{shim}, {accept}, or {give_up}", real.drill_mm, hole.drill_diameter_mm))
    if real.through is not None and real.through != hole.through:
        found.append(Difference("drilled-through", "through" if real.through else "blind",
                                "through" if hole.through else "blind", f"{accept[0].upper()}{accept[1:]}, or "
                                f"{give_up}"))
    elif not hole.through and real.depth_mm is not None and abs(real.depth_mm - hole.depth_mm) > rules.same_length_mm:
        deeper = real.depth_mm > hole.depth_mm
        ways = "Mark the seat on the post so that it is not pushed too deep" if deeper else "Drill it deeper"
        found.append(Difference("drilled-depth", f"{real.depth_mm:.1f} mm deep", f"{hole.depth_mm:.1f} mm",
                                f"{ways}, {accept}, or {give_up}", real.depth_mm, hole.depth_mm))
    return tuple(found)


def difference_findings(number: str, differences: Sequence[Difference],
                        settled: Sequence[Settled]) -> tuple[Finding, ...]:
    """Return differences as findings: a stop each, or a look where a person has settled that very difference."""
    return tuple(_finding(number, difference, settled) for difference in differences)


def _finding(number: str, one: Difference, settled: Sequence[Settled]) -> Finding:
    subject = f"object {number}"
    thing = "mount is made with" if one.code.startswith("made") else "hole is drilled with"
    said = f"{subject}: its {thing} {one.real}; planned now is {one.planned}"
    by = next((s for s in reversed(settled) if (s.code, s.real, s.planned) == (one.code, one.real, one.planned)), None)
    if by is not None:
        return Finding(one.code, subject, Verdict.LOOK, f"{said} ({by.how} by {by.person}: {by.reason})", "",
                       one.measured, one.limit, "mm" if one.measured is not None else "")
    return Finding(one.code, subject, Verdict.STOP, said, one.ways.replace("CODE", one.code), one.measured, one.limit,
                   "mm" if one.measured is not None else "")


def web_finding(number: str, real: DrilledFacts, point_angle_deg: float, least_mm: float) -> tuple[Finding, ...]:
    """Return a stop where a drilled blind hole leaves less sheet behind it than the least web; else nothing.

    Nothing too where the sheet was not measured at the hole.
    """
    if real.through or real.thickness_mm is None or real.depth_mm is None:
        return ()
    web = real.thickness_mm - real.depth_mm - point_length_mm(real.drill_mm, point_angle_deg)
    if web >= least_mm:
        return ()
    subject = f"object {number}"
    return (Finding("drilled-web", subject, Verdict.STOP,
                    f"{subject}: its drilled hole leaves {web:.1f} mm of the sheet behind it; {least_mm:g} mm are "
                    "required", "Ask an engineer whether it may carry, or abandon it", web, least_mm, "mm"),)


def as_real(plan: PostPlan, made: MadeFacts | None, real: DrilledFacts | None) -> PostPlan:
    """Return a plan with what is real in place of what would be planned now; checks stay those of the plan."""
    post, hole = plan.post, plan.hole
    if made is not None:
        post = replace(post, rod=made.rod, diameter_mm=made.rod_mm, cut_length_mm=made.cut_length_mm)
    if real is not None:
        through = hole.through if real.through is None else real.through
        depth_mm = hole.depth_mm if real.depth_mm is None else real.depth_mm
        tip_mm = point_length_mm(real.drill_mm, hole.point_angle_deg)
        web_mm = hole.web_mm if real.thickness_mm is None else real.thickness_mm - depth_mm - tip_mm
        hole = replace(hole, drill=real.drill, drill_diameter_mm=real.drill_mm, depth_mm=depth_mm,
                       point_depth_mm=tip_mm, through=through, web_mm=0.0 if through else web_mm, state="drilled")
        hole = replace(hole, shows=what_shows(hole))
    return replace(plan, post=post, hole=hole)


def drilled_facts(drill: str, depth_mm: float | None, through: bool | None, thickness_mm: float | None,
                  checked_by: str) -> DrilledFacts | None:
    """Return a drilled hole's facts; None for a drill that no catalogue has, which an old record may name."""
    try:
        found = parse_drill(drill)
    except InputError:
        return None
    return DrilledFacts(drill_name(found), found.diameter_mm, depth_mm, through, thickness_mm, checked_by)
