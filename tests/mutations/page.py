"""What runs have found, kept as a table, and the page of the docs."""

from __future__ import annotations

import csv
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from tests.mutations.changes import GUARD, NUDGE
from tests.mutations.judged import GROUPS
from tests.mutations.trials import LONGEST_TEST_s, MOST_TESTS_s, Tried

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Found:
    """One change that was tried, as it is kept."""

    module: str
    possible: int  # changes of that module
    function: str
    change: str
    line: str  # its text
    seen: str  # "yes" or "no"

    @property
    def key(self) -> tuple[str, str, str, str]:
        return self.module, self.function, self.change, self.line


def kept() -> list[Found]:
    """Everything that was found so far, in the order of `judged`."""
    with (HERE / "found.csv").open(encoding="utf-8", newline="") as file:
        rows = [Found(**{**row, "possible": int(row["possible"])}) for row in csv.DictReader(file)]
    order = [module for modules, _ in GROUPS for module in modules]
    return sorted((row for row in rows if row.module in order), key=lambda row: order.index(row.module))


def with_found(found: list[Tried], possible: dict[str, int]) -> None:
    """Put what was found of some modules in the place of what is kept of them."""
    rows = [row for row in kept() if row.module not in possible]
    rows += [Found(tried.module, possible[tried.module], tried.function, tried.label, tried.text,
                   "yes" if tried.seen else "no") for tried in found]
    with (HERE / "found.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, [field.name for field in fields(Found)], lineterminator="\n")
        writer.writeheader()
        writer.writerows(asdict(row) for row in rows)


def reasons() -> dict[tuple[str, str, str, str], str]:
    """Why changes need not be seen."""
    with (HERE / "reasons.csv").open(encoding="utf-8", newline="") as file:
        return {(row["module"], row["function"], row["change"], row["line"]): row["reason"]
                for row in csv.DictReader(file)}


def table(found: list[Found]) -> str:
    """Shares by module, in Markdown."""
    known = reasons()
    lines = ["| module | possible | tried | seen | share seen | nothing to see, by reason | seen of the rest |",
             "|---|---|---|---|---|---|---|"]
    for module in [*dict.fromkeys(row.module for row in found), "all"]:
        mine = [row for row in found if module in (row.module, "all")]
        seen = sum(row.seen == "yes" for row in mine)
        alike = sum(row.seen == "no" and row.key in known for row in mine)
        possible = sum({row.module: row.possible for row in mine}.values())
        lines.append(f"| {module.removeprefix('scanprep/')} | {possible} | {len(mine)} | {seen} | "
                     f"{100 * seen / max(len(mine), 1):.0f} % | {alike} | "
                     f"{100 * seen / max(len(mine) - alike, 1):.0f} % |")
    return "\n".join(lines)


def page(found: list[Found], each: int, seed: int) -> str:
    """The page of the docs."""
    known = reasons()
    missed = [f"| `{row.module.removeprefix('scanprep/')}` `{row.function}` | `{_cell(row.line)}` | "
              f"`{_cell(row.change)}` | {known.get(row.key, 'not seen: a test is missing')} |"
              for row in found if row.seen == "no"]
    return f"""# Wrong changes that the tests see

Written by `python -m tests.mutations --docs docs` (seed {seed}, at most {each} changes a module, one core). Each change
is one slip in one function of a module that judges: a comparison moved onto its limit or turned round, an operator
or function taken for its neighbour, a term dropped, a number below ten one up, any other times {NUDGE:g}, a condition
turned, a low end taken for the typical value, a verdict louder or quieter. Words and digits printed are not changed,
nor numbers below {GUARD:g}, nor module constants, which are tolerances by the rulebook's tests. A change is seen when a
test that calls the function fails with it; tests of more than {LONGEST_TEST_s:g} s of processor time, and what goes
beyond {MOST_TESTS_s:g} s a change, are left out, so a few that count as not seen would be seen by the whole suite. Some
changes alter nothing that can be seen (a limit met exactly by a quantity that is never exact, a search that ends a step
later): those stand below with their reasons and are taken out of the last column.

Each module as it was when it was last tried{_untried(found)}.

{table(found)}

## Not seen

| where | line | change | reason |
|---|---|---|---|
{chr(10).join(missed)}
"""


def _untried(found: list[Found]) -> str:
    tried = {row.module for row in found}
    missing = [module.removeprefix("scanprep/") for modules, _ in GROUPS for module in modules if module not in tried]
    return f"; not tried yet: {', '.join(missing)}" if missing else ""


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("`", "'")
