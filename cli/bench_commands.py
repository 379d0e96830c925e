"""The command of the drill press, `coupon`, that of the site, `shaking`, and what `check --engineering` prints."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import console
from .options import AsJson, Case, Person, Reason

if TYPE_CHECKING:
    from scanprep.workspace.batch import CaseResult
    from scanprep.workspace.folder import CaseFolder


def coupon(
    folder: Case,
    rod: Annotated[list[str] | None, typer.Option(help="A stocked rod such as 3/16; may be repeated.")] = None,
    panel: Annotated[str | None, typer.Option(help="The panel whose offcut it is; the first one without.")] = None,
    retention: Annotated[str | None, typer.Option(help="Judge every hole for this: line 0.16 mm, bow, slit; without "
                                                       "it, as each was tried.")] = None,
    drill: Annotated[str | None, typer.Option(help="Record one coupon: the drill that made its hole, such as 4.8 or "
                                                   "#12; with --hole, and the forces read on it.")] = None,
    hole: Annotated[str | None, typer.Option(help="Its hole, 4.870mm.")] = None,
    line: Annotated[str | None, typer.Option(help="The nylon line in it, under the micrometer, 0.16mm.")] = None,
    push: Annotated[str | None, typer.Option(help="What pushed the rod in, 58N.")] = None,
    twist: Annotated[str | None, typer.Option(help="What turned it an hour later, 130Nmm.")] = None,
    pull: Annotated[str | None, typer.Option(help="What pulled it out, 50N.")] = None,
    anew: Annotated[bool, typer.Option("--anew", help="It begins a new series in place of this drill's last.")] = False,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Tell which drills to try in an offcut and what the coupons so far decide, or record one coupon."""
    if drill is not None:
        _record_coupon(folder, drill, (hole, line, push, twist, pull), anew, person, reason, as_json)
        return
    if hole or line or push or twist or pull or anew:
        raise typer.BadParameter("a coupon is recorded with the drill that made its hole: say --drill too")
    from scanprep.plain_values import to_plain
    from scanprep.post.coupon import coupon_findings, coupon_rows, steps
    from scanprep.post.retention import parse_retention
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    sheet = case.panel(panel) if panel else next(iter(case.case.panels), None)
    held = console.parsed(parse_retention, retention, "retention")
    rows = coupon_rows(case.rules, case.case, sheet, tuple(rod or ()), held)
    findings = coupon_findings(case.rules, case.case, sheet, tuple(rod or ()), held)
    if as_json:
        console.print_json({"rows": to_plain(rows), "findings": to_plain(findings),
                            "steps": list(steps(case.rules))})
    else:
        console.print_table(
            ("rod", "mm", "drill", "usual hole", "deep", "held by", "measured", "push N", "twist N mm", "pull N", "n",
             "verdict", "says"),
            ((row.rod, f"{row.rod_mm:.3f}", row.drill, f"{row.hole_low_mm:.3f}-{row.hole_high_mm:.3f}",
              f"{row.depth_mm:.1f}", row.retention, None if row.measured_mm is None else f"{row.measured_mm:.3f}",
              row.push_N, row.twist_Nmm, row.pull_N, row.coupons or None, row.verdict.value, row.says)
             for row in rows))
        for step in steps(case.rules):
            print(f"- {step}")
        console.print_findings(findings)
    console.leave(findings)


def _record_coupon(folder: Path, drill: str, said: tuple[str | None, ...], anew: bool, person: str | None, reason: str,
                   as_json: bool) -> None:
    """Put one coupon on record and say what its series decides so far."""
    from scanprep.units import parse_force_N, parse_length_mm, parse_torque_Nmm
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put
    from scanprep.workspace.measuring import coupon_entries

    hole, line, push, twist, pull = said
    hole_mm = console.parsed(parse_length_mm, hole, "hole")
    if hole_mm is None:
        raise typer.BadParameter("a coupon needs its hole as measured, --hole 4.870mm")
    case = open_case(folder, person)
    entries = coupon_entries(case, drill, hole_mm, console.parsed(parse_length_mm, line, "line"),
                             console.parsed(parse_force_N, push, "push"),
                             console.parsed(parse_torque_Nmm, twist, "twist"),
                             console.parsed(parse_force_N, pull, "pull"), "", reason, anew)
    console.print_recorded(put(case, entries, person), as_json)


def spread(folder: Case, as_json: AsJson = False) -> None:
    """Say what the shop's own readings spread by, and which of them take the place of assumed tolerances."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    if as_json:
        console.print_json({"spreads": to_plain(case.spreads)})
        return
    for one in case.spreads:
        print(one.words)
    print(f"an own spread counts from {case.rules.fit.own_readings} readings on, by its upper limit at "
          f"{case.rules.fit.confidence:.0%} confidence; where nobody set that rule in case.toml")


def shaking(
    short_period: Annotated[float | None, typer.Option(help="S_DS of the site in g: ASCE 7-16, 13.3.1.")] = None,
    ground: Annotated[float | None, typer.Option(help="alpha S, ground over g times soil: EN 1998-1, 4.3.5.")] = None,
    height: Annotated[float, typer.Option(help="Floor in the building, 0 ground to 1 roof.")] = 0.0,
    importance: Annotated[float, typer.Option(help="I_p, or gamma_a.")] = 1.0,
    amplification: Annotated[float, typer.Option(help="a_p, 1 rigid to 2.5 flexible (ASCE).")] = 1.0,
    response: Annotated[float, typer.Option(help="R_p, 1 brittle to 2.5 and more (ASCE).")] = 2.5,
    period: Annotated[float, typer.Option(help="Period of the mount over that of the building (EN).")] = 0.0,
    behaviour: Annotated[float, typer.Option(help="q_a (EN).")] = 1.0,
    as_json: AsJson = False,
) -> None:
    """Propose the acceleration that a code asks of a mount, for the site in case.toml; an engineer decides."""
    from scanprep.cautions import ENGINEER_DECIDES
    from scanprep.loads.site import asce7_16_g, demand_words, en1998_1_g
    from scanprep.plain_values import to_plain

    if (short_period is None) == (ground is None):
        raise typer.BadParameter("give either --short-period (ASCE 7-16) or --ground (EN 1998-1)")
    try:
        found = en1998_1_g(ground, height_share=height, period_ratio=period, importance=importance,
                           behaviour=behaviour) if ground is not None else \
            asce7_16_g(short_period or 0.0, amplification=amplification, response=response, importance=importance,
                       height_share=height)
    except ValueError as problem:
        raise typer.BadParameter(str(problem)) from problem
    if as_json:
        console.print_json({**to_plain(found), "caution": ENGINEER_DECIDES})
        return
    print(demand_words(found))
    print(ENGINEER_DECIDES)


def print_note(case: CaseFolder, result: CaseResult, as_json: bool) -> None:
    """Print the engineering note of a case (`check --engineering`); exit 1 where something in it says stop."""
    from scanprep.findings import Verdict
    from scanprep.panel.engineering import note_text
    from scanprep.plain_values import to_plain
    from scanprep.workspace.bench import case_note

    note = case_note(case, result)
    if as_json:
        console.print_json(to_plain(note))
    else:
        print(note_text(note))
    if note.verdict is Verdict.STOP:
        raise typer.Exit(1)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (coupon, spread, shaking):
        app.command()(command)
