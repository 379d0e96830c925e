"""Rows of reading and cleaning scans."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import SHOP, rule


@dataclass(frozen=True, slots=True)
class ScanRules:
    """Reading and cleaning."""

    working_faces: int = rule(20_000, "faces",
                              "trial: the search for holds costs more with faces, shape is lost below 0.4 mm", SHOP,
                              "size of the working mesh that holds are sought on")
    scale_conflict_ratio: float = rule(0.02, "", "assumed", SHOP,
                                       "how far a stated unit and a known size may disagree before the scan is refused")
    least_plausible_mm: float = rule(8.0, "mm", "assumed", SHOP, "the smallest object shown on a post")
    most_plausible_mm: float = rule(1200.0, "mm", "assumed", SHOP, "the largest object shown on a post")
    fragment_share: float = rule(0.02, "of the area", "assumed", SHOP,
                                 "a loose piece of a scan smaller than this is a fragment and is dropped")
    most_faces: int = rule(20_000_000, "faces", "assumed: memory of a museum laptop", SHOP,
                           "the largest scan that is read")
