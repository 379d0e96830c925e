"""The clear sheet: its two faces, holes in it, and what it carries."""

from scanprep.panel.anchor import place_anchor
from scanprep.panel.strength import FaceLoad, judge_panel

__all__ = ["FaceLoad", "judge_panel", "place_anchor"]
