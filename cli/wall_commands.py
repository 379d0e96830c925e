"""Commands about where things stand on the wall: `arrange`, `nudge`, `try`, `order`, `faces`."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scanprep.units import parse_length_mm

from . import console
from .options import AsJson, Case, Person, Reason, Workers

if TYPE_CHECKING:
    from scanprep.case.arrange.comparison import Comparison
    from scanprep.case.arrange.spacing import FaceSpacing
    from scanprep.case.placed import FacePosition
    from scanprep.workspace.folder import CaseFolder

Seed = Annotated[int, typer.Option(help="Another number gives other proposals.")]


def arrange(
    folder: Case,
    take: Annotated[int | None, typer.Option(help="Put proposal N on record: 1, 2 or 3.")] = None,
    seed: Seed = 0, workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Propose places for all objects that have none; what stands stays."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder, person)
    proposals = wall.propose(wall.wall_checks(case, workers, console.Progress(quiet=as_json)), seed)
    if take is not None and not 1 <= take <= len(proposals):
        raise typer.BadParameter(f"there are proposals 1 to {len(proposals)}", param_hint="--take")
    if as_json:
        console.print_json({"proposals": to_plain(proposals)})
    elif not case.state.objects:
        print("nothing to place: the case has no object yet. Take a checklist in with `scanprep intake`")
        return
    elif not proposals[0].arrangement.stands and not proposals[0].arrangement.left_out:
        print("nothing to place: every object has its place. `scanprep nudge` clears what is in the way")
        return
    else:
        parts = [name for name, _ in proposals[0].arrangement.parts]
        console.print_table(("N", "proposal", "objects", "left out", "stops", "score", *parts), [
            (i, p.arrangement.name, len(p.arrangement.stands), len(p.arrangement.left_out), p.stops,
             p.arrangement.score, *(value for _, value in p.arrangement.parts))
            for i, p in enumerate(proposals, start=1)])
        for sentence in proposals[0].arrangement.left_out:
            print(f"left out: {sentence}")
    if take is not None:
        after = wall.take(case, proposals[take - 1].stands, person, reason)
        if not as_json:
            print(f"on record: {len(proposals[take - 1].stands)} places (entry {after.state.seq})")


def nudge(
    folder: Case,
    take: Annotated[bool, typer.Option("--take", help="Put the moves on record.")] = False,
    seed: Seed = 0, workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Find the least moves that clear every stop; drilled and locked objects stay."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder, person)
    found = wall.nudged(wall.wall_checks(case, workers, console.Progress(quiet=as_json)), seed)
    if as_json:
        console.print_json(to_plain(found))
    else:
        for move in found.moves:
            print(move.sentence)
        print(f"{len(found.moves)} moves, {found.total_mm:.1f} mm in all: {found.cleared} stops cleared, "
              f"{len(found.left)} left")
        for why in found.reasons:
            print(f"left: {why}")
    if take and found.moves:
        after = wall.take(case, {m.number: m.after for m in found.moves}, person, reason or "nudged clear")
        if not as_json:
            print(f"on record up to entry {after.state.seq}")
    console.leave(found.left)


def _stand(text: str, case: CaseFolder) -> tuple[str, FacePosition | None]:
    from scanprep.case.placed import FacePosition
    from scanprep.panel.faces import from_left_of

    number, found, rest = text.rpartition("=")
    words = rest.split(",")
    if found and rest.strip() == "off":
        return number.strip(), None
    if not found or len(words) != 4 or words[1].strip().upper() not in ("A", "B"):
        raise ValueError(f"{text!r} is not a move; write OBJECT=PANEL,FACE,X,Y such as 14=West,A,210mm,900mm, or "
                         "14=off")
    x_mm, y_mm = parse_length_mm(words[2]), parse_length_mm(words[3])
    panel, face = case.panel(words[0].strip()), words[1].strip().upper()
    return number.strip(), FacePosition(panel.name, face, from_left_of(face, x_mm, panel.width_mm), y_mm)


def try_(
    folder: Case,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What this try is called.")],
    move: Annotated[list[str] | None, typer.Option(help="OBJECT=PANEL,FACE,X,Y from the datum corner, or OBJECT=off; "
                                                        "repeated.")] = None,
    against: Annotated[str | None, typer.Option(help="Compare with another try instead of the record.")] = None,
    take: Annotated[bool, typer.Option("--take", help="Put this try's places on record.")] = False,
    workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Try other places without touching the record, and see what they would change."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder, person)
    moves = dict(pair for text in move or () if (pair := console.parsed(lambda said: _stand(said, case), text, "move")))
    if against is not None:
        wall.kept_try(case, against)  # one that is not there is told before anything is kept
    stands: Mapping[str, FacePosition | None] = wall.with_try(case, name, moves)
    comparison, refusals = wall.compared(case, name, stands, against, workers, console.Progress(quiet=as_json))
    if as_json:
        console.print_json({"comparison": to_plain(comparison), "refused": list(refusals)})
    else:
        _tell_comparison(comparison)
        for sentence in refusals:
            print(f"refused: {sentence}")
    if take:
        after = wall.take(case, stands, person, reason)
        if not as_json:
            print(f"on record up to entry {after.state.seq}")


def _tell_comparison(found: Comparison) -> None:
    left, right = found.left, found.right
    console.print_table(("", left.name, right.name), [
        ("stops", left.stops, right.stops), ("looks", left.looks, right.looks),
        ("without a place", left.unplaced, right.unplaced), ("moved", left.moved, right.moved),
        ("moved in all along their face, mm", round(left.moved_mm, 1), round(right.moved_mm, 1)), *found.elsewhere(),
    ])
    for side in (left, right):
        for move in side.moves:
            print(f"{side.name}: {move.sentence}")
    for name, findings in ((left.name, found.only_left), (right.name, found.only_right)):
        print(f"only in {name}: {len(findings) or 'nothing'}")
        for finding in findings:
            print(f"  {finding.verdict.value:10s} {finding.sentence}")


def order(
    folder: Case,
    out: Annotated[Path | None, typer.Option(help="Write the order as text there too.")] = None,
    remove: Annotated[str | None, typer.Option(help="What has to come out before this object can?")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Print the order of installation; removal is the same turned round."""
    from scanprep.case.lists.install_order import order_text
    from scanprep.files.atomic_write import write_atomically
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    if remove is not None:
        case.object(remove)
    plan = wall.installation(case, workers, console.Progress(quiet=as_json))
    if as_json:
        console.print_json(to_plain(plan))
    elif remove is not None:
        first = plan.out_before(remove)
        print(f"before object {remove} can come out: {', '.join(first) or 'nothing'} must be out")
    else:
        print(order_text(plan))
        console.print_findings(plan.findings)
    if out is not None:
        write_atomically(out, order_text(plan) + "\n")
    console.leave(plan.findings)


def faces(
    folder: Case,
    name: Annotated[str | None, typer.Option("--try", help="Draw a try instead of the record.")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Show each face in figures (gaps, density, groups, posts) and draw it, as its own viewer sees it."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    figures, pictures = wall.faces_drawn(case, name, workers, console.Progress(quiet=as_json))
    if as_json:
        console.print_json({"faces": to_plain(figures), "pictures": [str(path) for path in pictures]})
        return
    console.print_table(("face", "objects", "gap mm", "from", "to", "uneven by", "covered", "in the band", "post mm",
                         "from", "to", "rods"), [_face_row(one) for one in figures])
    for one in figures:
        for group in (group for group in one.groups if group.members > 1):
            print(f"{one.panel} {one.face}, {group.group}: {group.members} objects, on average "
                  f"{group.mean_from_middle_mm:.0f} mm from their middle")
    for path in pictures:
        print(f"open {path}")


def _face_row(one: FaceSpacing) -> tuple[object, ...]:
    gap, post = one.gap_mm, one.free_length_mm
    gaps = ("-",) * 4 if gap is None else tuple(
        f"{value:.0f}" for value in (gap.median, gap.least, gap.greatest, gap.deviation))
    posts = ("-",) * 3 if post is None else tuple(f"{value:.1f}" for value in (post.median, post.least, post.greatest))
    rods = ", ".join(f"{count} x {rod}" for rod, count in one.post_diameters)
    shares = (f"{one.density_share:.0%}", f"{one.in_band_share:.0%}")
    return (f"{one.panel} {one.face}", one.objects, *gaps, *shares, *posts, rods)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (arrange, nudge, order, faces):
        app.command()(command)
    app.command(name="try")(try_)
