"""Rows of a whole case: room between things, heights, lists, and what a first arrangement weighs."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule

_GUIDELINES = "Glasgow Museums Display Guidelines: cased displays"


@dataclass(frozen=True, slots=True)
class CaseRules:
    """Arrangement and checks between objects."""

    object_gap_mm: float = rule(15.0, "mm", "assumed: fingers of one hand", SHOP,
                                "clearance between two objects, in space")
    outline_gap_mm: float = rule(10.0, "mm", "assumed", SHOP, "clearance between two objects' outlines on a face")
    edge_gap_mm: float = rule(20.0, "mm", "assumed", SHOP, "outline of an object to the panel's edge")
    hand_room_mm: float = rule(60.0, "mm", "assumed", SHOP, "room that a hand needs to hang an object")
    hand_depth_mm: float = rule(150.0, "mm", "assumed", SHOP, "how far a hand reaches in from the front")
    withdraw_clear_mm: float = rule(3.0, "mm", "assumed", SHOP, "clearance round an object on its way in or out")
    saw_kerf_mm: float = rule(1.0, "mm", "assumed", SHOP, "what a saw cut takes off a rod")
    bar_length_mm: float = rule(914.4, "mm", "36 in rod: common stock, from memory", SHOP,
                                "length that rod is bought in")
    comfortable_low_mm: float = rule(750.0, "mm", _GUIDELINES, SHOP, "lowest height that is seen in comfort")
    comfortable_high_mm: float = rule(2000.0, "mm", _GUIDELINES, SHOP, "greatest height that is seen in comfort")
    fine_detail_high_mm: float = rule(1015.0, "mm", _GUIDELINES, SHOP,
                                      "greatest height at which fine detail is seen from a chair")
    reach_mm: float = rule(1900.0, "mm", "assumed", SHOP, "height that a standing installer reaches")
    same_row_mm: float = rule(20.0, "mm", "assumed: what an eye reads as one line", SHOP,
                              "heights that differ by no more are one row of a face")
    full_face_share: float = rule(0.35, "of a face", "assumed", SHOP,
                                  "a group that alone would fill more than this is split over faces")
    speck_mm2: float = rule(2.0, "mm2", "assumed", SHOP, "post or hub seen in front of another object: less is a speck")
    unnoted_drill_mm: float = rule(4.7625, "mm", "assumed: the hole of the usual 3/16 in post", SHOP,
                                   "width of a hole on record whose drill nobody noted")
    off_place_mm: float = rule(0.5, "mm", "assumed", SHOP,
                               "how far a drilled hole may lie next to where the finished mount needs it")
    snug_check_days: int = rule(396, "days", "assumed: once a year, with a month's grace", CONSERVATOR,
                                "time after which a post is to be checked for snugness again")
    most_openings: int = rule(5, "openings", "assumed: brass work-hardens", CONSERVATOR,
                              "openings of a wire after which it is looked at under a glass")
    far_off_mm: float = rule(20.0, "mm", "common practice: a finished post is 1-3 mm off its plan", SHOP,
                             "a finished post further off its plan is mostly a slip of the unit, and asks for a reason",
                             book_only=True)
    most_thicker_mm: float = rule(1.0, "mm", "assumed: cast sheet varies", SHOP,
                                  "how much thicker a sheet may be at a hole than where it was measured",
                                  book_only=True)
    same_length_mm: float = rule(0.3, "mm", "common practice: what a hacksaw, a file and a depth stop leave", SHOP,
                                 "lengths of what is made and what is planned that differ by no more are the same")
    same_diameter_mm: float = rule(0.01, "mm", "common practice: one rod read with a micrometer by two people", SHOP,
                                   "diameters of what is made and what is planned that differ by no more are the same")
    reading_mm: float = rule(0.005, "mm", "common practice: a micrometer's last digit, each way", SHOP,
                             "what a rod or hole read once is known to", book_only=True)
    same_angle_deg: float = rule(0.5, "deg", "assumed: finer than a mount is bent", SHOP,
                                 "a hold whose angles differ by less in all is the one that was chosen",
                                 book_only=True)
    print_off_share: float = rule(0.02, "of the length", "assumed: printers are true to 1 %", SHOP,
                                  "how far a bar of a print may be off and still be corrected: beyond it was scaled",
                                  book_only=True)
    same_place_mm: float = rule(0.05, "mm", "common practice: finer than a scriber's line", SHOP,
                                "a move that is shorter is none", book_only=True)
    same_hold_mm: float = rule(0.05, "mm", "common practice: finer than a scriber's line", SHOP,
                               "two holds with nothing further apart are one", book_only=True)
    same_mass_share: float = rule(0.002, "of the mass", "assumed: finer than a bench scale reads", SHOP,
                                  "a mass that grew by no more is the same mass", book_only=True)
    most_stand_off_mm: float = rule(150.0, "mm", "assumed: a post longer than this is a slip of the unit", SHOP,
                                    "greatest stand-off that may be said of one object", book_only=True)
    most_marks: int = rule(400, "marks", "assumed: what a brush paints in a sitting", CONSERVATOR,
                           "no-touch marks of one object", book_only=True)
    most_mark_mm: float = rule(200.0, "mm", "assumed: larger than the objects that this tool is for", CONSERVATOR,
                               "radius of one painted no-touch mark", book_only=True)
    least_sheet_mm: float = rule(8.0, "mm", "assumed: a seat of two rod diameters and the web behind it", SHOP,
                                 "a panel thinner than this takes no post; mostly a slip of the unit")
    most_sheet_mm: float = rule(150.0, "mm", "common practice: cast acrylic is stocked to about 100 mm", SHOP,
                                "a panel thicker than this is mostly a slip of the unit")
    least_panel_mm: float = rule(150.0, "mm", "assumed: one object and its edges", SHOP,
                                 "a panel side shorter than this is mostly a slip of the unit")
    most_panel_mm: float = rule(4000.0, "mm", "common practice: sheets come in 2 x 3 m, longer ones to order", SHOP,
                                "a panel side longer than this is mostly a slip of the unit")
    most_floor_mm: float = rule(3000.0, "mm", "assumed: a room's height", SHOP,
                                "a panel's foot further from the visitors' floor is mostly a slip of the unit")
    least_eye_mm: float = rule(700.0, "mm", "assumed: a small child; a seated adult's are at 1205", SHOP,
                               "eyes lower than this are mostly a slip of the unit")
    most_eye_mm: float = rule(2100.0, "mm", "assumed: the tallest visitors", SHOP,
                              "eyes higher than this are mostly a slip of the unit")
    most_shake_g: float = rule(5.0, "g", "assumed: S_DS of mapped sites stays below 3 g, amplified ones below 5",
                               ENGINEER, "a site that shakes harder is mostly a slip (m/s2 for g)")
    weight_band: float = rule(3.0, "", "assumed", SHOP, "arrangement: objects outside the heights seen in comfort")
    weight_groups: float = rule(2.0, "", "assumed", SHOP, "arrangement: groups torn apart")
    weight_heavy_low: float = rule(1.0, "", "assumed", SHOP, "arrangement: heavy objects high up")
    weight_even_gaps: float = rule(1.0, "", "assumed", SHOP, "arrangement: uneven gaps")
    weight_order: float = rule(1.0, "", "assumed", SHOP, "arrangement: objects out of the checklist's order")
    weight_balance: float = rule(1.0, "", "assumed", SHOP, "arrangement: a lopsided face")
