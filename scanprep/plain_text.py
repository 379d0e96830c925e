"""Text from outside, made fit to be read: control and direction characters shown instead of obeyed.

A number with a right-to-left override in it reads reversed on screen and paper; a control character moves the cursor
of a terminal. Both are shown by their code point. Used at every edge where text of a file or a person is printed.
"""

from __future__ import annotations

import unicodedata

_LINES = frozenset("\n\t")


def visible(text: str) -> str:
    """Return text with every control, direction and invisible character as its code point; line ends and tabs stay.

    >>> visible("FB-" + chr(0x202E) + "100" + chr(27) + "[2J")
    'FB-<U+202E>100<U+001B>[2J'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(c if c in _LINES or unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")
                   else f"<U+{ord(c):04X}>" for c in text)
