"""Rows of the post, its seat and its hole."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule


@dataclass(frozen=True, slots=True)
class PostRules:
    """Rod, seat and hole."""

    rod_system: str = rule("imperial", "", "assumed", SHOP, "which rods are offered: imperial, metric or both")
    rod_material: str = rule("C36000 / CZ121 / CW614N free-cutting brass", "", "common practice", SHOP,
                             "alloy of posts")
    stocked: tuple[str, ...] = rule(("3/32", "1/8", "5/32", "3/16", "1/4", "5/16"), "", "assumed", SHOP,
                                    "rods in stock, by their names in the rod table")
    stand_off_mm: float = rule(20.0, "mm", "assumed", SHOP, "face of the panel to the nearest point of the object")
    seat_depth_mm: float = rule(20.0, "mm", "common practice", SHOP, "how deep a post sits in the panel")
    blank_extra_mm: float = rule(30.0, "mm", "assumed", SHOP, "what a blank is longer than its post, for the mock-up")
    droop_mm: float = rule(0.5, "mm", "assumed: what an eye sees", SHOP,
                           "fall of the object's centre after years: seat, rod, hub and arms")
    slope_deg: float = rule(0.3, "deg", "assumed: what an eye sees", SHOP,
                            "nod of the object, play in the hole included")
    row_difference_mm: float = rule(0.5, "mm", "assumed: what an eye sees", SHOP,
                                    "by how much objects of one row may sink differently")
    roll_deg: float = rule(0.5, "deg", "assumed: what an eye sees", SHOP,
                           "turn of the object about its post by the winding up of rod and arms")
    least_frequency_Hz: float = rule(15.0, "Hz", "assumed: above footsteps and their harmonics", ENGINEER,
                                     "lowest frequency of an object on its post")
    resonance_low_ratio: float = rule(0.7, "", "common practice", ENGINEER,
                                      "object's frequency over its panel's from which they wake one another")
    resonance_high_ratio: float = rule(1.4, "", "common practice", ENGINEER,
                                       "object's frequency over its panel's up to which they wake one another")
    damping_ratio: float = rule(0.03, "", "common practice: 2-4 %", ENGINEER, "damping of an object on its post")
    strength_safety: float = rule(2.0, "", "assumed", ENGINEER, "yield over stress of a rod under weight and shake")
    torque_safety: float = rule(2.0, "", "assumed", ENGINEER,
                                "holding of a seat against turning and pulling out, over its demand")
    touch_N: float = rule(10.0, "N", "assumed", ENGINEER, "accidental touch at the object's outermost radius")
    bed_low_MPa: float = rule(2000.0, "MPa", "Vesic, from memory", ENGINEER, "stiffness of the seat's bed, soft end")
    bed_high_MPa: float = rule(4500.0, "MPa", "Vesic, from memory", ENGINEER, "stiffness of the seat's bed, hard end")
    drill_square_deg: float = rule(0.5, "deg", "assumed", SHOP, "how far out of square a hole may be drilled")
    soft_zone_mm: float = rule(0.0, "mm", "soft solder, from memory", SHOP,
                               "length of rod that the joint at the hub softens")
    soft_zone_silver_mm: float = rule(40.0, "mm", "silver solder 25-40 mm, from memory", SHOP,
                                      "length of rod that a silver-soldered joint would soften")
    push_in_look_N: float = rule(60.0, "N", "assumed", SHOP,
                                 "push of a post into its hole that a person should look at")
    push_in_stop_N: float = rule(100.0, "N", "assumed", SHOP, "push of a post into its hole that stops it")
    web_mm: float = rule(6.0, "mm", "common practice", ENGINEER,
                         "acrylic left behind a drill's point, and the least between two holes")
    drill_point_deg: float = rule(118.0, "deg", "acrylic fabrication manual: deep blind holes", SHOP,
                                  "point angle of the drills")
    drill_speed_low_m_per_min: float = rule(
        10.0, "m/min", "acrylic fabrication manual, from memory", SHOP, "cutting speed in acrylic, slow end")
    drill_speed_high_m_per_min: float = rule(
        60.0, "m/min", "acrylic fabrication manual, from memory", SHOP, "cutting speed in acrylic, fast end")
    drill_feed_low_mm_per_rev: float = rule(
        0.1, "mm/rev", "acrylic fabrication manual, from memory", SHOP, "feed in acrylic, slow end")
    drill_feed_high_mm_per_rev: float = rule(
        0.3, "mm/rev", "acrylic fabrication manual, from memory", SHOP, "feed in acrylic, fast end")
    deep_hole_diameters: float = rule(
        3.0, "d", "acrylic fabrication manual", SHOP, "blind holes deeper than this take the deep-hole point")
    shallow_point_deg: float = rule(
        90.0, "deg", "acrylic fabrication manual: shallow blind and through holes", SHOP,
        "point of bits for shallow holes")
    drill_rake_deg: float = rule(
        4.0, "deg", "acrylic fabrication manual: 0-4", SHOP, "most rake of a bit's lips in acrylic")
    drill_clearance_deg: float = rule(
        12.0, "deg", "acrylic fabrication manual: 12-15", SHOP, "least clearance behind a bit's lips in acrylic")
    extra_depth_mm: float = rule(1.5, "mm", "common practice: 1-2 mm, since a blind snug hole traps air", SHOP,
                                 "how much deeper a hole is than its seat")
    temperature_range_C: float = rule(20.0, "K", "assumed: lighting and seasons", ENGINEER,
                                      "warming and cooling that a seat goes through")
    wire_clear_mm: float = rule(3.0, "mm", "assumed: room for a cloth", SHOP,
                                "how far an arm behind the hub stays off the sheet")
    least_free_length_mm: float = rule(5.0, "mm", "assumed: the hub's fillet and a finger nail behind it", SHOP,
                                       "post left free between panel and hub")
    least_seat_diameters: float = rule(3.0, "d", "common practice", ENGINEER, "least depth of a seat")
    least_blind_diameters: float = rule(2.0, "d", "assumed", SHOP,
                                        "a sheet too thin for such a blind hole is drilled through")
    fit_share: float = rule(0.5, "", "assumed: the bearing has the rest", ENGINEER,
                            "share of the crazing limit that the fit alone may use")
    seat_friction_low: float = rule(
        0.20, "", "materials table: cast acrylic sheet (PMMA), friction_vs_brass_press_fit, low", ENGINEER,
        "friction of brass in acrylic that a seat holds by: wax or coolant left in the hole")
    seat_friction_high: float = rule(0.45, "",
                                     "materials table: cast acrylic sheet (PMMA), friction_vs_brass_press_fit, high",
                                     ENGINEER, "friction of brass in acrylic that a post is pushed in against")
    coupon_near_mm: float = rule(0.6, "mm", "assumed", SHOP, "a test hole further off than this belongs to another rod")
    mock_up_thickness_mm: float = rule(6.0, "mm", "assumed", SHOP, "thin sheet of a full-size mock-up")
    sheet_thickness_mm: float = rule(30.0, "mm", "assumed: nominal", SHOP,
                                     "thickness of the sheet where no panel is named")
    vent_flat_mm: float = rule(0.3, "mm", "assumed", SHOP, "flat filed along the seat so that air leaves a blind hole")
    web_diameters: float = rule(1.5, "d", "common practice", ENGINEER,
                                "the least between two holes, over the wider drill")
    dip_deg: float = rule(3.0, "deg", "common practice", SHOP,
                          "fall of a hole inwards that is proposed where a post could slide out")
    brackets_each_side: int = rule(1, "drills", "assumed", SHOP,
                                   "neighbours of a drill that are tried in an offcut, each way")
    next_drill_ratio: float = rule(1.05, "", "assumed: the next size of the catalogue", SHOP,
                                   "room left in the sheet for the wider drill that a coupon may pick")
    misread_mm: float = rule(0.6, "mm", "four times the widest limit of AND10387", SHOP,
                             "a rod or hole measured further off its name than this was written down wrong",
                             book_only=True)
    shim_lines_mm: tuple[float, ...] = rule(
        (0.08, 0.10, 0.12, 0.14, 0.16, 0.18, 0.20, 0.23, 0.25, 0.28, 0.30, 0.35, 0.40), "mm",
        "common sizes of the tackle shop, from memory", SHOP, "nylon lines that fill a loose hole")
    spot_shear_MPa: float = rule(1.0, "MPa", "assumed: the conservator names the resin", CONSERVATOR,
                                 "shear that a reversible acrylic-resin spot is trusted with")
    flat_share: float = rule(0.6, "of the diameter", "common practice", SHOP, "width of a flat filed on a post")
    second_pin_diameters: float = rule(3.0, "d", "common practice: holes stand three diameters apart", SHOP,
                                       "centre distance of a second pin")
