"""A new case folder: a readable case file to fill in, and an empty checklist with its column heads.

Nothing that is already there is touched. Used by the `new` command.
"""

from __future__ import annotations

import json
import secrets
from pathlib import Path

from scanprep.errors import InputError
from scanprep.files.atomic_write import write_atomically

CASE_FILE = "case.toml"
CHECKLIST = "checklist.csv"

#: Column heads of a new checklist, in the order a museum's list usually has them.
COLUMN_HEADS = ("number", "title", "material", "scan", "unit", "known size", "mass", "wall", "condition", "pieces",
                "up", "front", "attitude", "tilt", "turn", "roll", "group", "order", "panel", "face", "x", "y",
                "tip limit", "pad", "no touch", "parts", "note")

_TEMPLATE = '''\
# The display. Lengths are text with a unit: "700 mm", "27 1/2 in". Every line may be left out; what stands
# here as a comment is the default. All keys: docs/reference/case-file.md

{identity}title = {title}
units = {units}                      # how papers show lengths: "mm" or "in"
max_post_diameters = 3            # few thicknesses, or the wall looks restless
mock_up = false                   # true: thin mock-up sheet, through-holes, blank lengths

[site]
name = "no seismic demand; handling and footfall only"
acceleration_g = 0.35             # a seismic site takes its number from the code's formula and an engineer
reason = "assumed: say who decided this"

[viewers]
eye_heights = ["1205 mm", "1612 mm"]   # seated, standing

[[panels]]
name = "West"
width = "700 mm"
height = "2200 mm"
thickness = "30 mm"
thickness_measured = false        # cast sheet varies by a tenth: true once calipers have been on it
grade = "unknown"                 # "cell cast" where the delivery note says so
foot = "clamped"                  # or "flexible" (then foot_stiffness_Nmm_per_rad), "four corners"
top_restraint = true              # false: a free top; most sheets of this height then sway too slowly to pass
stands_at = "0 mm"                # lower edge above the visitors' floor
keep_clear = "40 mm"              # hole centres stay this far from the edges
# door_open = "350 mm"            # clear width of a sliding door before each face; left out: all of it is open

# [[measured_rods]]               # a rod under the micrometer
# label = "3/16"
# diameter = "4.75 mm"

# [[coupons]]                     # a test hole in an offcut
# drill = "#11"                   # any spelling: 4.7 mm, #11, 3/16, letter F
# hole = "4.87 mm"
# rod = "3/16"
# line = "0.16 mm"                # nylon line laid beside it; or retention = "bow", "slit", "lacquer"
# push = "55 N"
# twist = "125 N mm"
# pull = "48 N"

# [checklist.columns]             # your headings, where they are not ours
# "Höhe" = "height cm"

# [rules.case]                    # any row of the rulebook by its stage and name; `scanprep rules` lists them
# object_gap_mm = 15
'''


def case_template(title: str, units: str = "mm", identity: str = "") -> str:
    """Return the text of a new case file.

    identity  by which the record knows that the file is its own; empty: the file does not say
    """
    quoted = json.dumps(title, ensure_ascii=False).replace("\x7f", "\\u007f")  # a TOML string: only DEL differs
    line = f'id = "{identity}"               # ties this file to its record: leave it\n' if identity else ""
    return _TEMPLATE.format(title=quoted, units=f'"{units}"', identity=line)


def write_new_case(folder: Path, title: str, units: str = "mm") -> tuple[Path, ...]:
    """Write a case file, an empty checklist and a folder for scans; return what was written.

    Raises InputError where a case already stands there: nothing is overwritten; and on units that papers do not know.
    """
    if units not in ("mm", "in"):
        raise InputError(field="--units", value=repr(units), problem="is no unit of papers", remedy="Write mm or in")
    case = folder / CASE_FILE
    if case.exists():
        raise InputError(file=case, problem="is already there", remedy="Choose another folder, or go on with this case")
    write_atomically(case, case_template(title, units, secrets.token_hex(6)))
    written = [case]
    checklist = folder / CHECKLIST
    if not checklist.exists():
        write_atomically(checklist, ",".join(COLUMN_HEADS) + "\n")
        written.append(checklist)
    (folder / "scans").mkdir(exist_ok=True)
    return tuple(written)
