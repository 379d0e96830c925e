"""The shop's choices: limits, gaps, safety factors, stocked rods. One frozen record a stage, gathered in `Settings`.

Each value has its source beside it: a published one, "common practice", "trial" (a prototype's measurement), or
"assumed". A case file may replace any of them.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class ScanRules:
    """Reading and cleaning."""

    working_faces: int = 20_000  # trial: hold search cost grows with faces, shape loss below 0.4 mm
    scale_conflict_ratio: float = 0.02  # unit and known size must agree within this
    least_plausible_mm: float = 8.0  # assumed: the smallest object shown on a post
    most_plausible_mm: float = 1200.0  # assumed
    fragment_share: float = 0.02  # a body below this share of the area is a fragment
    most_faces: int = 20_000_000


@dataclass(frozen=True, slots=True)
class HoldRules:
    """The gates and the search."""

    friction_default: float = 0.15  # unknown pad on glaze, assumed until named by the conservator
    friction_low: float = 0.15
    margin_g: float = 0.35  # no seismic demand, handling and footfall
    margin_low_friction_g: float = 0.20
    target_margin_g: float = 0.60  # trial: aiming higher survives misplaced tips
    # shake that shape alone (friction 0) stands: then preload need only keep tips touching; trial
    shape_g: float = 0.20
    friction_worn: float = 0.10  # one tip worn to its lacquer; assumed
    tilt_deg: float = 5.0  # gate 1: object tilted any way
    torque_arm_mm: float = 5.0  # gate 3
    torque_diagonal_share: float = 0.03
    preload_relaxed_ratio: float = 0.10  # gate 4, s/W after relaxation
    preload_set_ratio: float = 0.20  # gate 4, s/W as set
    # gates 4 and 5 where the shape holds. No tip lifts though it took the whole low-friction shake alone: each presses
    # with 0.2 W, which leaves 0.03 W of friction at 0.15; two thirds of that however its pads sit. Trial
    pressed_ratio: float = 0.03
    pressed_s10: float = 0.02
    relaxation_ratio: float = 0.5  # share of preload left; assumed
    bend_error_mm: float = 0.5  # of an arm bent to the drawing; assumed
    fitting_mm: float = 0.1  # of a tip bent on the object until it just holds a slip of office paper; common practice
    s10: float = 0.05  # gate 5; trial
    s10_preferred: float = 0.08
    redraws: int = 24
    rocking_deg: float = 0.6  # turn on sprung tips under the low-friction shake; trial against a physics engine
    spring_give_mm: float = 0.25  # gate 7: what a tip may move while it takes up a shake; trial
    sprung_margin_g: float = 0.25  # trial: of 40 sets below it 7 fell in a physics engine, of 208 above it 3
    sprung_least_g: float = 0.10
    tip_spring_N_per_mm: float = 2.0  # of a bent wire at its tip; trial
    most_tips: int = 5  # more and it is a cage: a cradle or saddle made by eye (common practice)
    wrap_mm: float = 3.0
    wrap_share: float = 0.06
    pad_radius_mm: float = 2.0
    pad_thickness_mm: float = 0.8  # assumed: shrink tube or suede on wire
    pad_normals_deg: float = 25.0
    bearing_pressure_MPa: float = 0.5
    bearing_limit_N: float = 10.0
    bearing_limit_unknown_N: float = 5.0
    tool_room_mm: float = 15.0
    covered_share: float = 0.05
    beside_share: float = 0.05
    # Mount: hub, arms, wire
    arm_clear_mm: float = 1.0  # wire surface to object, away from the pad; assumed, a bending error of hand work
    arm_gap_mm: float = 1.5  # between two arms' surfaces; assumed
    wire_alloy: str = "C26000 / CW505L cartridge brass"  # bends cold; free-cutting brass cracks (common practice)
    wire_gauges: tuple[str, ...] = ("20 ga", "18 ga", "16 ga", "14 ga", "12 ga")  # labels of the rod table
    wire_thickest_mm: float = 2.1  # beyond this a brace first; common practice
    stem_rods: tuple[str, ...] = ("3/32", "1/8")  # bent for a heavy object where braced wire would yield; C26000 rod
    bend_radius_diameters: float = 1.5  # inside radius of a bend; 1-1.5 d is common practice
    bend_least_diameters: float = 1.0  # never sharper; common practice for cold brass wire
    bend_annealed_diameters: float = 0.5  # of a softened end, at its hook; common practice
    most_bends: int = 5  # assumed: what one still bends true by hand
    wire_safety: float = 1.5  # yield over stress with the load of a shake; assumed
    shake_factor: float = 2.0  # tip force under shake over the force at rest
    # of a tip that carries weight, under its force: what a mass of 15 Hz gives under its own weight, g / (2 pi f)^2
    bearing_sag_mm: float = 1.1
    arm_stiffness_least_N_per_mm: float = 0.2  # at a tip, along its normal; assumed: keeps its shape in the hand
    arm_frequency_Hz: float = 10.0  # of the object on one arm alone; assumed
    mount_frequency_Hz: float = 8.0  # lowest mode of the object on its arms, hub held fast; assumed
    spring_travel_mm: float = 4.0  # of a retaining tip under its preload; trial: 1-4 mm
    most_sag: float = 3.0  # a tip that gives more than so many times its limit is no mount; assumed
    longest_arm: float = 1.2  # of the object's diagonal; assumed
    lap_diameters: float = 3.0  # soldered overlap; common practice
    weight_seen: float = 3.0
    weight_natural: float = 12.0  # a straight view is not outweighed by margins
    weight_sound: float = 4.0
    weight_margin: float = 1.5
    weight_hidden: float = 2.0
    weight_depth: float = 0.5
    weight_force: float = 1.0
    weight_tips: float = 0.5

    @property
    def preload_ratio(self) -> float:
        """Gate 4: s/W to be set, so that enough is left after relaxation too."""
        return max(self.preload_set_ratio, self.preload_relaxed_ratio / self.relaxation_ratio)


@dataclass(frozen=True, slots=True)
class PostRules:
    """Rod, seat and hole."""

    rod_system: str = "imperial"  # or "metric", or "both"
    rod_material: str = "C36000 / CZ121 / CW614N free-cutting brass"
    stocked: tuple[str, ...] = ("3/32", "1/8", "5/32", "3/16", "1/4", "5/16")  # labels of the rod table; assumed
    stand_off_mm: float = 20.0  # face of panel to the nearest point of the object
    seat_depth_mm: float = 20.0
    blank_extra_mm: float = 30.0
    droop_mm: float = 0.5
    slope_deg: float = 0.3
    row_difference_mm: float = 0.5
    roll_deg: float = 0.5
    least_frequency_Hz: float = 15.0
    resonance_low_ratio: float = 0.7
    resonance_high_ratio: float = 1.4
    damping_ratio: float = 0.03
    strength_safety: float = 2.0  # assumed
    torque_safety: float = 2.0
    touch_N: float = 10.0  # accidental touch at the outermost radius; assumed
    bed_low_MPa: float = 2000.0  # seat bed stiffness; Vesic, from memory
    bed_high_MPa: float = 4500.0
    drill_square_deg: float = 0.5
    soft_zone_mm: float = 0.0  # soft solder 0; silver solder 25-40, from memory
    soft_zone_silver_mm: float = 40.0
    push_in_look_N: float = 60.0
    push_in_stop_N: float = 100.0
    web_mm: float = 6.0
    drill_point_deg: float = 118.0  # deep blind holes; acrylic fabrication manual, see practice notes
    extra_depth_mm: float = 1.5  # blind snug hole traps air: 1-2 mm deeper than the seat
    temperature_range_C: float = 20.0
    wire_clear_mm: float = 3.0  # an arm behind the hub stays this far off the sheet; assumed, room for a cloth
    least_free_length_mm: float = 5.0  # room for the hub's fillet and a finger nail behind it; assumed
    least_seat_diameters: float = 3.0  # common practice: a seat is at least three rods deep
    least_blind_diameters: float = 2.0  # a sheet too thin for that is drilled through; assumed
    fit_share: float = 0.5  # of the crazing limit that the fit alone may use; the bearing has the rest
    seat_friction_low: float = 0.20  # brass in acrylic, wax or coolant left in the hole; from memory
    seat_friction_high: float = 0.45  # from memory
    coupon_near_mm: float = 0.6  # a test hole further off than this belongs to another rod; assumed
    mock_up_thickness_mm: float = 6.0  # thin sheet of a full-size mock-up; assumed
    sheet_thickness_mm: float = 30.0  # where no panel is named; nominal
    vent_flat_mm: float = 0.3  # flat filed along the seat so that air gets out of a blind hole; assumed


@dataclass(frozen=True, slots=True)
class PanelRules:
    """The sheet."""

    density_kg_m3: float = 1190.0
    youngs_modulus_MPa: float = 3000.0
    creep_modulus_MPa: float = 1500.0
    poisson: float = 0.37
    alpha_per_K: float = 70e-6
    continuous_stress_cell_cast_MPa: float = 10.3
    continuous_stress_unknown_MPa: float = 5.2
    push_N: float = 100.0
    push_height_mm: float = 1200.0
    least_frequency_Hz: float = 3.0
    lean_share: float = 1 / 300  # of the height; assumed: what an eye sees beside a plumb edge
    twist_deg: float = 0.5  # assumed
    push_move_mm: float = 25.0  # assumed: more alarms a visitor
    buckling_safety: float = 4.0  # assumed
    hole_spacing_diameters: float = 3.0
    hole_edge_diameters: float = 2.0


@dataclass(frozen=True, slots=True)
class CaseRules:
    """Arrangement and checks between objects."""

    object_gap_mm: float = 15.0  # mesh to mesh; assumed, room for fingers of one hand
    outline_gap_mm: float = 10.0
    edge_gap_mm: float = 20.0
    hand_room_mm: float = 60.0
    hand_depth_mm: float = 150.0  # how far a hand reaches in from the front; assumed
    withdraw_clear_mm: float = 3.0  # round an object on its way in or out; assumed
    saw_kerf_mm: float = 1.0
    bar_length_mm: float = 914.4  # 36 in rod; common stock, from memory
    comfortable_low_mm: float = 750.0  # cased displays; Glasgow Museums Display Guidelines
    comfortable_high_mm: float = 2000.0
    fine_detail_high_mm: float = 1015.0
    reach_mm: float = 1900.0
    # what a first arrangement weighs, each part about 0 (good) to 1 (poor); assumed
    weight_band: float = 3.0
    weight_groups: float = 2.0
    weight_heavy_low: float = 1.0
    weight_even_gaps: float = 1.0
    weight_order: float = 1.0
    weight_balance: float = 1.0


@dataclass(frozen=True, slots=True)
class Rulebook:
    """Everything the shop may choose, in one value."""

    scan: ScanRules = field(default_factory=ScanRules)
    hold: HoldRules = field(default_factory=HoldRules)
    post: PostRules = field(default_factory=PostRules)
    panel: PanelRules = field(default_factory=PanelRules)
    case: CaseRules = field(default_factory=CaseRules)
