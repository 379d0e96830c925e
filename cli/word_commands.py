"""Commands with which people agree, refuse, take their word back, or are asked for it."""

from __future__ import annotations

from typing import Annotated

import typer

from . import console
from .options import AsJson, Case, Object, Objects, Person, Reason

What = Annotated[str, typer.Argument(metavar="WHAT", help="contacts, angle, place, fit, drilling, installed, "
                                     "retouched.")]


def agree(
    folder: Case, number: Objects,
    what: Annotated[str, typer.Argument(metavar="WHAT", help="contacts, angle, place, fit, drilling, installed, "
                                        "retouched; several with commas between.")],
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Agree to something about an object; it lapses when what was agreed to changes."""
    from scanprep.case.record import decide
    from scanprep.workspace.decisions import said_of_each
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    who = person_name(person)
    whats = [one.strip() for one in what.split(",")]
    said, left = said_of_each(case.numbers(number), lambda n: [
        e for one in whats for e in decide.agree(case.state, n, one, reason, who, case.case)],
        every=case.means_all(number))
    console.print_recorded(put(case, said, person), as_json)
    console.print_left_out(left)


def refuse(folder: Case, number: Object, what: What, person: Person = None, reason: Reason = "",
           as_json: AsJson = False) -> None:
    """Refuse something about an object, with --reason: a stop with these words until it is changed or agreed to."""
    from scanprep.case.record import words
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    said = words.refuse(case.state, number, what, reason, person_name(person), case.case)
    console.print_recorded(put(case, said, person), as_json)


def unsay(folder: Case, number: Object, what: What, person: Person = None, reason: Reason = "",
          as_json: AsJson = False) -> None:
    """Take back one's own agreement or refusal."""
    from scanprep.case.record import words
    from scanprep.workspace.folder import open_case, person_name
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    said = words.take_word_back(case.state, number, what, person_name(person), reason)
    console.print_recorded(put(case, said, person), as_json)


def ask(
    folder: Case, number: Object, what: What,
    of: Annotated[str, typer.Option(help="A person or a role; else whoever may say it.")] = "",
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Ask somebody for their word; the question stays open until they agree or refuse."""
    from scanprep.case.record import words
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    console.print_recorded(put(case, words.ask(case.state, number, what, of, case.case, reason), person), as_json)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (agree, refuse, unsay, ask):
        app.command()(command)
