"""Hold angles, tips, arms and hub: how an object is kept where it floats."""

from scanprep.hold.find import find_holds
from scanprep.hold.places.attitudes import asked_attitude, propose_attitudes
from scanprep.hold.records import Attitude, Hold, HoldSet, Refusal

__all__ = ["Attitude", "Hold", "HoldSet", "Refusal", "asked_attitude", "find_holds", "propose_attitudes"]
