"""How labelled real scans would be shown, against what a curator would accept; as a table.

    python -m tests.benchmarks.attitudes [known|held]     all that are here; those looked at; those held back
    python -m tests.benchmarks.attitudes --turned SEED [--half work|aside] [--name NAME ...]

    right       proposed without a question, and acceptable
    asked, 1st  a question is asked, and the proposal itself is acceptable
    asked       a question is asked, and an acceptable one is among the choices
    missed      a question is asked, but no choice is acceptable
    SILENT      wrong without a question

With a seed each is turned in its file, by quarter turns and anyhow, and the labels with it: see `tests.turned`. Half of
the objects, drawn by their names, were kept aside while rules were made for that ("aside").
Ends with code 1 where something is silently wrong.
"""

from __future__ import annotations

import argparse
import hashlib
import sys
from collections import Counter

import numpy as np

from scanprep.files.meshes import load_scan
from scanprep.hold import propose_attitudes
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Cleaned
from scanprep.survey import survey_object
from scanprep.vectors import F64
from tests.labels import HELD_BACK, Labelled, labelled
from tests.turned import ANYHOW, QUARTER, turn_of, turned

RULES = Rulebook()
WORDS = ("right", "asked, 1st", "asked", "missed", "SILENT")


def half_of(name: str) -> str:
    """Return "work" or "aside": which half an object is in."""
    return "aside" if hashlib.sha1(name.encode()).digest()[0] % 2 else "work"


def judged(one: Labelled, cleaned: Cleaned, turn: F64) -> tuple[str, str]:
    """The word for one scan, and what is asked of it; turn (3, 3): how it was turned in its file."""
    survey = survey_object(cleaned, one.brief, RULES)
    first = propose_attitudes(cleaned.working, survey, one.brief)[0].rotation @ turn
    good = one.accepts(first[1], first[2])
    asked = ", ".join(f.code for f in survey.findings if f.code in ("which-way-up", "which-side-front"))
    right = [number for number, choice in enumerate(survey.choices, 1)
             if one.accepts(np.asarray(choice.up) @ turn, np.asarray(choice.front) @ turn)]
    if not asked:
        return ("right" if good else "SILENT"), f"{survey.upright.reason}; {survey.shown.why}"
    word = "asked, 1st" if good else "asked" if right else "missed"
    return word, f"{asked}; acceptable choices {right} of {len(survey.choices)}"


def main() -> int:
    """Print the table and the counts."""
    parser = argparse.ArgumentParser()
    parser.add_argument("which", nargs="?", default="all", choices=["all", "known", "held"])
    parser.add_argument("--turned", type=int, metavar="SEED")
    parser.add_argument("--half", choices=["work", "aside"])
    parser.add_argument("--name", action="append")
    said = parser.parse_args()
    counts: Counter[tuple[str, str]] = Counter()
    for one in labelled():
        if said.which != "all" and (one.name in HELD_BACK) != (said.which == "held"):
            continue
        if (said.name and one.name not in said.name) or (said.half and half_of(one.name) != said.half):
            continue
        cleaned = clean(load_scan(one.path, one.brief, RULES.scan), one.brief, RULES.scan)
        for how in (None,) if said.turned is None else (QUARTER, ANYHOW):
            if how is None:
                word, asked = judged(one, cleaned, np.eye(3))
            else:
                word, asked = judged(one, turned(cleaned, one.name, said.turned, how),
                                     turn_of(one.name, said.turned, how))
            group = "" if how is None else f"{how}, {half_of(one.name)}"
            counts[group, word] += 1
            print(f"{word:11s} {one.name:26s} {group:22s} {asked}", flush=True)
    for group in sorted({group for group, _ in counts}):
        many = {word: counts[group, word] for word in WORDS}
        fine = sum(many.values()) - many["SILENT"] - many["missed"]
        print(f"\n{group or 'as filed'}: {sum(many.values())} scans: {fine} acceptable or asked with an acceptable "
              "choice; " + ", ".join(f"{number} {word}" for word, number in many.items()))
    return int(any(word == "SILENT" for _, word in counts))


if __name__ == "__main__":
    sys.exit(main())
