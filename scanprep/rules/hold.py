"""Rows of holds: those by which they are judged, and how mounts are made: families, hub, arms, wire, bends."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.judging import JudgingRules
from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule


@dataclass(frozen=True, slots=True)
class HoldRules(JudgingRules):
    """What holds are judged by, and how mounts are made: one stage, `[rules.hold]` in case.toml."""

    # Families of mounts
    lip_pad_radius_mm: float = rule(1.2, "mm", "assumed: with an edge's rounding it just fits the reach", CONSERVATOR,
                                    "radius of the pad on a lip that shows")
    likely_wire_mm: float = rule(1.6, "mm", "assumed: 14 ga", SHOP,
                                 "wire that clearances are kept for before one is chosen")
    fine_masses_g: tuple[float, ...] = rule((10.0, 30.0, 120.0), "g", "common practice: wire follows the weight", SHOP,
                                            "masses up to which a light object hangs in finer wire than others do")
    fine_wires_mm: tuple[float, ...] = rule((0.511, 0.644, 0.812), "mm", "common practice: 24, 22, 20 ga", SHOP,
                                            "the thinnest wire that may hold an object up to each of these masses; the "
                                            "last holds for all above")
    fine_likely_mm: tuple[float, ...] = rule((0.644, 0.812, 1.291), "mm", "assumed: one or two gauges more", SHOP,
                                             "wire that clearances are kept for with objects up to each of these "
                                             "masses")
    base_rise_mm: float = rule(3.0, "mm", "assumed", SHOP,
                               "what stands higher than this over the lowest point is no longer the base")
    sturdy_least_ratio: float = rule(0.4, "", "trial: ears, tails, lugs and teeth of combs lie below", CONSERVATOR,
                                     "thickness over the object's usual one below which nothing touches it")
    sturdy_foot_ratio: float = rule(0.12, "", "assumed: what stands on legs is pressed along them", CONSERVATOR,
                                    "the same for lipped feet under what it stands on")
    limb_ball_ratio: float = rule(0.35, "of the largest ball that fits into the object", "trial", CONSERVATOR,
                                  "ball that passes into no limb: ears, wings, handles, stems are more slender")
    trunk_ball_ratio: float = rule(0.7, "of the largest ball that fits into the object",
                                   "trial: heads, muzzles, arms and legs lie below", SHOP,
                                   "ball that passes into no part that stands out from the trunk")
    limb_volume_share: float = rule(0.10, "of the object", "assumed", CONSERVATOR,
                                    "volume above which a slender part is no limb but much of the object: a blade")
    limb_extent_share: float = rule(0.40, "of the diagonal", "assumed", CONSERVATOR,
                                    "length above which a slender part is no limb: a tool's handle")
    limbs_most_share: float = rule(0.5, "of the object", "assumed", CONSERVATOR,
                                   "share of limbs above which there is no body to prefer to them")
    limb_sturdy_ratio: float = rule(0.3, "", "assumed: below what may be touched, above what may be stood on",
                                    CONSERVATOR, "how sturdy a limb counts, as thickness over the usual one, at most")
    drawn_reach_mm: float = rule(4.0, "mm", "assumed: a pad and a little round it", CONSERVATOR,
                                 "about a place, within which its ground is plain or not; more on a coarse mesh")
    drawn_from_contrast: float = rule(3.0, "CIELAB", "assumed: what the eye hardly tells apart", CONSERVATOR,
                                      "mean difference of colours within that, shade taken off, from which ground "
                                      "counts as drawn or painted, where an object's usual ground has less")
    drawn_contrast: float = rule(8.0, "CIELAB", "assumed: dark lines on a fifth of a light ground", CONSERVATOR,
                                 "how much more of it counts as fully drawn")
    drawn_from_relief_mm: float = rule(0.06, "mm", "assumed: a scan's noise is less", CONSERVATOR,
                                       "mean roughness within that, curvature taken off, from which ground counts as "
                                       "engraved, where an object's usual ground has less")
    drawn_relief_mm: float = rule(0.15, "mm", "assumed: tooled lines, letters", CONSERVATOR,
                                  "how much more of it counts as fully engraved")
    edge_reach_mm: float = rule(8.0, "mm", "assumed: a pad, and a pad's breadth beside it", CONSERVATOR,
                                "how far to either side an edge is felt for notches before a claw goes there; less on "
                                "small things")
    edge_ragged_mm: float = rule(0.6, "mm", "assumed: a chip is deeper", CONSERVATOR,
                                 "how far on average an edge strays within that from an even line, beyond the object's "
                                 "usual edge, to count as fully ragged")
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
    through_times: float = rule(4.0, "", "assumed", SHOP, "how much worse a wire across an opening is than one seen "
                                "next to the object, in the merit of what shows")
    merit_line: float = rule(0.75, "", "assumed: a line across the front is seen sooner than tips at its edge", SHOP,
                             "merit within an attitude: how short a level line of it is seen across the front")
    merit_alike: float = rule(2.0, "", "assumed", SHOP, "merit within an attitude: left and right alike")
    merit_sturdy: float = rule(1.5, "", "assumed", SHOP, "merit within an attitude: how sturdy the places are")
    merit_plain: float = rule(1.0, "", "assumed", CONSERVATOR,
                              "merit within an attitude: how little of the ground that it touches is painted")
    merit_spread: float = rule(1.0, "", "assumed", SHOP, "merit within an attitude: how far apart it holds the "
                               "object, on both sides of its balance point")
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
    wire_gauges: tuple[str, ...] = rule(("24 ga", "22 ga", "20 ga", "18 ga", "16 ga", "14 ga", "12 ga"), "",
                                        "assumed", SHOP,
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
    props_apart_ratio: float = rule(0.35, "of the breadth that it has there", "assumed", SHOP,
                                    "two props under an object stand this far apart at least", book_only=True)
    props_bunched_ratio: float = rule(0.8, "", "assumed", SHOP,
                                      "how well a mount suits whose props stand closer together", book_only=True)
    clip_slides_ratio: float = rule(0.08, "of the height", "assumed", CONSERVATOR,
                                    "how far a clip slides up or down to lie on plainer ground", book_only=True)
    clip_slides_mm: float = rule(20.0, "mm", "assumed: as far as a claw moves for a blemish", CONSERVATOR,
                                 "the same at most", book_only=True)
    body_ball_ratio: float = rule(0.6, "of the largest disc in the outline", "trial: muzzles, tails, arms lie below",
                                  SHOP, "disc that passes into no part that stands out from the body", book_only=True)
    cradle_open_ratio: float = rule(0.7, "", "assumed: a peg shows nothing", SHOP,
                                    "how well a cradle suits what opens below so deep that it hangs on a peg",
                                    book_only=True)
    hung_suits_ratio: float = rule(0.7, "", "assumed: it was made to hang", SHOP,
                                   "how well claws suit what can hang by an opening above its centre of mass",
                                   book_only=True)
    rim_sturdy_ratio: float = rule(0.5, "", "assumed: as sturdy as the wall that it ends", SHOP,
                                   "how sturdy a smooth rim counts at least, over the object's usual thickness",
                                   book_only=True)
    steady_least_deg: float = rule(40.0, "deg", "assumed", SHOP,
                                   "tilt that a standing object takes from which it is so low and broad that nothing "
                                   "tips it", book_only=True)
    steady_low_ratio: float = rule(0.97, "", "assumed: they show least there", SHOP,
                                   "how well claws low at its sides suit it then", book_only=True)
    steady_over_ratio: float = rule(0.85, "", "assumed: a hook over its top is the first thing seen", SHOP,
                                    "how well claws over its top or back suit it then, over their usual",
                                    book_only=True)
    head_most_share: float = rule(0.35, "of the object", "assumed: a waist has more above it", SHOP,
                                  "what lies above a neck is a head up to this, and the object is kept below it",
                                  book_only=True)
    lid_most_share: float = rule(0.4, "of the object", "assumed", SHOP,
                                 "what lies above a seam, with a knob on it, is a lid up to this", book_only=True)
    top_suits_ratio: float = rule(0.6, "", "assumed: a lid is loose, a head breaks off at its neck", CONSERVATOR,
                                  "how well it suits to keep an object by a head or lid, over keeping it by its body",
                                  book_only=True)
    head_shaft_ratio: float = rule(0.6, "of the head's width", "assumed", SHOP,
                                   "widest shaft below a head by which a thing hangs", book_only=True)
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
    under_body_low_ratios: tuple[float, ...] = rule((0.6, 1.0), "of its depth", "assumed", SHOP,
                                                    "how high a belly lies over what it stands on, from which bearers "
                                                    "under it suit less, and where not at all", book_only=True)
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
    through_cost: float = rule(16.0, "", "assumed: a wire is never run through an opening that is looked through", SHOP,
                               "mm of hidden wire that one mm seen through an opening of the outline is worth",
                               book_only=True)
    foot_covered_cost: float = rule(30.0, "", "assumed", SHOP,
                                    "mm of hidden wire that one mm in front of the object is worth", book_only=True)
    bracket_mass_kg: float = rule(0.7, "kg", "assumed: heavier things are borne on bars", SHOP,
                                  "mass from which a bracket is proposed where no wire holds an object", book_only=True)
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
    strip_mass_kg: float = rule(1.5, "kg", "assumed: wire half round it gives too much", SHOP,
                                "mass from which a clip is thought of in flat strip before it is in wire",
                                book_only=True)
    strip_widths_mm: tuple[float, ...] = rule((10.0, 8.0, 6.0), "mm", "common practice: brass strip", SHOP,
                                              "widths of strip of which clips for heavy things are formed, "
                                              "tried in turn", book_only=True)
    strip_thicks_mm: tuple[float, ...] = rule((1.6, 2.4), "mm", "common practice: 1/16, 3/32 in; more is not formed "
                                              "by hand", SHOP, "thicknesses of that strip, tried in turn",
                                              book_only=True)
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
