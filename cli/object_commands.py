"""Commands about objects: `spec` on loose scans, and `holds`, `choose`, `place` in a case."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scanprep.units import parse_hold_angle_deg, parse_length_mm

from . import console, single_scan_report
from .options import AsJson, Case, Object, Objects, Person, Reason, Workers

if TYPE_CHECKING:
    from scanprep.brief import KnownSize

SIZE_KINDS = ("height", "width", "depth", "diameter", "longest")


def _known_size(text: str) -> KnownSize:
    from scanprep.brief import KnownSize

    kind, found, length = text.partition("=")
    if not found or kind.strip() not in SIZE_KINDS:
        raise ValueError(f"{text!r} is not a known size; write one of {', '.join(SIZE_KINDS)}, such as height=92mm")
    length_mm = parse_length_mm(length)
    if length_mm <= 0:
        raise ValueError(f"{text!r} must be above 0")
    return KnownSize(kind.strip(), length_mm)


def spec(
    scans: Annotated[list[str], typer.Argument(metavar="SCAN…", help="Scan files, or their addresses; only read.")],
    size: Annotated[list[str] | None, typer.Option(help="A size measured on the object, such as height=92mm.")] = None,
    unit: Annotated[str | None, typer.Option(help="Unit of the scans' numbers: mm, cm, m, in.")] = None,
    material: Annotated[str | None, typer.Option(help="Such as ceramic, glass, bronze, ivory, oak.")] = None,
    mass: Annotated[str | None, typer.Option(help="Weighed mass, such as 240g or 8.5 oz.")] = None,
    wall: Annotated[str | None, typer.Option(help="Wall thickness of a hollow object, such as 3mm.")] = None,
    up: Annotated[str | None, typer.Option(help="Which way is up in the scan's axes, such as +y or 0,0,1.")] = None,
    front: Annotated[str | None, typer.Option(help="Which side faces the viewer, such as -z.")] = None,
    out: Annotated[Path, typer.Option(help="Folder for the results.")] = Path("out"),
    workers: Workers = None,
    as_json: AsJson = False,
) -> None:
    """Make a mount specification for each loose scan: spec.json, a one-page spec.pdf and a picture of its holds."""
    from scanprep.brief import ObjectBrief
    from scanprep.files import cells
    from scanprep.files.scan_urls import scan_place
    from scanprep.materials import material_name
    from scanprep.rules import Rulebook
    from scanprep.vectors import along_one_line, parse_direction
    from scanprep.workspace.executor import make_executor
    from scanprep.workspace.single_scans import spec_loose

    brief = ObjectBrief(
        number="", unit=console.parsed(cells.scan_unit, unit, "unit"),
        material=material_name(material) if material else None,
        sizes=tuple(s for text in size or () if (s := console.parsed(_known_size, text, "size"))),
        mass_g=console.parsed(cells.mass_g, mass, "mass"),
        wall_mm=console.parsed(cells.positive_length_mm, wall, "wall"),
        up=console.parsed(parse_direction, up, "up"), front=console.parsed(parse_direction, front, "front"),
    )
    if along_one_line(brief.up, brief.front):
        raise typer.BadParameter("it lies along --up; say which side faces the viewer", param_hint="--front")
    places = [scan_place(text) for text in scans]
    with make_executor(workers, len(scans)) as executor:
        results = spec_loose(places, brief, out, Rulebook(), executor, console.Progress(quiet=as_json))
    single_scan_report.tell(results, as_json)


def holds(
    folder: Case, number: Object,
    tilt: Annotated[str | None, typer.Option(help="Ask for this tilt, top towards the viewer +.")] = None,
    turn: Annotated[str | None, typer.Option(help="Ask for this turn about the vertical.")] = None,
    roll: Annotated[str | None, typer.Option(help="Ask for this roll, counter-clockwise +.")] = None,
    picture: Annotated[Path | None, typer.Option(help="Where to write the contact sheet (PNG).")] = None,
    as_json: AsJson = False,
) -> None:
    """Show an object's holds as a table and one contact sheet, or those at angles of your own."""
    from scanprep.files.records import spec_document
    from scanprep.pipeline import AskedAngles
    from scanprep.workspace.batch import show_holds
    from scanprep.workspace.folder import open_case

    wanted = [console.parsed(parse_hold_angle_deg, text, name) for text, name in
              ((tilt, "tilt"), (turn, "turn"), (roll, "roll"))]
    asked = (AskedAngles(*(angle or 0.0 for angle in wanted)),) if any(a is not None for a in wanted) else ()
    spec_, path = show_holds(open_case(folder), number, asked, picture)
    if as_json:
        document = spec_document(spec_)
        console.print_json({key: document[key] for key in ("object", "holds", "refusals", "hold", "findings")})
        return
    single_scan_report.holds_table(spec_, asked=bool(asked))
    if path is not None:
        print(f"\npicture: {path}")


def choose(
    folder: Case, number: Objects,
    index: Annotated[int, typer.Argument(metavar="N", help="Which hold, as `scanprep holds` numbers them: 1, 2, …")],
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Choose one of an object's holds; the decision goes on record."""
    from scanprep.workspace.decisions import choose_holds
    from scanprep.workspace.folder import open_case

    case = open_case(folder, person)
    told, left = choose_holds(case, case.numbers(number), index, person, reason, every=case.means_all(number))
    console.print_decision(told, as_json)
    console.print_left_out(left)


def place(
    folder: Case, number: Object,
    panel: Annotated[str, typer.Option(help="The panel's name in case.toml.")],
    face: Annotated[str, typer.Option(help="A or B.")],
    y: Annotated[str, typer.Option(help="Anchor point above the sheet's lower edge.")],
    x: Annotated[str | None, typer.Option(help="Anchor point from the datum edge, as on every paper: face A's left, "
                                               "face B's right; such as 210mm.")] = None,
    from_left: Annotated[str | None, typer.Option(help="In place of --x: from the face's own left edge, as its viewer "
                                                       "sees it.")] = None,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Place an object's anchor point on a panel's face; the decision goes on record."""
    from scanprep.workspace.decisions import place_on_face
    from scanprep.workspace.folder import open_case

    if (x is None) == (from_left is None):
        raise typer.BadParameter("give --x, from the datum edge, or --from-left, from the face's own left edge")
    y_mm, x_mm = console.parsed(parse_length_mm, y, "y"), console.parsed(parse_length_mm, x, "x")
    left_mm = console.parsed(parse_length_mm, from_left, "from-left")
    assert y_mm is not None  # it is required
    told = place_on_face(open_case(folder, person), number, panel, face, y_mm, person, reason, datum_x_mm=x_mm,
                         from_left_mm=left_mm)
    console.print_decision(told, as_json)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (spec, holds, choose, place):
        app.command()(command)
