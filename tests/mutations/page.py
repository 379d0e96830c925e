"""The table and the page of a run."""

from __future__ import annotations

import csv
from pathlib import Path

from tests.mutations.changes import GUARD, NUDGE
from tests.mutations.trials import LONGEST_TEST_s, MOST_TESTS_s, Tried

Key = tuple[str, str, str, str]  # module, function, change, the line's text


def reasons() -> dict[Key, str]:
    """Why changes need not be seen."""
    with (Path(__file__).parent / "reasons.csv").open(encoding="utf-8", newline="") as file:
        return {(row["module"], row["function"], row["change"], row["line"]): row["reason"]
                for row in csv.DictReader(file)}


def key(tried: Tried) -> Key:
    return tried.module, tried.function, tried.label, tried.text


def table(found: list[Tried], counted: dict[str, int], known: dict[Key, str]) -> str:
    """Shares by module, in Markdown."""
    lines = ["| module | possible | tried | seen | alike by reason | seen of the rest |", "|---|---|---|---|---|---|"]
    for module in [*counted, ""]:
        mine = [tried for tried in found if tried.module == module or not module]
        seen = sum(tried.seen for tried in mine)
        alike = sum(not tried.seen and key(tried) in known for tried in mine)
        name, possible = (module, counted[module]) if module else ("all", sum(counted.values()))
        rest = len(mine) - alike
        lines.append(f"| {name} | {possible} | {len(mine)} | {seen} | {alike} | "
                     f"{100 * seen / max(rest, 1):.0f} % |")
    return "\n".join(lines)


def page(found: list[Tried], counted: dict[str, int], known: dict[Key, str], each: int, seed: int) -> str:
    """The page of the docs."""
    missed = [tried for tried in found if not tried.seen]
    lines = [f"| `{tried.module}` `{tried.function}` | `{_cell(tried.text)}` | `{_cell(tried.label)}` | "
             f"{known.get(key(tried), 'not seen, and it should be')} |" for tried in missed]
    return f"""# Wrong changes that the tests see

Written by `python -m tests.mutations --docs docs` (seed {seed}, at most {each} changes a module; one core). Each change
is one slip in one function of a module that judges: a comparison moved onto its limit or turned round, an operator
or function taken for its neighbour, a term dropped, a number below ten one up, any other times {NUDGE:g}, a condition
turned, a low end taken for the typical value, a verdict louder or quieter. Words and digits printed are not changed,
nor numbers below {GUARD:g}. A change is seen when a test that calls the function fails with it; tests of more than
{LONGEST_TEST_s:g} s of processor time, and what goes beyond {MOST_TESTS_s:g} s a change, are left out, so a few that
count as not seen would be seen by the whole suite. Some changes alter nothing that can be seen (a limit met exactly by
a quantity that is never exact, a search that ends a step later): those stand below with their reasons and are taken
out of the last column.

{table(found, counted, known)}

## Not seen

| where | line | change | reason |
|---|---|---|---|
{chr(10).join(lines)}
"""


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("`", "'")
