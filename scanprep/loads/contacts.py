"""What a mount's metal, solder, flux, lacquer and pads may do to the material they touch: cautions with their sources.

Said of an object by its material; the conservator decides. Rows stand in `tables/contacts.csv`, each with where it was
seen or that it is from memory. No chemistry is worked out here. What holds of every mount: docs/reference/contacts.md.
"""

from __future__ import annotations

import csv
import functools
from dataclasses import dataclass
from importlib import resources

from scanprep.findings import Finding, Verdict
from scanprep.materials import material_name


@dataclass(frozen=True, slots=True)
class ContactCaution:
    """What to mind next to one group of materials."""

    group: str
    materials: tuple[str, ...]
    caution: str
    source: str
    status: str  # "verified in stored text" or "from memory"


@functools.cache
def contact_table() -> tuple[ContactCaution, ...]:
    """Return the whole table."""
    text = resources.files("scanprep.tables").joinpath("contacts.csv").read_text(encoding="utf-8")
    return tuple(ContactCaution(line["group"], tuple(line["materials"].split(";")), line["caution"], line["source"],
                                line["status"]) for line in csv.DictReader(text.splitlines()))


def contact_findings(material: str | None, rod_material: str) -> tuple[Finding, ...]:
    """Return what to look at where a mount touches an object of a material; nothing where none is named or at risk.

    material      the object's, as the checklist says it
    rod_material  the post's alloy

    >>> [finding.code for finding in contact_findings("marble", "C26000")], contact_findings("terracotta", "C26000")
    (['contact-calcareous'], ())
    """
    named = None if material is None else material_name(material)
    found = []
    for row in contact_table():
        if named not in row.materials:
            continue
        leaded = "; the rod's free-cutting brass carries 2.5 to 3 % lead: prefer C26000 or lacquer it well" \
            if "C36000" in rod_material and row.group in _ACID_FREE else ""
        memory = ", from memory" if row.status == "from memory" else ""
        found.append(Finding(f"contact-{row.group}", "", Verdict.LOOK, f"{row.caution}{leaded} ({row.source}{memory})",
                             "The conservator decides on metal, coating and pad before the wire is bent"))
    return tuple(found)


#: Groups near which vapours of acids are to be expected, or which give them off: leaded brass turns to lead carbonate.
_ACID_FREE = ("organic", "plastics", "lead")
