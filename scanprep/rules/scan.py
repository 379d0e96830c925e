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
                                 "a separate piece of a scan smaller than this is a fragment and is dropped")
    most_faces: int = rule(20_000_000, "faces", "assumed: memory of a museum laptop", SHOP,
                           "the largest scan that is read")
    unit_only_error_ratio: float = rule(0.01, "", "assumed: boxes of real scans are 1-5 % off their published sizes",
                                        SHOP, "error of scale where a unit is stated and no size known")
    tape_mm: float = rule(0.5, "mm", "assumed: ruler or calipers on a rounded object", SHOP, "error of a known size")
    least_scale_error_ratio: float = rule(0.002, "", "assumed", SHOP, "no scale is known better than this")
    hopeless_ratio: float = rule(3.0, "", "assumed", SHOP,
                                 "times beyond the plausible sizes at which the unit must be wrong")
    doubtful_cap_share: float = rule(0.05, "of the area", "assumed", SHOP,
                                     "closed holes beyond this make a mesh doubtful")
    doubtful_slice_share: float = rule(0.02, "of the volume", "the bound asked of damaged scans", SHOP,
                                       "a slice missing underneath beyond this makes a mesh doubtful")
    doubtful_crossed_share: float = rule(
        0.02, "of the volume", "the bound asked of damaged scans, as for a missing slice", SHOP,
        "volume counted wrongly where the skin crosses itself, beyond which a mesh is doubtful")
