"""Rows of holds: friction, gates, tips, pads, arms, wire, hub, and what a hold is ranked by."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule


@dataclass(frozen=True, slots=True)
class HoldRules:
    """The gates and the search."""

    friction_low: float = rule(0.15, "", "assumed: any pad on glaze, dusty", CONSERVATOR,
                               "friction at which the low-friction gate judges every hold")
    margin_g: float = rule(0.35, "g", "assumed: handling and footfall, no seismic demand", ENGINEER,
                           "shake that a hold must stand at its pads' friction where the case states no site")
    margin_low_friction_g: float = rule(0.20, "g", "assumed", ENGINEER,
                                        "shake that a hold must stand at low friction with its centre of mass off")
    target_margin_g: float = rule(0.60, "g", "trial: aiming higher survives misplaced tips", SHOP,
                                  "shake that the search for tips aims at")
    shape_g: float = rule(0.20, "g", "trial: then preload need only keep the tips touching", ENGINEER,
                          "shake that shape alone, without friction, stands in a hold that counts as held by shape")
    friction_worn: float = rule(0.10, "", "assumed: lacquered wire", CONSERVATOR,
                                "friction of one tip whose pad has worn through")
    tilt_deg: float = rule(5.0, "deg", "assumed: how true a mount hangs", SHOP,
                           "gate 1: how far the object may be tilted any way and still be carried from below")
    torque_arm_mm: float = rule(5.0, "mm", "assumed", SHOP,
                                "gate 3: least arm at which the weight may turn the object about any axis")
    torque_diagonal_share: float = rule(0.03, "of the diagonal", "assumed", SHOP,
                                        "gate 3: the same arm for large objects")
    preload_relaxed_ratio: float = rule(0.10, "of the weight", "trial", SHOP,
                                        "gate 4: friction reserve of every tip after the wires have relaxed")
    preload_set_ratio: float = rule(0.20, "of the weight", "trial", SHOP,
                                    "gate 4: friction reserve of every tip as set")
    pressed_ratio: float = rule(0.03, "of the weight",
                                "trial: a tip pressed with 0.2 W that takes the whole low-friction shake keeps 0.03 W",
                                SHOP, "gate 4 for a hold by shape: friction reserve that keeps its tips from lifting")
    pressed_s10: float = rule(0.02, "of the weight", "trial: two thirds of pressed_ratio", SHOP,
                              "gate 5 for a hold by shape: the same reserve however its pads sit")
    shaped_ratio: float = rule(0.10, "of the weight", "trial: at 0.06 more fell", SHOP,
                               "reserve to which a hold by shape is sprung, where its limits allow")
    relaxation_ratio: float = rule(0.5, "", "assumed", SHOP, "share of the preload that is left after years")
    bend_error_mm: float = rule(0.5, "mm", "assumed", SHOP, "error of an arm bent to the drawing")
    fitting_mm: float = rule(0.1, "mm", "common practice: the tip just holds a slip of office paper", SHOP,
                             "error of a tip that was bent on the object itself")
    s10: float = rule(0.05, "of the weight", "trial", SHOP,
                      "gate 5: friction reserve in the worst tenth of the ways its pads may sit")
    s10_preferred: float = rule(0.08, "of the weight", "trial", SHOP,
                                "gate 5: reserve above which a hold is not called sensitive to how its pads sit")
    redraws: int = rule(24, "", "trial", SHOP, "gate 5: how many ways the pads are made to sit")
    shake_friction_ratio: float = rule(0.7, "", "trial: tells sets that fell in a physics engine from others", ENGINEER,
                                       "gate 8: share of the pads' friction that the contact solve counts on")
    shake_stop_ratio: float = rule(0.86, "of the case's shake", "trial: 0.30 g where a physics engine shook by 0.25 g",
                                   ENGINEER, "gate 8: shake in the contact solve below which a hold is refused")
    shake_look_ratio: float = rule(1.14, "of the case's shake", "trial: 0.40 g, likewise", ENGINEER,
                                   "gate 8: shake in the contact solve below which a hold is looked at")
    shake_shift_mm: float = rule(2.0, "mm", "trial", SHOP, "gate 8: shift by which an object has left its place")
    shake_turn_deg: float = rule(3.0, "deg", "trial", SHOP, "gate 8: turn by which an object has left its place")
    shake_settle_ratio: float = rule(1.5, "of that shift and turn", "trial: 3 mm, as the physics engine allows", SHOP,
                                     "gate 8: what an object may move while its mount is sprung on")
    shake_redraws: int = rule(8, "", "trial: 17 tell no more", SHOP, "gate 8: how many ways the pads are made to sit")
    pad_press_N_per_mm: float = rule(5.0, "N/mm",
                                     "trial: as soft as the physics engine's own contacts; 20 changes the order of "
                                     "holds hardly", SHOP, "gate 8: stiffness of a pad, pressed and sheared")
    rocking_deg: float = rule(0.6, "deg", "trial: against a physics engine", SHOP,
                              "most that the object may turn on its sprung tips under the low-friction shake")
    spring_give_mm: float = rule(0.25, "mm", "trial", SHOP, "gate 7: what a tip may move while it takes up a shake")
    sprung_margin_g: float = rule(0.25, "g", "trial: of 40 sets below it 7 fell in a physics engine, of 208 above it 3",
                                  SHOP, "gate 7: shake that the springs alone should stand")
    sprung_least_g: float = rule(0.10, "g", "trial", SHOP, "gate 7: shake that the springs alone must stand")
    tip_spring_N_per_mm: float = rule(2.0, "N/mm", "trial", SHOP,
                                      "stiffness of a bent wire at its tip, before it is sized")
    most_tips: int = rule(5, "tips", "common practice: more is a cage; a cradle or saddle is made by eye", SHOP,
                          "most tips of one mount")
    wrap_mm: float = rule(3.0, "mm", "assumed", CONSERVATOR, "most that a tip reaches round a visible edge")
    wrap_share: float = rule(0.06, "of the smaller visible extent", "assumed", CONSERVATOR,
                             "most that a tip reaches round a visible edge of a small object")
    pad_radius_mm: float = rule(2.0, "mm", "assumed", SHOP, "radius of a usual pad")
    pad_radius_share: float = rule(0.03, "of the diagonal", "assumed", SHOP, "radius of a small object's pads")
    shelf_radius_mm: float = rule(3.0, "mm", "a pad for 10 N at 0.5 MPa", SHOP, "radius of a shelf under a flat base")
    shelf_normals_deg: float = rule(8.0, "deg", "assumed", CONSERVATOR, "most that the surface may turn over a shelf")
    pad_normals_deg: float = rule(25.0, "deg", "assumed", CONSERVATOR, "most that the surface may turn under one pad")
    bearing_pressure_MPa: float = rule(0.5, "MPa", "assumed until a conservator confirms it", CONSERVATOR,
                                       "most pressure under a pad")
    bearing_limit_N: float = rule(10.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                  "force on a bearing tip of sound, known material")
    bearing_limit_unknown_N: float = rule(5.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                          "force on a bearing tip where material or wall is unknown, or the wall thin")
    retaining_thick_N: float = rule(5.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                    "force on a retaining tip on sound stone or metal, or on a thick wall")
    retaining_middle_N: float = rule(2.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                     "force on a retaining tip on a wall between thin and thick")
    retaining_thin_N: float = rule(1.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                   "force on a retaining tip on a thin wall")
    retaining_unknown_N: float = rule(1.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                      "force on a retaining tip where the material is unknown, or the wall of one "
                                      "judged by its wall")
    retaining_lamed_N: float = rule(0.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                    "force on a retaining tip on what is flaking, gilded, repaired, cracked or fragile")
    thin_wall_mm: float = rule(2.0, "mm", "assumed until a conservator confirms it", CONSERVATOR,
                               "a wall below this is thin")
    thick_wall_mm: float = rule(4.0, "mm", "assumed until a conservator confirms it", CONSERVATOR,
                                "a wall above this is thick")
    tool_room_mm: float = rule(15.0, "mm", "assumed", SHOP, "room behind the object for the tools that bend its arms")
    covered_share: float = rule(0.05, "of the front", "assumed", SHOP,
                                "most of the object's front that its mount hides")
    beside_share: float = rule(0.05, "of the front", "assumed", SHOP,
                               "most that is seen of the mount next to the object, over the object's front")
    # Families of mounts
    lip_pad_radius_mm: float = rule(1.2, "mm", "assumed: with an edge's rounding it just fits the reach", CONSERVATOR,
                                    "radius of the pad on a lip that shows")
    likely_wire_mm: float = rule(1.6, "mm", "assumed: 14 ga", SHOP,
                                 "wire that clearances are kept for before one is chosen")
    base_rise_mm: float = rule(3.0, "mm", "assumed", SHOP,
                               "what stands higher than this over the lowest point is no longer the base")
    sturdy_least_ratio: float = rule(0.4, "", "trial: ears, tails, lugs and teeth of combs lie below", CONSERVATOR,
                                     "thickness over the object's usual one below which nothing touches it")
    sturdy_foot_ratio: float = rule(0.2, "", "assumed: what stands on legs is pressed along them", CONSERVATOR,
                                    "the same for lipped feet under what it stands on")
    solid_g_cm3: float = rule(1.2, "g/cm3", "assumed: a full bottle has 1.0", CONSERVATOR,
                              "weighed mass over scanned volume above which an object counts as solid as scanned")
    solid_wall_mm: float = rule(8.0, "mm", "assumed", CONSERVATOR,
                                "thickness of a solid object, at a place, above which it counts as thick there")
    retaining_solid_N: float = rule(2.0, "N", "assumed until a conservator confirms it", CONSERVATOR,
                                    "force on a retaining tip where a solid object of unknown material is thick")
    saddle_lips_mm: tuple[float, ...] = rule((2.6, 3.6, 4.8, 6.0), "mm", "trial", CONSERVATOR,
                                             "how high a saddle's lip may bear in front, tried in turn")
    line_wide_mm: float = rule(2.0, "mm", "trial", SHOP, "what a padded wire bears on across its own length")
    thin_edge_mm: float = rule(8.0, "mm", "assumed", SHOP,
                               "a wire across an edge thinner than this touches along a line")
    alike_ratio: float = rule(0.06, "of the diagonal", "trial", SHOP,
                              "a mount whose left and right are further from alike is lopsided")
    merit_suits: float = rule(3.0, "", "assumed", SHOP, "merit within an attitude: how well the family suits")
    merit_margin: float = rule(1.0, "", "assumed", SHOP, "merit within an attitude: shake withstood")
    merit_hidden: float = rule(1.5, "", "assumed", SHOP, "merit within an attitude: how little of it shows")
    merit_alike: float = rule(2.0, "", "assumed", SHOP, "merit within an attitude: left and right alike")
    merit_sturdy: float = rule(1.5, "", "assumed", SHOP, "merit within an attitude: how sturdy the places are")
    merit_simple: float = rule(0.5, "", "assumed", SHOP, "merit within an attitude: how few wires it has")
    merit_wire: float = rule(1.5, "", "assumed", SHOP, "merit within an attitude: no wire thicker than hands bend")
    merit_sound: float = rule(1.5, "", "assumed", SHOP, "merit within an attitude: nothing about it wants a look")
    shows_little_share: float = rule(0.02, "of the front", "assumed", SHOP,
                                     "a sound mount that shows no more is taken at once")
    shown_most_ratio: float = rule(2.5, "", "assumed", SHOP,
                                   "times the limit of what shows, up to which a mount is still offered to who asked "
                                   "for its angle")
    # Mount: hub, arms, wire
    arm_clear_mm: float = rule(1.0, "mm", "assumed: the error of bending by hand", CONSERVATOR,
                               "wire surface to object, away from the pad")
    arm_gap_mm: float = rule(1.5, "mm", "assumed", SHOP, "between two arms' surfaces")
    wire_alloy: str = rule("C26000 / CW505L cartridge brass", "",
                           "common practice: it bends cold, free-cutting brass cracks", SHOP, "alloy of the arms")
    wire_gauges: tuple[str, ...] = rule(("20 ga", "18 ga", "16 ga", "14 ga", "12 ga"), "", "assumed", SHOP,
                                        "wires in stock, by their names in the rod table")
    wire_thickest_mm: float = rule(2.1, "mm", "common practice", SHOP, "beyond this an arm gets a brace first")
    stem_rods: tuple[str, ...] = rule(("3/32", "1/8"), "", "assumed: rod of bendable brass", SHOP,
                                      "rods bent as arms of a heavy object where braced wire would yield")
    bend_radius_diameters: float = rule(1.5, "d", "common practice: 1 to 1.5 d", SHOP,
                                        "inside radius of a bend, over the wire's diameter")
    bend_least_diameters: float = rule(1.0, "d", "common practice for cold brass wire", SHOP,
                                       "sharpest inside radius of a bend, over the wire's diameter")
    bend_annealed_diameters: float = rule(0.5, "d", "common practice", SHOP,
                                          "sharpest inside radius of a hook bent in a softened end")
    most_bends: int = rule(5, "bends", "assumed: what one still bends true by hand", SHOP, "most bends of one arm")
    wire_safety: float = rule(1.5, "", "assumed", ENGINEER, "yield over stress of an arm with the load of a shake")
    shake_factor: float = rule(2.0, "", "assumed until a conservator confirms it", CONSERVATOR,
                               "what a tip may press for the moment of a shake, over what it may press for years")
    bearing_sag_mm: float = rule(1.1, "mm", "what a mass of 15 Hz gives under its own weight: g / (2 pi f)^2", SHOP,
                                 "sag of a tip that carries weight, under its force")
    arm_stiffness_least_N_per_mm: float = rule(0.2, "N/mm", "assumed: keeps its shape in the hand", SHOP,
                                               "stiffness of an arm at its tip, along the tip's normal")
    arm_frequency_Hz: float = rule(10.0, "Hz", "assumed", SHOP, "lowest frequency of the object on one arm alone")
    mount_frequency_Hz: float = rule(8.0, "Hz", "assumed", SHOP,
                                     "lowest mode of the object on its arms, the hub held fast")
    spring_travel_mm: float = rule(4.0, "mm", "trial: 1-4 mm", SHOP, "most travel of a retaining tip under its preload")
    most_sag: float = rule(3.0, "", "assumed", SHOP,
                           "a tip that gives more than so many times its limit makes no mount")
    longest_arm: float = rule(1.2, "of the diagonal", "assumed", SHOP, "longest arm")
    lap_diameters: float = rule(3.0, "d", "common practice", SHOP, "soldered overlap, over the wire's diameter")
    weight_seen: float = rule(3.0, "", "assumed", SHOP, "ranking: share of the surface seen")
    weight_natural: float = rule(12.0, "", "assumed: a straight view is not outweighed by margins", SHOP,
                                 "ranking: how natural the attitude is")
    weight_sound: float = rule(4.0, "", "assumed", SHOP, "ranking: no check says look or stop")
    weight_margin: float = rule(1.5, "", "assumed", SHOP, "ranking: margin against shake")
    weight_hidden: float = rule(2.0, "", "assumed", SHOP, "ranking: how little of the mount shows")
    weight_depth: float = rule(0.5, "", "assumed", SHOP, "ranking: how near to the panel it stands")
    weight_force: float = rule(1.0, "", "assumed", SHOP, "ranking: how gently the tips press")
    weight_tips: float = rule(0.5, "", "assumed", SHOP, "ranking: how few tips it has")

    @property
    def preload_ratio(self) -> float:
        """Gate 4: s/W to be set, so that enough is left after relaxation too."""
        return max(self.preload_set_ratio, self.preload_relaxed_ratio / self.relaxation_ratio)
