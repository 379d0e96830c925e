"""Rows of what happens to a mount and a panel besides their weight, and of what joints and sheet bear of it."""

from __future__ import annotations

from dataclasses import dataclass

from scanprep.rules.row import CONSERVATOR, ENGINEER, SHOP, rule

_AISC = "AISC Design Guide 11, from memory"


@dataclass(frozen=True, slots=True)
class LoadRules:
    """Load cases, joints, and what years and seasons do."""

    years: float = rule(10.0, "years", "assumed", ENGINEER, "how long a display is judged for")
    knock_N: float = rule(20.0, "N", "assumed: twice a touch", ENGINEER, "knock of a cleaner's duster on an object")
    humidity_range_percent: float = rule(20.0, "% RH", "assumed", CONSERVATOR,
                                         "how much damper or drier than at fitting a season may be")
    one_side_warm_C: float = rule(3.0, "K", "assumed: a spotlight or a sunlit face", ENGINEER,
                                  "how much warmer one face of a sheet may be than the other")
    floor_g: float = rule(0.005, "g", _AISC, ENGINEER, "swing of a floor that people walk on")
    walkers: float = rule(2.0, "people", "assumed", ENGINEER, "how many people walk by together")
    steps_a_day: float = rule(20_000.0, "steps", "assumed", ENGINEER, "footsteps a day that reach one panel")
    step_low_Hz: float = rule(1.6, "Hz", "walking pace, from memory", ENGINEER, "slowest pace of walking")
    step_high_Hz: float = rule(2.4, "Hz", "walking pace, from memory", ENGINEER, "fastest pace of walking")
    step_harmonics: int = rule(4, "", _AISC, ENGINEER, "harmonics of a footstep that a panel may follow")
    walking_move_mm: float = rule(1.0, "mm", "assumed: what an eye sees", SHOP, "sway of a panel when people walk by")
    panel_at_most_Hz: float = rule(15.0, "Hz", "trial: tall sheets sway at 1 to 6 Hz", ENGINEER,
                                   "frequency below which an object's panel is taken to lie before it is known")
    in_step_ratio: float = rule(2.0, "", "assumed", ENGINEER,
                                "how far apart the frequencies of object and panel lie where they cannot sway in step")
    fillet_mm: float = rule(0.8, "mm", "assumed", SHOP, "leg of the solder round the post at the hub")
    tin_silver_MPa: float = rule(27.0, "MPa", "two thirds of 6000 psi: Manko, Solders and Soldering, table 5-3",
                                 ENGINEER, "shear that breaks a lap in tin-silver solder")
    tin_silver_years_MPa: float = rule(3.0, "MPa", "from memory: a quarter of what breaks it in 1000 hours", ENGINEER,
                                       "shear that a joint in tin-silver solder bears for years without creeping away")
    silver_solder_MPa: float = rule(140.0, "MPa", "from memory", ENGINEER, "shear that breaks a silver-soldered joint")
    solder_safety: float = rule(2.0, "", "assumed: voids, half the lap unwetted", ENGINEER,
                                "safety of a soldered joint under a load of a moment")
    brass_fatigue_MPa: float = rule(90.0, "MPa", "cartridge brass, 1e8 times; from memory", ENGINEER,
                                    "swing of stress that brass bears over and over")
    acrylic_moment_MPa: float = rule(24.0, "MPa", "UFGS table 3-1: 97 MPa in bending at the least, over 4", ENGINEER,
                                     "stress next to a hole that acrylic bears for a moment")
    acrylic_fatigue_MPa: float = rule(7.0, "MPa", "1e7 times; from memory", ENGINEER,
                                      "swing of stress next to a hole that acrylic bears over and over")
    acrylic_swell_share: float = rule(0.0015, "of the length", "maker's expansion page", ENGINEER,
                                      "growth of acrylic from dry to the humidity of the next row")
    acrylic_swell_humidity_percent: float = rule(65.0, "% RH", "maker's expansion page", ENGINEER,
                                                 "humidity at which acrylic has grown by the share above")
    damp_loss_share: float = rule(0.15, "of the dry value", "from memory", ENGINEER,
                                  "strength and long-term stiffness that acrylic loses in a damp room")
    organic_swell_share: float = rule(0.01, "of the size", "wood across its grain by 20 % RH; from memory", CONSERVATOR,
                                      "growth of a wooden, bone or ivory object in a damp season")
    trim_most_mm: float = rule(3.0, "mm", "assumed", SHOP, "how far a mount is bent up before it looks bent")
    trim_most_deg: float = rule(3.0, "deg", "assumed", SHOP, "how much slope or roll is bent away before it shows")
    thick_rod_mm: float = rule(5.0, "mm", "assumed: what the eye takes for a post among others", SHOP,
                               "rod thicker than which other means are offered")
    second_post_mm: float = rule(25.0, "mm", "assumed: a plate that hides behind most objects", SHOP,
                                 "centre to centre of two posts on one hub")
    bracket_bolts_mm: float = rule(40.0, "mm", "assumed", ENGINEER, "centre to centre of a bracket's two bolts")
    bracket_washer_mm: float = rule(12.0, "mm", "assumed", ENGINEER, "diameter of the washers under a bracket's bolts")
    pad_creep_share: float = rule(0.5, "of what they give at once", "from memory", CONSERVATOR,
                                  "how much more pads give in years")
