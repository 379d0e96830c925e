"""All families in one place: add one here."""

from __future__ import annotations

from scanprep.hold.families.bracket import Bracket
from scanprep.hold.families.edge_claws import Bar, EdgeClaws, Spine
from scanprep.hold.families.foot_cradle import FootCradle
from scanprep.hold.families.head_hook import HeadHook
from scanprep.hold.families.hooks import Hooks
from scanprep.hold.families.pronged_cup import ProngedCup
from scanprep.hold.families.records import MountFamily
from scanprep.hold.families.round_things import RingBelow
from scanprep.hold.families.saddles import Saddles, ShaftClips
from scanprep.hold.families.shelf import Shelf
from scanprep.hold.families.socket import Socket
from scanprep.hold.families.under_body import UnderBody

FAMILIES: tuple[MountFamily, ...] = (
    Bracket(), Socket(), RingBelow(), UnderBody(), FootCradle(), Hooks(), HeadHook(), EdgeClaws(), Bar(), Saddles(),
    Spine(), ShaftClips(), ProngedCup(), Shelf())
