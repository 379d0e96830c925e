"""Commands that put on record what people decided and did, and read it back."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from scanprep.units import parse_angle_deg, parse_length_mm

from . import console
from .options import AsJson, Case, Object, Objects, Person, Reason, Workers


def session(
    folder: Case,
    action: Annotated[str, typer.Argument(metavar="open|close|list")] = "list",
    title: Annotated[str, typer.Option(help="What the review is about.")] = "",
    people: Annotated[list[str] | None, typer.Option("--with", help="Who sits at the table; may be repeated.")] = None,
    person: Person = None, as_json: AsJson = False,
) -> None:
    """Open or close a numbered review, or list them."""
    from scanprep.case.record import decide
    from scanprep.plain_values import to_plain
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put, rotate_exports

    case = open_case(folder, person)
    if action == "open":
        console.print_recorded(put(case, decide.open_session(case.state, title, people or ()), person), as_json)
    elif action == "close":
        console.print_recorded(put(case, decide.close_session(case.state), person), as_json)
        rotate_exports(open_case(folder, person))
    elif action == "list":
        if as_json:
            console.print_json({"sessions": to_plain(case.state.sessions)})
        else:
            console.print_table(("session", "title", "people", "opened", "closed"), [
                (s.number, s.title, ", ".join(s.people), s.opened[:16], (s.closed or "open")[:16])
                for s in case.state.sessions])
    else:
        raise typer.BadParameter(f"{action!r} is nothing a session does; write open, close or list")


def made(
    folder: Case, number: Objects,
    stage: Annotated[str, typer.Argument(metavar="STAGE", help="made, fitted, measured, mocked-up, marked, dry-fitted, "
                                         "painted or installed; again: the mount is made anew.")] = "made",
    dx: Annotated[str | None, typer.Option(help="measured: post's axis right of its plan at the panel, 2.5mm.")] = None,
    dy: Annotated[str | None, typer.Option(help="measured: post's axis above its plan.")] = None,
    angle: Annotated[str | None, typer.Option(help="measured: its 12 o'clock mark from the planned one; "
                                                    "counter-clockwise for the viewer is +.")] = None,
    rod: Annotated[str | None, typer.Option(help="made: the rod it is made of, where not as planned.")] = None,
    diameter: Annotated[str | None, typer.Option(help="made: its post as measured, 4.752mm.")] = None,
    cut: Annotated[str | None, typer.Option(help="made: its post's length as cut, where not as planned.")] = None,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Say how far an object's mount has come, what it is made of, and where its post really is once measured."""
    from scanprep.case.record import decide, later_life
    from scanprep.workspace import decisions
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    if stage != "measured" and (dx or dy or angle):
        raise typer.BadParameter(f"--dx, --dy and --angle belong to the stage measured, not to {stage}")
    if stage != "made" and (rod or diameter or cut):
        raise typer.BadParameter(f"--rod, --diameter and --cut belong to the stage made, not to {stage}")
    numbers = case.numbers(number)
    if len(numbers) > 1 and (dx or dy or angle or rod or diameter or cut):
        raise typer.BadParameter("what was measured belongs to one object; name one, or use `scanprep measured`")
    if stage == "measured":
        dx_mm, dy_mm = console.parsed(parse_length_mm, dx, "dx"), console.parsed(parse_length_mm, dy, "dy")
        angle_deg = console.parsed(parse_angle_deg, angle, "angle")
        if dx_mm is None or dy_mm is None or angle_deg is None:
            raise typer.BadParameter("a measured mount needs --dx, --dy and --angle")
        said = [*decide.measure_axis(case.state, numbers[0], dx_mm, dy_mm, angle_deg, reason)]
    elif stage == "marked":
        said = [e for n in numbers for e in decide.mark_hole(case.state, n, reason)]
    elif stage == "again":
        said = [e for n in numbers for e in later_life.make_again(case.state, n, reason)]
    elif stage == "made":
        post_mm = console.parsed(parse_length_mm, diameter, "diameter")
        cut_mm = console.parsed(parse_length_mm, cut, "cut")
        said = [e for n in numbers for e in decisions.make_mount(case, n, reason, rod, post_mm, cut_mm)]
    else:
        said = [e for n in numbers for e in decide.reach_stage(case.state, n, stage, reason)]
    console.print_recorded(put(case, said, person), as_json)


def drilled(
    folder: Case, number: Objects,
    drill: Annotated[str, typer.Option(help="As the catalogue names it: 4.7, #12, 3/16.")],
    depth: Annotated[str, typer.Option(help="Depth of the straight part, such as 21.5mm.")],
    checked_by: Annotated[str, typer.Option(help="Who checked the place before; not the one who drills.")],
    through: Annotated[bool, typer.Option("--through", help="It goes through the sheet.")] = False,
    thickness: Annotated[str | None, typer.Option(help="The sheet as measured at this hole, 29.6mm.")] = None,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Say that an object's hole is drilled. It cannot be moved from then on."""
    from scanprep.workspace import decisions
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    depth_mm = console.parsed(parse_length_mm, depth, "depth")
    there_mm = console.parsed(parse_length_mm, thickness, "thickness")
    said = [e for n in case.numbers(number) for e in decisions.drilled_hole(
        case, n, drill, depth_mm or 0.0, through, there_mm, checked_by, person_name(person), reason)]
    console.print_recorded(put(case, said, person), as_json)


def void(
    folder: Case, hole: Annotated[str, typer.Argument(metavar="HOLE", help="Its number, such as H7.")],
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Give up a hole. It stays on record, crossed out on the template, and counts in spacing."""
    from scanprep.case.record import decide
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, decide.void_hole(case.state, hole, reason), person), as_json)


def condition(
    folder: Case, number: Object, text: Annotated[str, typer.Argument(metavar="TEXT", help="What was seen.")],
    photo: Annotated[list[Path] | None, typer.Option(help="A photograph; may be repeated.")] = None,
    occasion: Annotated[str, typer.Option(help="before, after, or nothing.")] = "",
    opened: Annotated[bool, typer.Option("--opened", help="The mount was opened for it: counted.")] = False,
    snug: Annotated[str, typer.Option(help="Yearly check of the post: yes, or what was found.")] = "",
    person: Person = None, as_json: AsJson = False,
) -> None:
    """Note an object's condition, with photographs; count an opening; record the yearly check of the post."""
    from scanprep.case.record import decide
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import photo_paths, put

    case = open_case(folder, person)
    said = [*decide.note_condition(case.state, number, text, photo_paths(case, photo or ()), occasion)]
    if opened:
        said += decide.open_mount(case.state, number, text)
    if snug:
        said += decide.check_snug(case.state, number, snug == "yes", "" if snug == "yes" else snug)
    console.print_recorded(put(case, said, person), as_json)


def lock(
    folder: Case, number: Object,
    off: Annotated[bool, typer.Option("--off", help="Unlock it.")] = False,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Lock an object where it stands: nothing moves it until it is unlocked."""
    from scanprep.case.record import decide
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, decide.lock(case.state, number, not off, reason), person), as_json)


def signoff(
    folder: Case,
    lift: Annotated[bool, typer.Option("--lift", help="Take the sign-off back; needs a reason.")] = False,
    workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Sign the case off; with findings that say stop only for a reason. Later changes need one too."""
    from scanprep.case.record import decide
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put
    from scanprep.workspace.wall import stop_sentences

    case = open_case(folder, person)
    if lift:
        console.print_recorded(put(case, decide.lift_sign_off(case.state, reason), person), as_json)
        return
    stops = stop_sentences(case, workers, console.Progress(quiet=as_json))
    console.print_recorded(put(case, decide.sign_off(case.state, reason, stops), person), as_json)


def undo(
    folder: Case, entry: Annotated[int, typer.Argument(metavar="ENTRY", help="Its number in `scanprep history`.")],
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Take back the latest entry of an object by another entry; both stay on record."""
    from scanprep.case.record import decide
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, decide.take_back(case.entries, case.state, entry, reason), person), as_json)


def history(
    folder: Case,
    number: Annotated[str | None, typer.Argument(metavar="[OBJECT]", help="Left out: the case's own lines.")] = None,
    as_json: AsJson = False,
) -> None:
    """Read an object's record like a logbook."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace.logbook import book

    lines = book(folder, number)
    if as_json:
        console.print_json({"history": to_plain(lines)})
    else:
        for line in lines:
            print(line.text())


def record(
    folder: Case,
    action: Annotated[str, typer.Argument(metavar="verify|export|import|merge|repair")] = "verify",
    file: Annotated[Path | None, typer.Argument(metavar="[FILE]", help="JSON lines: export, import, merge.")] = None,
    person: Person = None,
    as_json: AsJson = False,
) -> None:
    """Check the record's file and chain, copy it as JSON lines, join a copy's decisions, or repair it."""
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import export, import_from, merge_from, repair_record, verify

    if action == "repair":
        done = repair_record(folder)
        if as_json:
            console.print_json({"saved": done.saved, "lost": list(done.lost), "kept": str(done.kept or "")})
        else:
            print("\n".join([f"{done.saved} entries saved", *(f"lost: {line}" for line in done.lost),
                             *([f"the damaged file is kept as {done.kept.name}"] if done.kept else [])]))
        return
    if action == "verify":
        count, faults = verify(folder)
        if as_json:
            console.print_json({"entries": count, "faults": list(faults)})
        else:
            print("\n".join(faults) if faults else f"{count} entries, every one in its place")
        if faults:
            raise typer.Exit(3)
        return
    if action in ("export", "import") and file is not None:
        count = export(folder, file) if action == "export" else import_from(open_case(folder, take=False), file)
        if as_json:
            console.print_json({action: count})
        else:
            print(f"{count} entries {'written' if action == 'export' else 'taken'}")
    elif action == "merge" and file is not None:
        merged = merge_from(open_case(folder, take=False), file, person)
        if as_json:
            console.print_json({"merge": merged.taken, "left": list(merged.left)})
        else:
            print("\n".join([f"{merged.taken} entries taken", *(f"left out: {line}" for line in merged.left)]))
    else:
        raise typer.BadParameter("write verify, export FILE, import FILE, merge FILE or repair")


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (session, made, drilled, void, condition, lock, signoff, undo, history, record):
        app.command()(command)
