"""How big a scan really is: file units to millimetres, from a stated unit, a known size, or both.

With both they must agree within 2 %; with neither the scan is refused and the units that would make it a plausible
size are named. Nothing is guessed silently: what was taken, and how far the two agree, stands in `Scale.basis`.
A mix-up of inches, millimetres, centimetres and metres is called by its name.
Known sizes are compared with the object alone, without fragments and table. Touches no files.
"""

from __future__ import annotations

import numpy as np

from scanprep.brief import KnownSize, ObjectBrief
from scanprep.errors import ScanError
from scanprep.findings import Finding, Verdict
from scanprep.rules import ScanRules
from scanprep.scan.bodies import believable
from scanprep.scan.caps import measured_loops
from scanprep.scan.edges import compact
from scanprep.scan.ends import short_below
from scanprep.scan.extents import Length, box_sides, readings
from scanprep.scan.mesh import RawMesh, Scale, Scan
from scanprep.scan.shell import find_shell, support_of, way_down
from scanprep.units import MM_PER
from scanprep.vectors import F64

_UNITS = ("mm", "cm", "m", "in")


def true_size(
    raw: RawMesh, *, name: str, file: str, sha256: str, format: str, brief: ObjectBrief, rules: ScanRules
) -> Scan:
    """Return the scan in mm, its own axes and origin kept.

    raw       as read
    brief     its unit and known sizes count; its unit is believed before the format's
    rules     scale_conflict_ratio, least_plausible_mm, most_plausible_mm

    Raises ScanError where size is unknown, contradictory, or out of all proportion.
    """
    stated = brief.unit or raw.unit
    if stated is not None and stated not in MM_PER:
        raise ScanError(file=file, field="unit", value=stated, problem="is not a unit of length",
                        remedy=f"Write one of {', '.join(MM_PER)}")
    points, up, short = _object(raw, brief, rules)
    if len(points) == 0 or float(box_sides(points).max()) <= 0:
        raise ScanError(file=file, problem="the scan has no extent", remedy="Export the scan again")
    findings: list[Finding] = []
    if brief.sizes:
        _check_sizes(brief.sizes, file)
        candidates = [readings(size, points, up, brief.front) for size in brief.sizes]
        if stated is None:
            scale = _from_sizes(brief.sizes, candidates, file, rules)
            findings += _unsure_height(brief.sizes, short * scale.mm_per_unit, name)
        else:
            scale = _confirmed(brief.sizes, candidates, stated, file, rules, short)
            findings += _lower(scale.lacking_mm, name)
    elif stated is None:
        raise _unknown_size(points, file, rules)
    else:
        whose = "stated in the checklist" if brief.unit else "stated by the format"
        scale = Scale(MM_PER[stated], f"unit {stated} {whose}, no known size", rules.unit_only_error_ratio)
    findings += _contradicted_format(raw, brief, name)
    findings += [Finding("reading-note", f"scan {name}", Verdict.LOOK, f"scan {name}: {note}",
                         "Look whether the file is whole and has its colours") for note in raw.notes]
    longest = float(box_sides(points).max()) * scale.mm_per_unit
    findings += _plausible(longest, scale, bool(brief.sizes), stated, file, name, rules)
    vertices = raw.vertices if scale.mm_per_unit == 1.0 else raw.vertices * scale.mm_per_unit
    return Scan(name, file, sha256, format, vertices, raw.faces, raw.colours, scale, raw.up_axis, raw.notes,
                tuple(findings))


def _object(
    raw: RawMesh, brief: ObjectBrief, rules: ScanRules
) -> tuple[F64, tuple[F64, str] | None, float]:
    """Return the object's points, the way up with how it is known, and how much lower the scan may be than the object.

    With known sizes the object must be found first; else the believable vertices will do.
    """
    if brief.sizes:
        found = find_shell(raw.vertices, raw.faces, brief.pieces, rules.fragment_share)
        if found is None:
            return np.empty((0, 3)), None, 0.0
        shell = found.shell
        loops, _ = measured_loops(shell.vertices, shell.faces, shell.start, shell.end, shell.rim_face)
        known = way_down(found, loops, brief.up, raw.up_axis)
        if known is None:
            return shell.vertices, None, 0.0
        support = support_of(found, known)
        points = shell.vertices
        if support is not None and support.seen:  # it stands on the table, however far its rim was cut off above
            middle = points[:: max(1, len(points) // 1000)].mean(axis=0)
            points = np.vstack([points, middle + (support.place_mm - middle @ known[0]) * known[0]])
        short = short_below(loops, shell.vertices, abs(float(shell.volume.sum())), support)
        return points, (-known[0], "" if brief.up is not None else known[1]), short
    points, _, _ = compact(raw.vertices, raw.faces)
    near = believable(points)
    return (points if near.all() else points[near]), None, 0.0


def _check_sizes(sizes: tuple[KnownSize, ...], file: str) -> None:
    for size in sizes:
        if not 0 < size.value_mm < float("inf"):
            raise ScanError(file=file, field=size.kind, value=f"{size.value_mm} mm", problem="must be above 0",
                            remedy="Measure it again")
        if size.kind not in ("height", "width", "depth", "diameter", "longest", "distance"):
            raise ScanError(file=file, field="size", value=size.kind, problem="is not a size this knows",
                            remedy="Give height, width, depth, diameter, longest or a distance")
        if size.kind == "distance" and size.points is None:
            raise ScanError(file=file, field="distance", value=f"{size.value_mm} mm", problem="names no two points",
                            remedy="Give the two picked points in the scan's own coordinates")


def _unknown_size(points: F64, file: str, rules: ScanRules) -> ScanError:
    longest = float(box_sides(points).max())
    fits = [f"{unit} ({longest * MM_PER[unit]:.3g} mm long)" for unit in _UNITS
            if rules.least_plausible_mm <= longest * MM_PER[unit] <= rules.most_plausible_mm]
    proposal = f"plausible units: {', '.join(fits)}" if fits else "no common unit makes it a plausible size"
    return ScanError(file=file, field="unit", value="none",
                     problem=f"nothing says how big the scan is, its longest side is {longest:.4g} units ({proposal})",
                     remedy="State the unit, or measure one size of the object, such as height=92mm")


def _from_sizes(
    sizes: tuple[KnownSize, ...], candidates: list[list[Length]], file: str, rules: ScanRules
) -> Scale:
    """No unit: every known size must want one and the same scale."""
    limit = rules.scale_conflict_ratio
    options: list[tuple[float, float, str]] = []  # mm per unit, worst disagreement, told
    sure = [(size, each) for size, each in zip(sizes, candidates) if each[0].sure]
    firsts = sure[:1] or [(sizes[0], candidates[0])]
    for size, lengths in firsts:
        for length in lengths[:1] if lengths[0].sure else lengths:
            if length.value <= 0:
                continue
            factor = size.value_mm / length.value
            worst = max(min(abs(one.value * factor / other.value_mm - 1) for one in many)
                        for other, many in zip(sizes, candidates))
            options.append((factor, worst, f"{size.kind} {size.value_mm:g} mm along {length.along}"))
    agreeing = [option for option in options if option[1] <= limit]
    if not agreeing:
        told = "; ".join(f"{size.kind} {size.value_mm:g} mm wants {size.value_mm / each[0].value:.4g} mm a unit"
                         for size, each in zip(sizes, candidates) if each[0].value > 0)
        raise ScanError(file=file, field="sizes", problem=f"the known sizes contradict each other ({told})",
                        remedy="Measure them again, and say which way is up")
    spread = max(option[0] for option in agreeing) / min(option[0] for option in agreeing) - 1
    if spread > limit:
        round_units = [option for option in agreeing
                       if any(abs(option[0] / MM_PER[unit] - 1) <= limit for unit in _UNITS)]
        if len(round_units) != 1:
            raise ScanError(file=file, field="up", value="none",
                            problem=f"{sizes[0].kind} {sizes[0].value_mm:g} mm may lie along any of "
                                    f"{len(agreeing)} directions of the scan, which give different scales",
                            remedy="Say which way is up (such as up=y), or state the unit")
        agreeing = round_units
    factor, worst, told = agreeing[0]
    error = max(rules.tape_mm / max(size.value_mm for size in sizes), rules.least_scale_error_ratio, worst)
    like = next((unit for unit in _UNITS if abs(factor / MM_PER[unit] - 1) <= limit), None)
    near = f"; the file's numbers are near {like}" if like else ""
    return Scale(factor, f"{told}{near}", error, from_sizes=True)


def _confirmed(
    sizes: tuple[KnownSize, ...], candidates: list[list[Length]], stated: str, file: str, rules: ScanRules,
    short: float,
) -> Scale:
    """Unit and sizes: the sizes must come out as known.

    short  how much lower the scan may be than the object, file units: a known height may exceed it by so much
    """
    per = MM_PER[stated]
    worst, told, lacking = 0.0, [], 0.0
    for size, lengths in zip(sizes, candidates):
        best = min(lengths, key=lambda each: abs(each.value * per / size.value_mm - 1))
        off = best.value * per / size.value_mm - 1
        upright = lengths[0].value * per  # where a height is asked for, the first reading is along the way up
        lacks = size.value_mm - upright
        if abs(off) > rules.scale_conflict_ratio and size.kind == "height" and \
                0 < lacks <= short * per + rules.scale_conflict_ratio * size.value_mm:
            lacking = lacks
            told.append(f"height {size.value_mm:g} mm but for {lacks:.1f} mm at its unseen underside")
            continue
        if abs(off) > rules.scale_conflict_ratio:
            raise _conflict(size, lengths, stated, file, rules)
        worst = max(worst, abs(off))
        told.append(f"{size.kind} {size.value_mm:g} mm along {best.along}")
    return Scale(per, f"unit {stated} and {', '.join(told)} agree within {worst * 100:.1f} %",
                 max(worst, rules.least_scale_error_ratio), lacking_mm=lacking)


def _lower(lacking_mm: float, name: str) -> list[Finding]:
    if lacking_mm <= 0:
        return []
    return [Finding("lower-than-known", f"scan {name}", Verdict.LOOK,
                    f"scan {name}: it is {lacking_mm:.1f} mm lower than the known height; its underside was not seen, "
                    "so as much is taken to be missing there", "Scan the underside, or leave some table in the scan",
                    lacking_mm, None, "mm")]


def _unsure_height(sizes: tuple[KnownSize, ...], short_mm: float, name: str) -> list[Finding]:
    """Tell where the scale rests on heights alone while nobody saw where the object ends below.

    That doubt is not in the scale's error: most such scans reach nearly down to the table.
    """
    if short_mm <= 0 or any(size.kind != "height" for size in sizes):
        return []
    share = short_mm / sizes[0].value_mm
    return [Finding("height-not-whole", f"scan {name}", Verdict.LOOK,
                    f"scan {name}: its scale rests on its height, but its underside was not seen: if a slice is "
                    f"missing there, all sizes are too large, by {100 * share:.0f} % at most",
                    "Measure a width too, or state the unit", share)]


def _conflict(
    size: KnownSize, lengths: list[Length], stated: str, file: str, rules: ScanRules
) -> ScanError:
    per = MM_PER[stated]
    nearest = min(lengths, key=lambda each: abs(each.value * per / size.value_mm - 1))
    problem = (f"unit {stated} makes it {nearest.value * per:.4g} mm along {nearest.along}, "
               f"{(nearest.value * per / size.value_mm - 1) * 100:+.1f} % off the known {size.value_mm:g} mm")
    for other in _UNITS:
        for length in lengths:
            if other != stated and abs(length.value * MM_PER[other] / size.value_mm - 1) <= \
                    rules.scale_conflict_ratio:
                return ScanError(file=file, field=size.kind, value=f"{size.value_mm:g} mm",
                                 problem=f"{problem}; the file's numbers are {other}, not {stated}",
                                 remedy=f"State unit={other}, or measure the object again")
    return ScanError(file=file, field=size.kind, value=f"{size.value_mm:g} mm", problem=problem,
                     remedy="Measure the object again, check the unit, and say which way is up")


def _contradicted_format(raw: RawMesh, brief: ObjectBrief, name: str) -> list[Finding]:
    if brief.unit is None or raw.unit is None or brief.unit == raw.unit:
        return []
    return [Finding("unit-contradicts-format", f"scan {name}", Verdict.LOOK,
                    f"scan {name}: the format says {raw.unit}, the checklist says {brief.unit}; the checklist was "
                    f"taken",
                    "Measure one size of the object to be sure")]


def _plausible(
    longest_mm: float, scale: Scale, measured: bool, stated: str | None, file: str, name: str, rules: ScanRules
) -> list[Finding]:
    low, high = rules.least_plausible_mm, rules.most_plausible_mm
    if low <= longest_mm <= high:
        return []
    if not measured and not low / rules.hopeless_ratio <= longest_mm <= high * rules.hopeless_ratio:
        units = longest_mm / scale.mm_per_unit
        fits = [f"{unit} ({units * MM_PER[unit]:.3g} mm)" for unit in _UNITS if low <= units * MM_PER[unit] <= high]
        other = f"its numbers look like {' or '.join(fits)}" if fits else "no common unit makes it a plausible size"
        raise ScanError(file=file, field="unit", value=stated,
                        problem=f"the object would be {longest_mm:.4g} mm long; {other}",
                        remedy="State the unit, or measure one size of the object, such as height=92mm")
    return [Finding("implausible-size", f"scan {name}", Verdict.LOOK,
                    f"scan {name}: the object is {longest_mm:.4g} mm long, outside the usual {low:g} to {high:g} mm",
                    "Measure one size of the object", longest_mm, high if longest_mm > high else low, "mm")]
