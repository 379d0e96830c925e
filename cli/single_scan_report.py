"""What `spec` and `holds` print."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import typer

from scanprep.findings import Finding, Verdict

from . import console

if TYPE_CHECKING:
    from scanprep.hold.records import Hold
    from scanprep.spec import MountSpec
    from scanprep.workspace.single_scans import SingleScanResult

HEADS = ("object", "faces", "grade", "mass g", "holds", "attitude", "margin g", "post mm", "drill", "verdict", "s")


def _row(result: SingleScanResult) -> tuple[object, ...]:
    spec = result.spec
    if spec is None:
        return (result.file, None, "unusable", None, 0, None, None, None, None, "stop", result.seconds)
    hold, plan = spec.hold, spec.plan
    return (spec.number, spec.scan.faces, spec.scan.grade.value, spec.survey.mass_g.best, len(spec.holds.holds),
            hold.attitude.name if hold else None, hold.margin_g if hold else None,
            plan.post.diameter_mm if plan else None, plan.hole.drill if plan else None, spec.verdict.value,
            result.seconds)


def _document(result: SingleScanResult) -> dict[str, Any]:
    keys = [head.replace(" ", "_") for head in HEADS]
    return {**dict(zip(keys, _row(result), strict=True)), "sentence": result.sentence,
            "folder": str(result.folder) if result.folder else None}


def tell(results: Sequence[SingleScanResult], as_json: bool) -> None:
    """Print what became of loose scans and end with the exit code they ask for."""
    if as_json:
        console.print_json([_document(result) for result in results])
    else:
        console.print_table(HEADS, [_row(result) for result in results])
        for result in results:
            if result.folder:
                print(f"open {result.folder / 'spec.pdf'}")
    for result in results:
        if result.spec is None:
            print(f"error: {result.sentence}", file=sys.stderr)
        elif not as_json:
            console.print_findings(result.spec.findings, most=8)
    if any(result.spec is None for result in results):
        raise typer.Exit(3)
    console.leave(_all_findings(results))


def _all_findings(results: Sequence[SingleScanResult]) -> list[Finding]:
    return [f for r in results if r.spec for f in r.spec.findings if f.verdict is Verdict.STOP]


def _shake_g(hold: Hold) -> float | None:
    """The shake that a hold withstands; None where it was not asked."""
    return next((check.value for check in hold.checks if check.name == "shake-withstood"), None)


def holds_table(spec: MountSpec, asked: bool = False) -> None:
    """Print an object's holds, best first, and why other attitudes have none.

    asked  they are at angles of one's own: `choose` does not number them, and none of them is chosen
    """
    rows = []
    for i, hold in enumerate(spec.holds.holds):
        a, opening = hold.attitude, hold.opening
        rows.append(("*" if i == spec.chosen and not asked else "", i + 1, a.name, a.tilt_deg, a.turn_deg, a.roll_deg,
                     len(hold.tips), hold.margin_g, hold.margin_low_friction_g, hold.preload_ratio, _shake_g(hold),
                     100 * hold.covered_share, 100 * hold.beside_share,
                     f"{opening.arm + 1}: {opening.kind}, {opening.force_N:.0f} N" if opening else "none", hold.score))
    console.print_table(("", "N", "attitude", "tilt", "turn", "roll", "tips", "margin g", "low mu g", "s/W", "shake g",
                         "covered %", "beside %", "opens", "score"), rows)
    for refusal in spec.holds.refusals:
        a = refusal.attitude
        best = "" if refusal.best_margin_g is None else f" (best margin {refusal.best_margin_g:.2f} g)"
        print(f"no hold {a.name} (tilt {a.tilt_deg:g}, turn {a.turn_deg:g}, roll {a.roll_deg:g}): "
              f"{refusal.reason}{best}. {refusal.advice}")
    if asked and spec.holds.holds:
        print("\nonly looked at: to show the object so, write these angles into the checklist (tilt, turn, roll), then "
              "`scanprep intake`")
