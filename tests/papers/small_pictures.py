"""Pictures of holds at a third of their size: an eighth of the work, for tests that do not look at them."""

from __future__ import annotations

import contextlib
import functools
from collections.abc import Iterator

import pytest

from scanprep.papers.pictures.contact_sheet import contact_sheet_png


@contextlib.contextmanager
def small_pictures() -> Iterator[None]:
    """Draw `holds.png` small as long as this lasts, in this process."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("scanprep.workspace.sheets.contact_sheet_png",
                      functools.partial(contact_sheet_png, room_px=(360, 140)))
        yield
