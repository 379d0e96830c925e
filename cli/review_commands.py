"""`review`: the case on the table, in a browser."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import console
from .options import AsJson, Case, Workers

if TYPE_CHECKING:
    from scanprep.review.serve import Addresses


def review(
    folder: Case,
    share: Annotated[bool, typer.Option("--share", help="Let others on this network in, with a token.")] = False,
    port: Annotated[int, typer.Option(min=0, max=65535, help="Listen there; 0: any free port.")] = 0,
    browser: Annotated[bool, typer.Option("--browser/--no-browser", help="Open the page in a browser.")] = True,
    file: Annotated[Path | None, typer.Option(help="Write one file to send instead, and serve nothing.")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Open the review page: look at the case together, move, choose, agree; every decision goes on record at once."""
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    if file is not None:
        from scanprep.review.desk import open_desk
        from scanprep.review.single_file import write_single_file

        desk = open_desk(case, workers, console.Progress(quiet=as_json))
        size = write_single_file(desk, file, console.Progress(quiet=as_json))
        if as_json:
            console.print_json({"file": str(file), "bytes": size})
        else:
            print(f"open {file} ({size / 1e6:.1f} MB; it needs no network)")
        return
    from scanprep.review.opening import Opening
    from scanprep.review.serve import Service

    service = Service(Opening(case, workers), share, port)
    if as_json:
        console.print_json({"address": service.addresses.decides, "guests": service.addresses.guest})
        sys.stdout.flush()
    else:
        _print_addresses(service.addresses)
    if browser:
        import webbrowser

        webbrowser.open(service.addresses.decides)
    service.run()


def _print_addresses(addresses: Addresses) -> None:
    if addresses.guest is None:
        print(f"open {addresses.decides}   (this machine only; Ctrl+C ends it)", flush=True)
        return
    print(f"open {addresses.decides}   (who has this address decides)")
    print(f"guests: {addresses.guest}   (who has this one only looks)")
    print("shared on this network without encryption: only where you trust everybody on it. Ctrl+C ends it", flush=True)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(review)
