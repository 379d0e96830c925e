"""Everything that happens to a mount and to the panel it stands in, one `LoadCase` each, with how much and why.

The list is the same for every object and panel, so that tables can be read side by side; what a case asks of a part is
worked out where the part is judged (`hold.strength`, `post.chain`, `panel.chain`).
"""

from __future__ import annotations

from scanprep.loads.records import LoadCase, LoadKind
from scanprep.rules import LoadRules, PanelRules, PostRules

WEIGHT, YEARS = "weight", "years"
SHAKE, LIFT = "shake", "shake-vertical"
TOUCH, KNOCK, PUSH_OBJECT = "touch", "knock", "push-object"
PUSH_SHEET, PUSH_TOP = "push-sheet", "push-top"
HANDLING = "handling"
WARM, COLD, DAMP, DRY = "warm", "cold", "damp", "dry"
ONE_SIDE_WARM, WALKING = "one-side-warm", "walking"


def load_cases(loads: LoadRules, post: PostRules, panel: PanelRules, acceleration_g: float,
               vertical_g: float) -> tuple[LoadCase, ...]:
    """Return all load cases in reading order.

    acceleration_g, vertical_g  what the site asks before any part's own frequency
    """
    season_K = post.temperature_range_C
    return (
        LoadCase(WEIGHT, "its weight", LoadKind.STANDING, None, "N", "masses at their heaviest"),
        LoadCase(YEARS, f"its weight for {loads.years:g} years", LoadKind.STANDING, loads.years, "years",
                 "creep: materials table"),
        LoadCase(SHAKE, "the site shakes sideways", LoadKind.SITE, acceleration_g, "g", "the case's site"),
        LoadCase(LIFT, "the site shakes up and down", LoadKind.SITE, vertical_g, "g", "the case's site"),
        LoadCase(TOUCH, "a hand brushes the object's edge", LoadKind.HAND, post.touch_N, "N", "assumed"),
        LoadCase(KNOCK, "a cleaner's duster knocks it", LoadKind.HAND, loads.knock_N, "N", "assumed"),
        LoadCase(PUSH_OBJECT, "a person leans on the object", LoadKind.HAND, panel.push_N, "N", "assumed"),
        LoadCase(PUSH_SHEET, f"a push on the sheet at {panel.push_height_mm:.0f} mm", LoadKind.HAND, panel.push_N, "N",
                 "assumed"),
        LoadCase(PUSH_TOP, "a push at the sheet's top edge", LoadKind.HAND, panel.push_N, "N", "assumed"),
        LoadCase(HANDLING, "post pushed in, mount opened and closed", LoadKind.BENCH, post.push_in_stop_N, "N",
                 "common practice"),
        LoadCase(WARM, f"{season_K:g} K warmer than when it was fitted", LoadKind.SEASON, season_K, "K", "assumed"),
        LoadCase(COLD, f"{season_K:g} K colder", LoadKind.SEASON, -season_K, "K", "assumed"),
        LoadCase(DAMP, f"a damp season, +{loads.humidity_range_percent:g} % RH", LoadKind.SEASON,
                 loads.humidity_range_percent, "% RH", "assumed"),
        LoadCase(DRY, f"a dry season, -{loads.humidity_range_percent:g} % RH", LoadKind.SEASON,
                 -loads.humidity_range_percent, "% RH", "assumed"),
        LoadCase(ONE_SIDE_WARM, f"one face {loads.one_side_warm_C:g} K warmer than the other", LoadKind.SEASON,
                 loads.one_side_warm_C, "K", "assumed: a spotlight or a sunlit face"),
        LoadCase(WALKING, f"{loads.walkers:g} people walk by", LoadKind.SITE, loads.floor_g, "g",
                 "footfall at 1.6 to 2.4 Hz (AISC Design Guide 11, from memory)"),
    )
