"""Numbers out of text in bulk, without a Python step per number.

A number is met as bytes: up to 16 digits before and after the point. Eight bytes are read as one 64-bit word and turned
into a value by three multiplications (the digits of a word pair up to two-digit, then four-digit, then eight-digit
values). A decimal is mantissa / 10^k with both exact in a double, so the quotient is the correctly rounded value
as long as the mantissa stays below 2^53. What is written otherwise (exponents, NaN, longer digits) goes through
Python's own float, one by one.

Takes bytes, returns float64 and the place of every token. Used by the text formats (OBJ, PLY, STL, OFF).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.vectors import F64, U8

I64 = NDArray[np.int64]
_PAD = 16  # tolerance: bytes kept free on both sides, so that a word may be read across an end
_POWERS = 10.0 ** np.arange(23)  # exact: exact in a double up to 10^22
_POWERS_INT = 10 ** np.arange(17, dtype=np.uint64)  # exact: powers of ten that a 64-bit word holds with room
_WHOLE = np.uint64(0xFFFFFFFFFFFFFFFF)  # exact: all bits


@dataclass(frozen=True, slots=True, eq=False)
class Tokens:
    """Where the words of a text begin and end."""

    starts: I64  # (n,) in the padded text
    ends: I64  # (n,) one past
    padded: U8  # the text with spaces on both sides

    def picked(self, rows: I64) -> Tokens:
        """Return some of the tokens, in the order of `rows`."""
        return Tokens(self.starts[rows], self.ends[rows], self.padded)


def find_tokens(text: U8) -> Tokens:
    """Return the whitespace-separated words of a text; any byte up to a space separates."""
    padded = np.full(len(text) + 2 * _PAD, 32, dtype=np.uint8)
    padded[_PAD:_PAD + len(text)] = text
    solid = padded > 32
    turns = np.flatnonzero(solid[1:] != solid[:-1]) + 1
    return Tokens(turns[0::2], turns[1::2], padded)


def _words(padded: U8) -> NDArray[np.uint64]:
    """Every run of eight bytes as a little-endian word, without a copy."""
    return np.ndarray((len(padded) - 7,), dtype="<u8", buffer=padded.data, strides=(1,))


def _digits(words: NDArray[np.uint64], ends: I64, lengths: I64) -> tuple[NDArray[np.uint64], NDArray[np.bool_]]:
    """Return the value of up to eight digits ending before `ends`, and which of them are digits only."""
    shift = ((8 - lengths) * 8).astype(np.uint64)
    word = words[ends - 8] ^ np.uint64(0x3030303030303030)
    used = np.where(lengths > 0, _WHOLE << np.where(lengths > 0, shift, np.uint64(0)), np.uint64(0))
    word &= used
    plain = ((word + np.uint64(0x7676767676767676)) | word) & np.uint64(0x8080808080808080) == 0
    value = (word * np.uint64(10)) + (word >> np.uint64(8))
    value = ((value & np.uint64(0x000000FF000000FF)) * np.uint64(0x000F424000000064)
             + ((value >> np.uint64(16)) & np.uint64(0x000000FF000000FF)) * np.uint64(0x0000271000000001))
    return value >> np.uint64(32), plain


def integers(tokens: Tokens) -> tuple[I64, NDArray[np.bool_]]:
    """Return the tokens as whole numbers, and which of them were whole numbers of at most eight digits."""
    starts, ends, padded = tokens.starts, tokens.ends, tokens.padded
    minus = padded[starts] == 45
    lengths = ends - starts - minus
    words = _words(padded)
    value, plain = _digits(words, ends, np.clip(lengths, 0, 8))
    plain &= (lengths > 0) & (lengths <= 8)
    signed = value.astype(np.int64)
    return np.where(minus, -signed, signed) if minus.any() else signed, plain


def _long_digits(words: NDArray[np.uint64], ends: I64, lengths: I64) -> tuple[NDArray[np.uint64], NDArray[np.bool_]]:
    """Return the value of up to sixteen digits ending before `ends`."""
    low, plain = _digits(words, ends, np.clip(lengths, 0, 8))
    more = np.flatnonzero(lengths > 8)
    if len(more):
        high, also = _digits(words, ends[more] - 8, np.clip(lengths[more] - 8, 0, 8))
        low[more] += high * np.uint64(100_000_000)
        plain[more] &= also
    return low, plain


def decimals(tokens: Tokens) -> F64:
    """Return the tokens as numbers. Raises ValueError naming the first word that is no number."""
    starts, ends, padded = tokens.starts, tokens.ends, tokens.padded
    if len(starts) == 0:
        return np.empty(0)
    signed = (padded[starts] == 45) | (padded[starts] == 43)
    points = np.flatnonzero(padded == 46)
    owner = np.searchsorted(starts, points, side="right") - 1
    inside = (owner >= 0) & (points < ends[owner])
    points, owner = points[inside], owner[inside]
    once = np.ones(len(points), dtype=np.bool_)
    once[1:] = owner[1:] != owner[:-1]
    dot = ends.copy()
    dot[owner[once]] = points[once]
    begin = starts + signed
    whole_length = dot - begin
    part_length = np.maximum(ends - dot - 1, 0)
    words = _words(padded)
    whole, plain = _long_digits(words, dot, np.minimum(whole_length, 16))
    part, plain_part = _long_digits(words, ends, np.minimum(part_length, 16))
    digits = whole_length + part_length
    good = plain & plain_part & (digits > 0) & (digits <= 16)
    mantissa = whole * _POWERS_INT[np.minimum(part_length, 16)] + part
    good &= mantissa < np.uint64(1) << np.uint64(53)
    value = mantissa.astype(np.float64) / _POWERS[np.minimum(part_length, 22)]
    np.negative(value, out=value, where=padded[starts] == 45)
    odd = np.flatnonzero(~good)
    if len(odd):
        value[odd] = _one_by_one(padded, starts[odd], ends[odd])
    return np.asarray(value, dtype=np.float64)


def _one_by_one(padded: U8, starts: I64, ends: I64) -> list[float]:
    text = padded.tobytes()
    values = []
    for start, end in zip(starts.tolist(), ends.tolist()):
        word = text[start:end].lower()
        if b"nan" in word or b"#" in word:  # "-nan(ind)", "1.#QNAN", "-1.#IND" as some exporters print them
            values.append(math.nan)
            continue
        try:
            values.append(float(word.replace(b"_", b"?")))
        except ValueError:
            raise ValueError(f"{word[:40].decode('ascii', 'replace')!r} is not a number") from None
    return values
