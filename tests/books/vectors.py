"""Worked numbers kept as data, each with its source: published pages, textbook formulas worked by hand, other programs.

`calc` in a source means: worked for this project from the named formula, and once again separately.
"""

import json
from pathlib import Path

VECTORS = {entry["id"]: entry for entry in json.loads((Path(__file__).parent / "vectors.json").read_text())}


def vector(name):
    """Return (inputs, expected, relative tolerance) of a worked number."""
    entry = VECTORS[name]
    return entry["inputs"], entry["expected"], entry["rel_tol"]
