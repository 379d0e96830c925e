"""How inputs are broken: bytes, words of a text, values of a JSON record. Each is given by its chance alone."""

from __future__ import annotations

import copy
import io
import json
import random
import re
import zipfile
from typing import Any

WORDS = ("", " ", "0", "-0", "-1", "1", "2", "nan", "inf", "-inf", "1e308", "1e400", "1e-320", "9" * 400, "1_0", "0x10",
         "٣", "½", "3 5/8 in", "1/0 in", "92 mm", "9,2 cm", "240 g", "true", "null", "None", "[]", "{}", '"', "'", "\\",
         "\x00", "\x1b[2J", "\u202e1", "\ufeff", "\ud800", "é", "漢", "../../x", "/dev/zero", "=1+1", "#REF!", "A", "B",
         "x" * 3000, "\n", "\t", ",", ";", "]", "}", "FB-001", "West", "+y", "-y", "beyond +y 3 mm", "12:30", "5\"")
VALUES: tuple[Any, ...] = (None, True, False, 0, -1, 1, 2**31, 2**53, 2**70, -2**70, 0.5, -0.0, 1e308, 1e-320, "", " ",
                           "x", "A", "C", "West", "FB-001", "\u202e1", "\x00", "x" * 3000, [], [[]], {}, {"a": 1},
                           ["FB-001"], [1, 2, 3], "nan", "1e400", "2026-01-01", "2026-01-01T00:00:00.000+00:00")


def bytes_wounded(data: bytes, dice: random.Random) -> bytes:
    """Cut off, a few bytes changed anywhere or near the start, a piece put in, taken out, repeated or moved."""
    new, kind = bytearray(data), dice.randrange(7)
    at = dice.randrange(len(new)) if new else 0
    if kind == 0:
        return bytes(new[:at])
    if kind in (1, 2):
        for _ in range(dice.choice((1, 3, 20))):
            new[dice.randrange(len(new) if kind == 1 else min(len(new), 300))] = dice.randrange(256)
    elif kind == 3:
        new[at:at] = dice.randbytes(dice.randrange(1, 40))
    elif kind == 4:
        del new[at:at + dice.randrange(1, 100)]
    elif kind == 5:
        new[at:at] = new[max(0, at - dice.randrange(1, 200)):at]
    else:
        size = dice.choice((1, 2, 4, 8))
        new[at:at + size] = dice.choice((b"\xff" * 8, b"\x00" * 8, b"\x7f\xff\xff\xff\xff\xff\xff\xff"))[:size]
    return bytes(new)


def text_wounded(text: str, dice: random.Random) -> str:
    """Words replaced by nasty ones or by others of the text; lines dropped, doubled or moved."""
    for _ in range(dice.choice((1, 1, 1, 2, 5))):
        if dice.random() < 0.25:
            lines = text.split("\n")
            at = dice.randrange(len(lines))
            piece = lines.pop(at)
            if dice.random() < 0.7:
                lines.insert(dice.randrange(len(lines) + 1), piece)
            if dice.random() < 0.3:
                lines.insert(at, piece)
            text = "\n".join(lines)
            continue
        words = list(re.finditer(r"[^\s=,;\[\]\"']+", text))
        if not words:
            return text
        word = dice.choice(words)
        put = dice.choice(WORDS) if dice.random() < 0.75 else dice.choice(words).group()
        text = text[:word.start()] + put + text[word.end():]
    return text


def either_wounded(text: str, dice: random.Random) -> bytes:
    """A text broken by words, or by bytes; now and then in another encoding."""
    if dice.random() < 0.3:
        return bytes_wounded(text.encode(), dice)
    broken = text_wounded(text, dice)
    return broken.encode(dice.choice(("utf-8", "utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")), "replace")


def value_wounded(value: Any, dice: random.Random) -> Any:
    """A plain value with one to three of its parts replaced, dropped, doubled or renamed."""
    root = [copy.deepcopy(value)]
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        places = _places(root)
        holder, key = dice.choice(places)
        kind = dice.randrange(6)
        if kind == 0 and holder is not root:
            del holder[key]
        elif kind == 1 and isinstance(holder, dict):
            holder[str(dice.choice(WORDS))] = holder.pop(key)
        elif kind == 2 and isinstance(holder, list) and holder is not root:
            holder.append(copy.deepcopy(holder[key]))
        elif kind == 3:
            other, other_key = dice.choice(places)
            try:
                holder[key] = copy.deepcopy(other[other_key])
            except (LookupError, TypeError):
                holder[key] = None
        else:
            holder[key] = copy.deepcopy(dice.choice(VALUES))
    return root[0]


def _places(root: list[Any]) -> list[tuple[Any, Any]]:
    found, todo = [], [(root, 0)]
    while todo:
        holder, key = todo.pop()
        found.append((holder, key))
        inner = holder[key]
        if isinstance(inner, dict):
            todo += [(inner, name) for name in inner]
        elif isinstance(inner, list):
            todo += [(inner, at) for at in range(min(len(inner), 50))]
    return found


def json_wounded(value: Any, dice: random.Random) -> str:
    """A JSON text: mostly of a wounded value, else its text wounded."""
    if dice.random() < 0.8:
        return json.dumps(value_wounded(value, dice))
    return text_wounded(json.dumps(value, ensure_ascii=False), dice)


def zip_wounded(data: bytes, dice: random.Random) -> bytes:
    """A zip broken in one of its members, or as a whole."""
    if dice.random() < 0.3:
        return bytes_wounded(data, dice)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as source, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as target:
        chosen = dice.choice(source.namelist())
        for name in source.namelist():
            content = source.read(name)
            if name == chosen:
                try:
                    content = either_wounded(content.decode(), dice)
                except UnicodeDecodeError:
                    content = bytes_wounded(content, dice)
                if dice.random() < 0.05:
                    continue
            target.writestr(name, content)
    return out.getvalue()
