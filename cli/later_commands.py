"""Commands for what happens to objects, mounts and holes after the plan: withdrawn, settled, moved on, plugged."""

from __future__ import annotations

from typing import Annotated

import typer

from scanprep.units import parse_length_mm

from . import console
from .options import AsJson, Case, Object, Person, Reason

Hole = Annotated[str, typer.Argument(metavar="HOLE", help="Its number, such as H7.")]


def withdraw(
    folder: Case, number: Object,
    back: Annotated[bool, typer.Option("--back", help="Take it back into the display.")] = False,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Take an object out of the display: off templates and lists at once; its drilled hole stays, void."""
    from scanprep.case.record import later_life
    from scanprep.case.record.words import check_role
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    check_role(case.case, person_name(person), "withdraw")
    said = (later_life.show_again if back else later_life.withdraw)(case.state, number, reason)
    console.print_recorded(put(case, said, person), as_json)


def settle(
    folder: Case, number: Object,
    code: Annotated[str, typer.Argument(metavar="CODE", help="The finding's code, such as made-cut-length.")],
    shim: Annotated[str | None, typer.Option(help="A loose hole is closed with a shim of this thickness.")] = None,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Accept, with a reason, that a finished mount or a drilled hole is not as planned now, or close it with a shim."""
    from scanprep.workspace.decisions import settle_difference
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    said = settle_difference(case, number, code, reason, console.parsed(parse_length_mm, shim, "shim"))
    console.print_recorded(put(case, said, person), as_json)


def moved(
    folder: Case, number: Object,
    to: Annotated[str, typer.Argument(metavar="TO", help="removed, on-loan, returned or replaced.")],
    note: Annotated[str, typer.Option(help="Its condition then; where it goes; by which object it is replaced.")] = "",
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Say where an installed object goes. `made OBJECT installed` puts it back."""
    from scanprep.case.record import later_life
    from scanprep.case.record.words import check_role
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    check_role(case.case, person_name(person), "remove")
    said = later_life.move_on(case.state, number, to.replace("-", " "), note, reason)
    console.print_recorded(put(case, said, person), as_json)


def plug(
    folder: Case, hole: Hole,
    material: Annotated[str, typer.Option("--with", help="What it is plugged with.")] = "",
    person: Person = None, as_json: AsJson = False,
) -> None:
    """Say that an abandoned drilled hole is plugged."""
    from scanprep.case.record import later_life
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, later_life.plug(case.state, hole, material), person), as_json)


def reuse(folder: Case, hole: Hole, number: Object, person: Person = None, reason: Reason = "",
          as_json: AsJson = False) -> None:
    """Let an object use an abandoned drilled hole as it is; its plan is compared with it from then on."""
    from scanprep.case.record import later_life
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, later_life.reuse(case.state, hole, number, reason), person), as_json)


def retain(
    folder: Case, number: Object,
    held_by: Annotated[str, typer.Argument(metavar="HELD_BY", help="line 0.16 mm, bow, slit, lacquer or bare; perhaps "
                                           "with + second pin or + through-bolt.")],
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Choose what holds an object's post in its hole."""
    from scanprep.case.record.retaining import retain as choose
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, choose(case.state, number, held_by, reason), person), as_json)


def proof(
    folder: Case, number: Object,
    pull: Annotated[str, typer.Option(help="What the post was pulled with, 12N.")],
    twist: Annotated[str, typer.Option(help="What it was twisted with, 20Nmm.")],
    moved: Annotated[str, typer.Option(help="What moved, in words; nothing without.")] = "",
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Record the proof pull and twist of a post in its hole, before its object hangs on it."""
    from scanprep.units import parse_force_N, parse_torque_Nmm
    from scanprep.workspace import decisions
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    pull_N, twist_Nmm = console.parsed(parse_force_N, pull, "pull"), console.parsed(parse_torque_Nmm, twist, "twist")
    said = decisions.prove_post(case, number, pull_N or 0.0, twist_Nmm or 0.0, moved, reason)
    console.print_recorded(put(case, said, person), as_json)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (withdraw, settle, moved, plug, reuse, retain, proof):
        app.command()(command)
