"""What every paper, page, file and command says about safety, in one place: a word changed here changes everywhere.

The full cautions stand on specifications and mount sheets, the short one on every other paper; both say the same three
things: figures are aids, the conservator decides, structure goes to an engineer.
"""

from __future__ import annotations

FIGURES = "Figures are aids for trained staff"
#: Near stressed acrylic; said wherever a hole is drilled, cleaned or keyed.
NO_SOLVENT = "no alcohol or solvent"

CAUTIONS = (
    f"{FIGURES}; check them on the object and at the bench before metal is cut or a hole is drilled.",
    "The conservator decides what may touch an object, where, and with how much force.",
    "Structure, seismic and public-safety questions go to a licensed engineer and the local code.",
    f"Drilling: eye protection; sheet flat, fully supported and lifted by two people; {NO_SOLVENT} near stressed "
    "acrylic; anneal after machining where the sheet's maker says so.",
)
SHORT_CAUTION = (f"{FIGURES}: measure before metal is cut or a hole drilled. The conservator decides what may touch an "
                 "object; structure and safety questions go to a licensed engineer.")

#: Said on every engineering note.
LICENCE = (
    "This note is a calculation aid made by a program, not the work of a licensed engineer. Whether a panel, its floor "
    "fixing, and objects over people are safe is for an engineer licensed where the display stands to say."
)
#: Said with every acceleration that a formula proposes.
ENGINEER_DECIDES = (
    "This acceleration is a proposal from a published formula; a licensed engineer decides what the site, the building "
    "and the local code ask for."
)
