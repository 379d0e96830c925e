"""The rod and its seat: droop, stress, fit, drill, lengths.

`thinnest_rod` and `plan_post` answer for one object; `stocked_rods` says what the shop has.
"""

from scanprep.post.plan import acceleration_of, plan_post, stocked_rods, thinnest_rod
from scanprep.post.records import Drill, Hole, Post, PostNeed, PostPlan, Rod

__all__ = ["Drill", "Hole", "Post", "PostNeed", "PostPlan", "Rod", "acceleration_of", "plan_post", "stocked_rods",
           "thinnest_rod"]
