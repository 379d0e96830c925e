"""A number or name as part of a file name: unique, bounded, and such as every common file system takes.

What a file system may refuse or read otherwise becomes a dash; a name that had to be changed carries a short hash of
what it was, so that `A/1` and `A-1` never share a folder. Used by whatever writes files for an object or a panel.
"""

from __future__ import annotations

import hashlib
import re

MOST_LETTERS = 60  # tolerance: with folders around it well below the 255 bytes that file systems take
#: Names that Windows keeps for devices, whatever their ending.
_DEVICES = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)


def safe_name(name: str) -> str:
    """Return a name as a file or folder name, the same for the same name and different for a different one.

    >>> safe_name("FB-001"), safe_name("A/1")
    ('FB-001', 'A-1-a5b3d2')
    """
    kept = "".join(c if c.isalnum() or c in "._- " else "-" for c in name)[:MOST_LETTERS].strip(" .")
    if kept == name and kept and not _DEVICES.fullmatch(kept):
        return kept
    return f"{kept or 'object'}-{hashlib.sha256(name.encode('utf-8', 'surrogatepass')).hexdigest()[:6]}"
