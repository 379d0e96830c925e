"""Text from outside, made fit to be read: control and direction characters shown instead of obeyed.

A number with a right-to-left override in it reads reversed on screen and paper; a control character moves the cursor
of a terminal. Both are shown by their code point. Used at every edge where text of a file or a person is printed.
"""

from __future__ import annotations

import unicodedata

_LINES = frozenset("\n\t")
_JOINERS = frozenset("\u200c\u200d")  # between the letters of scripts that join, where they are part of the spelling


def visible(text: str) -> str:
    """Return text with every control, direction and invisible character as its code point; line ends and tabs stay.

    >>> visible("FB-" + chr(0x202E) + "100" + chr(27) + "[2J")
    'FB-<U+202E>100<U+001B>[2J'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(c if _harmless(c, text[at - 1:at]) else f"<U+{ord(c):04X}>" for at, c in enumerate(text))


def in_one_line(text: str) -> str:
    """Return the same without line ends and tabs, for values of formats that are read line by line.

    >>> in_one_line("West" + chr(13) + chr(10) + "0")
    'West<U+000D> 0'
    """
    return " ".join(visible(text).replace("\t", "\n").split("\n"))


def _harmless(letter: str, before: str) -> bool:
    if letter in _JOINERS:
        return before != "" and unicodedata.category(before) in ("Lo", "Mn")
    return letter in _LINES or unicodedata.category(letter) not in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")
