"""Rows by which holds are judged: friction, gates, the search for tips, where tips may sit, attitudes, ranking."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule


@dataclass(frozen=True, slots=True)
class JudgingRules:
    """The gates and the search, tips, attitudes and ranking."""

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
    through_share: float = rule(0.002, "of the front", "assumed: a wire never crosses an opening that is looked "
                                "through", SHOP, "most that is seen of wires across openings of the outline, between "
                                "two parts of it")
    through_edge_mm: float = rule(4.0, "mm", "assumed: a pad and a wire", SHOP,
                                  "what is seen in an opening no further from the outline reads as its edge",
                                  book_only=True)

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
    search_drawn_cost: float = rule(0.4, "", "assumed", CONSERVATOR,
                                    "search: price of a tip on fully drawn or engraved ground")
    search_off_trunk_cost: float = rule(0.2, "", "assumed", SHOP,
                                        "search: price of a tip that only keeps, on what stands out from the object's "
                                        "trunk")
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
