"""The letters on our papers: which ones the fonts have, how wide they run, and what is told about those they lack.

Two faces of DejaVu Sans ship with the package (licence beside them): Latin with all accents, Greek, Cyrillic, Armenian,
Georgian, Hebrew and Arabic (joined and set from right to left here), the diameter and depth signs of drawings; not
Chinese, Japanese, Korean, Thai or the scripts of India and Ethiopia. A letter that is missing is printed as its code
in brackets, such as [U+5C3E], and named by `missing_letters`, never left as an empty box.
Used by the display list's writers and by every paper that sets text in a width.
"""

from __future__ import annotations

import functools
import unicodedata
from collections.abc import Sequence
from importlib import resources
from typing import TYPE_CHECKING

from scanprep.findings import Finding, Verdict
from scanprep.plain_text import visible

if TYPE_CHECKING:
    from arabic_reshaper import ArabicReshaper

#: exact: Cap height of DejaVu Sans over its em: 1493 / 2048, read from the glyph H of the font file.
CAP_SHARE = 1493 / 2048
MM_PER_PT = 25.4 / 72  # exact: 72 points to the inch
REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"


@functools.cache
def font_bytes(name: str) -> bytes:
    """Return a font file that ships with the package."""
    return resources.files("scanprep.papers.drawing").joinpath("fonts", f"{name}.ttf").read_bytes()


@functools.cache
def register_fonts() -> None:
    """Make both faces known to the PDF writer."""
    import io

    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    for name in (REGULAR, BOLD):
        pdfmetrics.registerFont(TTFont(name, io.BytesIO(font_bytes(name))))


@functools.cache
def _known(name: str) -> frozenset[int]:
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    return frozenset(pdfmetrics.getFont(name).face.charToGlyph)


def size_pt(height_mm: float) -> float:
    """Return the font size in points that gives capitals of a height in mm."""
    return height_mm / CAP_SHARE / MM_PER_PT


@functools.lru_cache(maxsize=20_000)
def text_width_mm(text: str, height_mm: float, bold: bool = False) -> float:
    """Return how wide a line runs, in mm; `height_mm` is that of its capitals."""
    from reportlab.pdfbase import pdfmetrics

    register_fonts()
    width_pt = pdfmetrics.stringWidth(printable(text), BOLD if bold else REGULAR, size_pt(height_mm))
    return float(width_pt) * MM_PER_PT


@functools.lru_cache(maxsize=20_000)
def missing_letters(text: str) -> tuple[str, ...]:
    """Return the letters of a text that neither face can print, in order, each once."""
    known = _known(REGULAR) & _known(BOLD)
    letters = dict.fromkeys(_joined(unicodedata.normalize("NFC", text)))
    return tuple(c for c in letters if ord(c) not in known and not unicodedata.category(c).startswith(("Z", "C")))


@functools.lru_cache(maxsize=20_000)
def printable(text: str) -> str:
    """Return a text as it is drawn: composed, joined, in visual order; letters that are missing and control and
    direction characters as their codes."""
    plain = "".join(" " if unicodedata.category(c)[0] in "ZC" else c
                    for c in visible(unicodedata.normalize("NFC", text)))
    missing = set(missing_letters(plain))
    ordered = _visual_order(_joined(plain))
    return "".join(f"[U+{ord(c):04X}]" if c in missing else c for c in ordered) if missing else ordered


def letters_finding(text: str, subject: str) -> Finding | None:
    """Return a finding that names the letters of a text which will be printed as codes; None where there are none."""
    missing = missing_letters(text)
    if not missing:
        return None
    codes = ", ".join(f"U+{ord(c):04X}" for c in missing[:12])
    more = f" and {len(missing) - 12} more" if len(missing) > 12 else ""
    return Finding("letters-not-in-font", subject, Verdict.LOOK,
                   f"{subject}: {len(missing)} letters are not in the papers' fonts and are printed as codes: "
                   f"{codes}{more}", "Give the title in Latin letters as well", len(missing), 0.0, "letters")


@functools.cache
def _reshaper() -> ArabicReshaper:
    """Marks above and below are dropped; of ligatures only lam with alef, which Arabic never writes apart."""
    from arabic_reshaper import ArabicReshaper

    return ArabicReshaper({"delete_harakat": True, "support_ligatures": True, "ARABIC LIGATURE ALLAH": False})


def _joined(text: str) -> str:
    """Arabic letters in the shapes they take next to their neighbours."""
    return str(_reshaper().reshape(text)) if any("\u0600" <= letter <= "\u06ff" for letter in text) else text


_MIRRORED = str.maketrans("()[]{}<>", ")(][}{><")


def _visual_order(text: str) -> str:
    """The order in which letters stand on paper: runs from right to left are turned, numbers in them are not.

    A short form of the Unicode rules, enough for titles: the line keeps its own direction left to right.
    """
    classes = [unicodedata.bidirectional(c) for c in text]
    if not any(kind in ("R", "AL") for kind in classes):
        return text
    out: list[str] = []
    i = 0
    while i < len(text):
        if classes[i] not in ("R", "AL"):
            out.append(text[i])
            i += 1
            continue
        end = i
        for j in range(i, len(text)):
            if classes[j] in ("R", "AL", "EN", "AN"):
                end = j + 1
            elif classes[j] == "L" or _opens_left_to_right(text, classes, j):
                break
        out.append(_turned(text[i:end]))
        i = end
    return "".join(out)


def _opens_left_to_right(text: str, classes: Sequence[str], at: int) -> bool:
    """Whether a bracket opens here that holds letters of the line's own direction: it then goes with them, and so do
    the numbers in it (Unicode Standard Annex 9, rule N0)."""
    pairs = {"(": ")", "[": "]", "{": "}"}
    if text[at] not in pairs:
        return False
    end = text.find(pairs[text[at]], at)
    return end > at and "L" in classes[at:end]


def _turned(run: str) -> str:
    """One run from right to left, its numbers kept in reading order."""
    pieces: list[str] = []
    number = ""
    for letter in run:
        if unicodedata.bidirectional(letter) in ("EN", "AN") or (number and letter in ".,/:"):
            number += letter
            continue
        if number:
            pieces.append(number)
            number = ""
        pieces.append(letter.translate(_MIRRORED))
    if number:
        pieces.append(number)
    return "".join(reversed(pieces))
