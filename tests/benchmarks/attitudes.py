"""How labelled real scans would be shown, against what a curator would accept; as a table.

    python -m tests.benchmarks.attitudes [known|held]     all that are here; those looked at; those held back

    right       proposed without a question, and acceptable
    asked, 1st  a question is asked, and the proposal itself is acceptable
    asked       a question is asked, and an acceptable one is among the choices
    missed      a question is asked, but no choice is acceptable
    SILENT      wrong without a question

Ends with code 1 where something is silently wrong.
"""

from __future__ import annotations

import sys
from collections import Counter

import numpy as np

from scanprep.files.meshes import load_scan
from scanprep.hold import propose_attitudes
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.survey import survey_object
from tests.labels import HELD_BACK, Labelled, labelled

RULES = Rulebook()


def judged(one: Labelled) -> tuple[str, str]:
    """The word for one scan, and what is asked of it."""
    cleaned = clean(load_scan(one.path, one.brief, RULES.scan), one.brief, RULES.scan)
    survey = survey_object(cleaned, one.brief, RULES)
    first = propose_attitudes(cleaned.working, survey, one.brief)[0].rotation
    good = one.accepts(first[1], first[2])
    asked = ", ".join(f.code for f in survey.findings if f.code in ("which-way-up", "which-side-front"))
    right = [number for number, choice in enumerate(survey.choices, 1)
             if one.accepts(np.asarray(choice.up), np.asarray(choice.front))]
    if not asked:
        return ("right" if good else "SILENT"), ""
    word = "asked, 1st" if good else "asked" if right else "missed"
    return word, f"{asked}; acceptable choices {right} of {len(survey.choices)}"


def main() -> int:
    """Print the table and the counts."""
    which = sys.argv[1] if len(sys.argv) > 1 else "all"
    counts: Counter[str] = Counter()
    for one in labelled():
        if which == "all" or (one.name in HELD_BACK) == (which == "held"):
            word, asked = judged(one)
            counts[word] += 1
            print(f"{word:11s} {one.name:26s} {asked}", flush=True)
    total = sum(counts.values())
    fine = total - counts["SILENT"] - counts["missed"]
    print(f"\n{total} scans: {fine} acceptable or asked with an acceptable choice; "
          + ", ".join(f"{counts[word]} {word}" for word in ("right", "asked, 1st", "asked", "missed", "SILENT")))
    return int(counts["SILENT"] > 0)


if __name__ == "__main__":
    sys.exit(main())
