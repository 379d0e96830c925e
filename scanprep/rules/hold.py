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
    shaped_ratio: float = rule(0.10, "of the weight", "trial: at 0.06 more fell", SHOP,
                               "reserve to which a hold by shape is sprung, where its limits allow")
    relaxation_ratio: float = rule(0.5, "", "assumed", SHOP, "share of the preload that is left after years")
    bend_error_mm: float = rule(0.5, "mm", "assumed", SHOP, "error of an arm bent to the drawing")
    fitting_mm: float = rule(0.1, "mm", "common practice: the tip just holds a slip of office paper", SHOP,
                             "error of a tip that was bent on the object itself")
    shake_friction_ratio: float = rule(0.7, "", "trial: parts sets that fell in a physics engine from others", ENGINEER,
                                       "gate 5: share of the pads' friction that the contact solve counts on")
    shake_stop_ratio: float = rule(0.86, "of the case's shake", "trial: 0.30 g where a physics engine shook by 0.25 g",
                                   ENGINEER, "gate 5: shake in the contact solve below which a hold is refused")
    shake_look_ratio: float = rule(1.14, "of the case's shake", "trial: 0.40 g, likewise", ENGINEER,
                                   "gate 5: shake in the contact solve below which a hold is looked at")
    shake_shift_mm: float = rule(2.0, "mm", "trial", SHOP, "gate 5: shift by which an object has left its place")
    shake_turn_deg: float = rule(3.0, "deg", "trial", SHOP, "gate 5: turn by which an object has left its place")
    shake_settle_ratio: float = rule(1.5, "of that shift and turn", "trial: 3 mm, as the physics engine allows", SHOP,
                                     "gate 5: what an object may move while its mount is sprung on")
    shake_redraws: int = rule(8, "", "trial: 17 show no more", SHOP, "gate 5: how many ways the pads are made to sit")
    pad_press_N_per_mm: float = rule(5.0, "N/mm",
                                     "trial: as soft as the physics engine's own contacts; 20 changes the order of "
                                     "holds hardly", SHOP, "gate 5: stiffness of a pad, pressed and sheared")
    rocking_deg: float = rule(0.6, "deg", "trial: against a physics engine", SHOP,
                              "search for tips: most that the object may turn on its sprung tips under the "
                              "low-friction shake")
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
    sturdy_foot_ratio: float = rule(0.12, "", "assumed: what stands on legs is pressed along them", CONSERVATOR,
                                    "the same for lipped feet under what it stands on")
    limb_ball_ratio: float = rule(0.35, "of the largest ball that fits into the object", "trial", CONSERVATOR,
                                  "ball that passes into no limb: ears, wings, handles, stems are more slender")
    limb_volume_share: float = rule(0.10, "of the object", "assumed", CONSERVATOR,
                                    "volume above which a slender part is no limb but much of the object: a blade")
    limb_extent_share: float = rule(0.40, "of the diagonal", "assumed", CONSERVATOR,
                                    "length above which a slender part is no limb: a tool's handle")
    limbs_most_share: float = rule(0.5, "of the object", "assumed", CONSERVATOR,
                                   "share of limbs above which there is no body to prefer to them")
    limb_sturdy_ratio: float = rule(0.3, "", "assumed: below what may be touched, above what may be stood on",
                                    CONSERVATOR, "how sturdy a limb counts, as thickness over the usual one, at most")
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
    suits_alike: float = rule(0.3, "", "assumed", SHOP,
                              "families that suit an object less than the best of them by no more are all tried")
    alike_ratio: float = rule(0.06, "of the diagonal", "trial", SHOP,
                              "a mount whose left and right are further from alike is lopsided")
    merit_suits: float = rule(4.0, "", "assumed", SHOP, "merit within an attitude: how well the family suits")
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
    lap_most_diameters: float = rule(8.0, "d", "assumed: beyond that a joint is silver-soldered, or another arm shares "
                                     "its load", SHOP, "longest soldered overlap for a joint that needs it")
    # Tips: where they may sit, and how dear a place is
    pad_least_radius_mm: float = rule(0.8, "mm", "assumed: a bare 1.6 mm wire in shrink tube", CONSERVATOR,
                                      "least radius of any pad", book_only=True)
    pad_relief_mm: float = rule(0.25, "mm", "assumed: what a pad 0.8 mm thick takes up", CONSERVATOR,
                                "relief of the surface under a pad that the pad takes up", book_only=True)
    pad_relief_share: float = rule(0.15, "of the pad's radius", "assumed", CONSERVATOR,
                                   "the same, in addition, for the curve of the surface over a pad's whole width",
                                   book_only=True)
    approach_mm: float = rule(5.0, "mm", "assumed: pad, wire and a little", SHOP,
                              "free room straight outwards from a tip", book_only=True)
    bears_rise_cos: float = rule(0.5, "", "assumed: a rise of 30 deg", ENGINEER,
                                 "cosine between upright and a tip's inward normal from which the tip counts as "
                                 "carrying", book_only=True)
    pad_bears_share: float = rule(0.5, "of the pad's radius",
                                  "assumed: an even pad allows 1/4 before it lifts at the far side, a soft one more",
                                  ENGINEER, "how far from a pad's middle its pressure may centre", book_only=True)
    pads_apart_mm: float = rule(1.0, "mm", "assumed", SHOP, "least between the pads of two tips", book_only=True)
    least_tips: int = rule(3, "tips", "common practice: two tips pinch an object; nobody would believe that mount",
                           SHOP, "fewest tips of a set that the search proposes", book_only=True)
    edge_rounding_mm: float = rule(0.5, "mm", "assumed", CONSERVATOR,
                                   "rounding of an edge that a lip must pass before its pad begins", book_only=True)
    faces_viewer_cos: float = rule(0.2, "", "assumed: 12 deg", SHOP,
                                   "cosine between a face's outward normal and the viewer's way beyond which the face "
                                   "is seen", book_only=True)
    wire_centre_mm: float = rule(1.6, "mm", "assumed: pad and half a wire", SHOP,
                                 "wire's centre off the surface, where a place for a tip is sought", book_only=True)
    lip_span_mm: float = rule(9.0, "mm", "assumed: what one bend of a 1.5-2 mm wire takes", SHOP,
                              "most from a lipped tip's seat to its lip", book_only=True)
    lip_seat_cos: float = rule(0.64, "", "assumed: 50-130 deg", SHOP,
                               "cosine of the angle between a lip and its seat, either way from square, up to which "
                               "they make one tip", book_only=True)
    wall_room_mm: float = rule(3.0, "mm", "assumed: pad and wire", SHOP, "free room outside a jaw or lip",
                               book_only=True)
    fork_open_mm: float = rule(12.0, "mm", "assumed", SHOP, "widest section that a wire fork straddles", book_only=True)
    fork_depths_mm: tuple[float, ...] = rule((0.75, 1.5, 2.2, 3.2), "mm", "assumed", CONSERVATOR,
                                             "how far in from an edge a fork's jaws may press, tried in turn",
                                             book_only=True)
    fork_thin_mm: float = rule(4.0, "mm", "assumed", CONSERVATOR,
                               "section thinner than which a fork's jaws lie along it as a line, and need not be flat "
                               "across it", book_only=True)
    jaw_facing_cos: float = rule(0.766, "", "assumed: 40 deg", CONSERVATOR,
                                 "cosine between the normals of two jaws, the other turned round, beyond which they "
                                 "face each other", book_only=True)
    reach_length_cost: float = rule(0.3, "", "assumed", SHOP,
                                    "search: price of an arm as long as half the object's larger extent",
                                    book_only=True)
    reach_beside_cost: float = rule(2.0, "", "assumed", SHOP,
                                    "search: price of such a length that runs next to the object, in view",
                                    book_only=True)
    reach_shown_cost: float = rule(2.0, "", "assumed", SHOP,
                                   "search: price of a tip that alone takes all that may be seen of the mount",
                                   book_only=True)
    reach_small_share: float = rule(0.4, "of all that may be seen", "trial", SHOP,
                                    "search: where no tip shows more than this the object is large, and showing costs "
                                    "nothing", book_only=True)
    reach_wire_mm: float = rule(1.0, "mm", "assumed: about the thinnest wire", SHOP,
                                "search: wire for which it is judged what shows of a tip", book_only=True)
    hook_cost: float = rule(0.6, "", "assumed: a hook's bends want thin wire, a heavy object thick wire", SHOP,
                            "search: price of a hooked tip under a heavy object", book_only=True)
    hook_heavy_N: tuple[float, ...] = rule((4.0, 6.0), "N", "assumed: on plain pads", SHOP,
                                           "weights from which hooked tips cost something, and all of that price",
                                           book_only=True)
    # Attitudes
    three_quarter_deg: float = rule(35.0, "deg", "common practice: 30-45 deg", SHOP, "turn of the three-quarter view",
                                    book_only=True)
    lean_back_deg: float = rule(10.0, "deg", "assumed", SHOP, "how far an object that leans back leans", book_only=True)
    lean_forward_deg: float = rule(12.0, "deg", "assumed", SHOP, "how far an object that leans forward leans",
                                   book_only=True)
    choice_natural: float = rule(0.75, "", "assumed", SHOP,
                                 "how natural an attitude is that only a person can choose, from 0 to 1",
                                 book_only=True)
    ball_size_ratio: float = rule(1.05, "", "assumed: a cube has 1.24 times the skin", SHOP,
                                  "how far a ball may be from round, in its extents and in its skin", book_only=True)
    ball_inertia_ratio: float = rule(1.06, "", "assumed", ENGINEER,
                                     "greatest over least principal inertia up to which an object may turn as a ball "
                                     "does", book_only=True)
    merit_named: float = rule(0.05, "", "assumed", SHOP,
                              "ranking: gain in merit below which a reason is not worth naming", book_only=True)
    # Shapes of families
    stands_least_deg: float = rule(10.0, "deg", "assumed: product standards test stability on a slope of 10 deg", SHOP,
                                   "tilt that topples it, from which an object stands by itself and is borne on its "
                                   "base", book_only=True)
    stood_suits_ratio: float = rule(0.6, "", "assumed", SHOP,
                                    "how much less well claws, spines and clips suit what stands by itself",
                                    book_only=True)
    round_least_ratio: float = rule(0.55, "", "assumed", SHOP,
                                    "width over depth, and height over width, from which an object counts as round",
                                    book_only=True)
    saddle_level_ratio: float = rule(1.8, "", "assumed", SHOP,
                                     "length over height from which a lying object may have saddles", book_only=True)
    saddle_upright_ratio: float = rule(1.8, "", "assumed", SHOP,
                                       "height over width from which a standing object may have clips up its length",
                                       book_only=True)
    claw_wire_mm: float = rule(1.03, "mm", "common practice: 18 ga", SHOP,
                               "thinnest wire of which a family bends its ends", book_only=True)
    claw_steep_cos: float = rule(0.5, "", "assumed: it carries without friction", ENGINEER,
                                 "how squarely the edge over a low claw looks down at least, as a cosine",
                                 book_only=True)
    hook_down_cos: float = rule(0.6, "", "assumed", SHOP,
                                "how squarely the upper edge of an opening looks down on its hook at least, as a "
                                "cosine", book_only=True)
    lip_lean_cos: float = rule(0.35, "", "assumed: leaning less, by 20 deg, it keeps nothing", CONSERVATOR,
                               "how far a lip leans towards the viewer at least, as a cosine", book_only=True)
    foot_lips_mm: tuple[float, ...] = rule((1.9, 2.6, 3.4, 4.6, 6.0), "mm", "assumed", CONSERVATOR,
                                           "how high a lip may bear in front of a foot, tried in turn", book_only=True)
    clip_lean_deg: float = rule(14.0, "deg", "assumed", SHOP,
                                "how far the ends of a clip look at the viewer: they wrap past the widest place by so "
                                "much", book_only=True)
    clip_waist_ratio: float = rule(0.92, "", "assumed", SHOP,
                                   "waist or neck over what is above it up to which a clip there keeps the object down "
                                   "too", book_only=True)
    cradle_round_ratio: float = rule(0.75, "", "assumed: straight feet stand askew under a round foot", SHOP,
                                     "how well a cradle of two feet suits a round foot that a ring would take",
                                     book_only=True)
    cradle_rocking_ratio: float = rule(0.8, "", "assumed", SHOP,
                                       "how well a cradle suits what does not stand by itself", book_only=True)
    keep_suits_ratios: tuple[float, ...] = rule((1.0, 0.98, 0.94, 0.92, 0.88, 0.88), "",
                                                "assumed: a clip in a neck shows least and keeps most", SHOP,
                                                "how well they suit: a clip in a neck, round the body; claws "
                                                "above, over the top, low; nothing", book_only=True)
    clip_aside_ratio: float = rule(0.3, "of the width", "assumed", SHOP,
                                   "a clip round what is narrower than this, and further off the centre of mass, would "
                                   "hold a limb", book_only=True)
    clip_slender_ratio: float = rule(0.12, "of the width", "assumed", SHOP,
                                     "a clip goes round nothing narrower than this", book_only=True)
    body_ball_ratio: float = rule(0.6, "of the largest disc in the outline", "trial: muzzles, tails, arms lie below",
                                  SHOP, "disc that passes into no part that stands out from the body", book_only=True)
    cradle_open_ratio: float = rule(0.7, "", "assumed: a peg shows nothing", SHOP,
                                    "how well a cradle suits what opens below so deep that it hangs on a peg",
                                    book_only=True)
    hung_suits_ratio: float = rule(0.7, "", "assumed: it was made to hang", SHOP,
                                   "how well claws suit what can hang by an opening above its centre of mass",
                                   book_only=True)
    claws_any_ratio: float = rule(0.1, "", "assumed: before tips are sought freely", SHOP,
                                  "how well claws suit what is neither flat nor long", book_only=True)
    saddles_any_ratio: float = rule(0.3, "", "assumed", SHOP,
                                    "how well two saddles suit what stands on nothing and is not long",
                                    book_only=True)
    cup_any_ratio: float = rule(0.35, "", "assumed", SHOP,
                                "how well a cup of prongs suits what stands on nothing and is not round",
                                book_only=True)
    foot_round_ratio: float = rule(0.94, "", "assumed: a hexagon has 0.91, a disc 1", SHOP,
                                   "roundness of a foot, 4 pi area / perimeter^2, from which a ring goes under it",
                                   book_only=True)
    foot_narrows_ratio: float = rule(0.9, "", "assumed", SHOP,
                                     "width of a round foot over the object's, up to which a ring suits it better than "
                                     "two feet", book_only=True)
    ring_open_deg: float = rule(48.0, "deg", "assumed", SHOP,
                                "on either side of the viewer's way, where a ring below a belly is open",
                                book_only=True)
    shelf_most_N: float = rule(4.0, "N", "assumed: one stem carries all of it", SHOP,
                               "weight up to which a shelf of one wire is tried", book_only=True)
    shelf_suits_ratio: float = rule(0.95, "", "assumed: a cradle is stiffer", SHOP,
                                    "how well a shelf of one wire suits beside a cradle of two", book_only=True)
    socket_least_mm: float = rule(8.0, "mm", "assumed", SHOP, "how deep a hollow that opens below is for a socket at "
                                  "least", book_only=True)
    socket_deep_ratio: float = rule(0.5, "of the height", "assumed: it then hangs from above its middle", SHOP,
                                    "how deep it is where a socket suits best", book_only=True)
    # Wires: bends, ends, braces
    pad_poisson_ratio: float = rule(0.4, "", "from memory: soft polymers and leather", ENGINEER,
                                    "Poisson's ratio of a pad", book_only=True)
    thicken_most_ratio: float = rule(1.6, "", "assumed", SHOP,
                                     "most that a wire is thickened at a time for the sake of the sway", book_only=True)
    brace_relief_ratio: float = rule(1.25, "", "assumed: a brace about halves the stress", ENGINEER,
                                     "what a wire should be alone over the thickest in stock, up to which a brace will "
                                     "do", book_only=True)
    brace_least_run_mm: float = rule(6.0, "mm", "assumed", SHOP,
                                     "least from the hub to a brace: nearer it is worth nothing", book_only=True)
    lap_and_hook_mm: float = rule(10.0, "mm", "assumed", SHOP,
                                  "what an arm spends on lap and hook however small the object, beyond the longest arm",
                                  book_only=True)
    stem_socket_ratio: float = rule(1.5, "", "assumed: less leaves no wall", SHOP,
                                    "least of a stem's diameter over the thin end that is soldered into its drilled "
                                    "end", book_only=True)
    bend_least_deg: float = rule(3.0, "deg", "assumed", SHOP, "turn below which nobody makes a bend", book_only=True)
    bend_most_deg: float = rule(115.0, "deg", "assumed", SHOP, "sharpest turn of an arm on its way", book_only=True)
    hook_bend_most_deg: float = rule(150.0, "deg", "assumed: a hook's corner is no hairpin", SHOP,
                                     "sharpest turn of a hook's corner", book_only=True)
    bend_straight_mm: float = rule(0.3, "mm", "assumed", SHOP,
                                   "least straight piece between two bends of the least radius", book_only=True)
    bend_cost_mm: float = rule(9.0, "mm", "assumed", SHOP, "detour that one bend less is worth", book_only=True)
    wire_near_share: float = rule(0.35, "of the pad's thickness", "assumed", CONSERVATOR,
                                  "what must stay between wire and object along a padded foot", book_only=True)
    foot_taper_share: float = rule(0.22, "of the way", "assumed: 12 deg", CONSERVATOR,
                                   "how fast a wire must leave the surface behind its foot", book_only=True)
    ring_slack_mm: float = rule(0.25, "mm", "assumed: a pad takes that up", CONSERVATOR,
                                "how much nearer a wire formed round a section may come than one along a foot",
                                book_only=True)
    foot_beside_cost: float = rule(8.0, "", "assumed", SHOP,
                                   "mm of hidden wire that one mm next to the object is worth", book_only=True)
    foot_covered_cost: float = rule(30.0, "", "assumed", SHOP,
                                    "mm of hidden wire that one mm in front of the object is worth", book_only=True)
    bracket_mass_kg: float = rule(0.7, "kg", "assumed: heavier things are borne on bars", SHOP,
                                  "mass from which a bracket is proposed where no wire holds an object", book_only=True)
    bracket_thickness_mm: float = rule(3.175, "mm", "common practice: 1/8 in bar", SHOP,
                                       "thickness of a bracket's bars", book_only=True)
    bracket_heights_mm: tuple[float, ...] = rule((6.35, 9.525, 12.7, 19.05, 25.4), "mm", "common practice", SHOP,
                                                 "heights of flat bar for brackets, tried in turn", book_only=True)
    flat_thicknesses_mm: tuple[float, ...] = rule((3.175, 4.7625, 6.35), "mm", "common practice: 1/8, 3/16, 1/4 in",
                                                  SHOP, "thicknesses of flat bar for brackets, tried in turn",
                                                  book_only=True)
    flat_widths_mm: tuple[float, ...] = rule((9.525, 12.7, 19.05, 25.4), "mm", "common practice: 3/8 to 1 in", SHOP,
                                             "widths of flat bar for brackets", book_only=True)
    flat_width_share: float = rule(0.25, "of the base's width", "assumed: the rest of it stays open", SHOP,
                                   "widest bar of a bracket", book_only=True)
    flat_lip_mm: float = rule(8.0, "mm", "assumed: what shows of a bar before the object", SHOP,
                              "width to which a bar's turned-up lip is filed down", book_only=True)
    flat_lip_high_mm: float = rule(8.0, "mm", "assumed", CONSERVATOR, "how far a bar's lip rises above the base",
                                   book_only=True)
    flat_stem_mm: float = rule(12.7, "mm", "common practice: 1/2 in flat bar", SHOP,
                               "width of the flat stems of what keeps a heavy object", book_only=True)
    flat_slope_ratio: float = rule(0.15, "", "assumed: on more it slides on its pads", CONSERVATOR,
                                   "steepest fall of a bar under the object, as rise over length", book_only=True)
    back_bar_mm: float = rule(25.4, "mm", "assumed: 1 in flat bar: room for two rivets and the post's fillet", SHOP,
                              "height of the bar behind a bracket's bars", book_only=True)
    bracket_back_mm: float = rule(6.0, "mm", "assumed", SHOP,
                                  "how far a bracket's bars end behind the front of the base", book_only=True)
    bracket_apart_share: float = rule(0.6, "of the base's width", "assumed", SHOP,
                                      "how far apart a bracket's bars lie", book_only=True)
    removal_open_deg: tuple[float, ...] = rule((15.0, 30.0, 45.0), "deg", "assumed: more tires the wire", SHOP,
                                               "how far an arm may be bent open for removal, tried in turn",
                                               book_only=True)
    removal_hand_N: float = rule(5.0, "N", "assumed: what a finger pushes gently", CONSERVATOR,
                                 "force beside the object up to which an arm is bent open by hand; above it a soft "
                                 "finger, a sleeved pin or a screw opens it", book_only=True)
    removal_screw_N: float = rule(15.0, "N", "assumed", CONSERVATOR,
                                  "force that bends an arm for good from which its sleeve has a screw",
                                  book_only=True)
    # Hub
    hub_finger_mm: float = rule(3.0, "mm", "assumed: room for solder and cleaning", SHOP,
                                "least between the object and the wires over the hub", book_only=True)
    hub_finger_small_mm: float = rule(2.0, "mm", "assumed: likewise", SHOP,
                                      "the same for wires laid straight into the post's end", book_only=True)
    hub_small_mass_g: float = rule(60.0, "g", "assumed", SHOP,
                                   "mass below which wires go straight into the post's end where a plate would be too "
                                   "big", book_only=True)
    hub_slot_share: float = rule(0.6, "of the post's diameter", "assumed: a wider slot leaves no cheeks to solder to",
                                 SHOP, "widest slot in a post's end", book_only=True)
    hub_plate_share: float = rule(0.3, "of the object's smaller extent", "assumed", SHOP,
                                  "size beyond which a plate looks too big", book_only=True)
    hub_plate_arms: int = rule(6, "arms", "assumed: more are lapped round a ring", SHOP, "most arms on one plate",
                               book_only=True)
    hub_plate_mm: float = rule(1.6, "mm", "common practice: 1/16 in sheet", SHOP, "thickness of a hub's plate",
                               book_only=True)
    hub_fillet_mm: float = rule(0.8, "mm", "assumed", SHOP, "solder fillet between the post and the laps round it",
                                book_only=True)
    hub_rim_mm: float = rule(0.6, "mm", "assumed", SHOP, "plate beyond the laps", book_only=True)
    hub_solder_gap_mm: float = rule(0.6, "mm", "assumed", SHOP, "room for solder between two laps", book_only=True)
    hub_cross_deg: float = rule(28.0, "deg", "assumed", SHOP, "least angle between two wires in one slot's level",
                                book_only=True)
    hub_bar_cost_mm: float = rule(5.0, "mm", "assumed: arms on the two ends of a bar cross sooner than round a plate",
                                  SHOP, "detour that a plate in place of a bar is worth", book_only=True)
    hub_post_masses_kg: tuple[float, ...] = rule((0.01, 0.06, 0.2, 0.7), "kg", "assumed", SHOP,
                                                 "masses up to which a hub is sized for each of the posts expected, "
                                                 "the last for all above", book_only=True)
    hub_posts_mm: tuple[float, ...] = rule((1.5875, 2.38125, 3.175, 4.7625, 6.35), "mm", "assumed", SHOP,
                                           "posts that a hub is sized for before the post is chosen", book_only=True)
    post_thickest_mm: float = rule(6.35, "mm", "assumed: 1/4 in", SHOP, "post that arms keep off before one is chosen",
                                   book_only=True)
    # Ranking
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
