"""What identifies a paper, and where its sheets say so.

A paper's content is everything it prints but its own identity and issue number: the file is written once without them
and hashed (its digest). The issue number counts the contents a file has had; the identity is a short hash of file name,
issue, digest and where the case's record ended when that issue was first drawn. So one identity stands for one file of
exactly one sequence of bytes, and no paper refers to itself.
Where a sheet has a `ControlMark`, the writers set the words of its `Control`; without one they set nothing.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from scanprep.papers.drawing.sheet import ControlMark, Group, Item, Sheet, Text

# Crockford's base 32: no I, L, O, U, so that it is read aloud and typed without doubt.
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_PATTERN = r"[0-9A-HJKMNP-TV-Z]{4}-[0-9A-HJKMNP-TV-Z]{4}"
_NOTE = re.compile(rf"scanprep paper ({_PATTERN}) issue ([0-9]+)(?: record ([0-9]+ [0-9a-f]{{12}}))?")


@dataclass(frozen=True, slots=True)
class Control:
    """One issue of one paper. Issue 0: printed outside a case's register, such as the sheet beside a `spec.json`."""

    identity: str  # such as 7K3A-91CD
    issue: int
    record: str = ""  # number of the record's last entry when it was drawn and the first 12 digits of its hash

    @property
    def words(self) -> str:
        """As printed on every page, tile and label."""
        return f"issue {self.issue}, paper {self.identity}" if self.issue else f"paper {self.identity}, not registered"

    @property
    def note(self) -> str:
        """As written into the metadata of a file, where `find_control` finds it again."""
        return f"scanprep paper {self.identity} issue {self.issue}{self.record and f' record {self.record}'}"

    @property
    def record_words(self) -> str:
        """As printed where a sheet says which decisions it was drawn from; empty outside a case."""
        return f"drawn from the record up to entry {', hash '.join(self.record.split())}" if self.record else ""


def digest_of(content: bytes) -> str:
    """Return the digest of a paper that was written without its identity and issue."""
    return hashlib.sha256(content).hexdigest()


def control_of(file: str, issue: int, digest: str, record: str = "") -> Control:
    """Return what identifies one issue of a paper.

    record  where the case's record ended: `12 7f3a91cd5e60`

    Forty bits: among 10 000 papers two share an identity with a chance of 10^8 / 2 / 2^40, below 1 in 20 000.
    """
    said = f"{file}\n{issue}\n{digest}{record and f'{chr(10)}{record}'}"
    number = int.from_bytes(hashlib.sha256(said.encode()).digest()[:5])
    letters = "".join(_LETTERS[number >> shift & 31] for shift in range(35, -1, -5))
    return Control(f"{letters[:4]}-{letters[4:]}", issue, record)


def find_control(text: str) -> Control | None:
    """Return the control that stands in a file's text or metadata; None where there is none."""
    found = _NOTE.search(text)
    return Control(found[1], int(found[2]), found[3] or "") if found else None


def as_identity(text: str) -> str | None:
    """Return an identity as people write it (`7k3a 91cd`) in its own spelling; None where it is none."""
    plain = text.upper().replace(" ", "").replace("-", "").replace("O", "0").replace("I", "1").replace("L", "1")
    said = f"{plain[:4]}-{plain[4:]}"
    return said if re.fullmatch(_PATTERN, said) else None


def controlled(sheet: Sheet, control: Control | None) -> Sheet:
    """Return a sheet with its marks turned into words; left out where there is no control."""
    return replace(sheet, items=tuple(_resolved(sheet.items, control)))


def _resolved(items: Iterable[Item], control: Control | None) -> Iterable[Item]:
    for item in items:
        if isinstance(item, ControlMark):
            if control is not None:
                words = item.before + control.words if item.says == "issue" else control.record_words
                yield Text(item.x_mm, item.y_mm, words, item.height_mm, item.anchor, item.angle_deg, item.bold,
                           layer=item.layer)
        elif isinstance(item, Group):
            yield replace(item, items=tuple(_resolved(item.items, control)))
        else:
            yield item
