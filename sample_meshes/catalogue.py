"""The catalogue of the invented display: finds from the ferry basin of Marrowmere, a town that does not exist.

Thirty objects of more than twenty kinds on two panels, with the scans' faults that each one is to show.
"""

from __future__ import annotations

from functools import partial

from scanprep_samples import shapes_metal as metal
from scanprep_samples import shapes_organic as organic
from scanprep_samples import shapes_vessels as vessels
from scanprep_samples.ageing import (
    with_flipped,
    with_fragments,
    with_gap,
    with_spoiled_faces,
    with_turntable,
    without_underside,
)
from scanprep_samples.find import FLAT, LYING, Z_UP, Find, tilted


def _underside(reach_mm: float, seed: int, recess_mm: float = 0.0) -> tuple[str, partial]:
    return ("underside not seen", partial(without_underside, reach_mm=reach_mm, seed=seed, recess_mm=recess_mm))


def _scraps(count: int, seed: int) -> tuple[str, partial]:
    return ("stray scraps", partial(with_fragments, count=count, seed=seed))


def _turntable(share: float, seed: int) -> tuple[str, partial]:
    return ("bit of turntable", partial(with_turntable, share=share, seed=seed))


def _gap(centre: tuple[float, float, float], radius_mm: float, seed: int) -> tuple[str, partial]:
    return ("gap in the surface", partial(with_gap, centre=centre, radius_mm=radius_mm, seed=seed))


def _flipped(patches: int, seed: int) -> tuple[str, partial]:
    return ("patches wound wrong", partial(with_flipped, patches=patches, seed=seed))


def _spoiled(count: int, seed: int) -> tuple[str, partial]:
    return ("doubled and empty faces", partial(with_spoiled_faces, count=count, seed=seed))


VESSELS = (
    Find("FB-001", "jug", "Jug with a ferry-boat medallion, salt-glazed grès", "jug", vessels.jug, 22_000, "obj-jpg",
         "stoneware", 2.22, noise_mm=0.08, damage=(_underside(1.6, 1, 6), _gap((0, 122, 0), 22, 2), _scraps(6, 3)),
         unit="mm", weighed="g", wall="5 mm", group="At table", order="1", place=("Quay", "A", "200 mm", "1400 mm"),
         extra=(("no touch", "ball 0 72 60 24 mm medallion"),),
         note="Inside not scanned below the neck"),
    Find("FB-002", "green_bottle", "Small squat bottle, green façon glass", "bottle", vessels.bottle, 30_000, "ply",
         "soda-lime glass", 2.49, Z_UP, 1000.0, (412, -88, 730), 0.06, (_scraps(9, 5),),
         unit="m", weighed="g", wall="2.5 mm", condition="flaking, iridescent weathering", group="At table", order="2",
         place=("Quay", "A", "470 mm", "1400 mm"), extra=(("tip limit", "0.8 N"), ("pad", "felt")),
         note="Conservator allows felt pads at the neck and under the base"),
    Find("FB-003", "bowl_heron", "Bowl with a heron, tin-glazed, chipped rim", "bowl", vessels.bowl, 30_000, "glb-jpg",
         "earthenware / terracotta", 1.95, mm_per_unit=1000.0, noise_mm=0.06,
         damage=(_underside(1.0, 6), _scraps(4, 7)), weighed="g", condition="sound, two old chips",
         group="At table", order="3", attitude=("", "18", "0", "0"), place=("Quay", "A", "340 mm", "1130 mm")),
    Find("FB-004", "cup_4", "Cup with a looped handle, étain", "cup", vessels.cup, 14_000, "stl", "pewter / tin", 7.32,
         Z_UP, 25.4, unit="in", weighed="oz", condition="sound, dented", group="At table", order="4",
         place=("Quay", "B", "340 mm", "1400 mm")),
    Find("FB-005", "mortar", "Mortar with eight fins and two lugs", "mortar", vessels.mortar, 24_000, "ply-ascii",
         "bronze", 8.3, tilted(Z_UP, (9, -14, 31)), 37.21, (300, 120, -45), 0.08,
         (_underside(1.4, 8), _scraps(14, 9), _flipped(5, 10)), known=("height mm",), weighed="g",
         tell_up=True, tell_front=True,
         group="Kitchen and trade", order="5", place=("Quay", "A", "340 mm", "860 mm")),
)

METAL = (
    Find("FB-006", "token", "Ferry token, “three persons”", "token", metal.token, 16_000, "obj-colour", "lead", 11.34,
         FLAT, noise_mm=0.02, unit="mm", weighed="g", condition="sound, clipped", stands=False,
         tell_up=True, tell_front=True,
         group="The crossing",
         order="6", attitude=("face-on", "", "", ""), place=("Slip", "A", "150 mm", "1500 mm"),
         note="Both sides of interest: the strokes are on the back"),
    Find("FB-007", "plaque", "Plaque, a ferry under an arch", "plaque", metal.plaque, 44_000, "glb-draco", "bronze",
         8.4, mm_per_unit=1000.0, noise_mm=0.03, weighed="g", condition="sound, corner lost", stands=False,
         tell_up=True, tell_front=True,
         group="The crossing", order="7", attitude=("face-on", "", "", ""), place=("Slip", "A", "380 mm", "1500 mm")),
    Find("FB-009", "spoon", "Spoon with a turned knop", "spoon", metal.spoon, 24_000, "ply", "pewter / tin", 7.35,
         LYING, 1.873, noise_mm=0.04, damage=(_scraps(5, 12),), known=("longest mm",), weighed="g", stands=False,
         tell_up=True, tell_front=True,
         group="At table", order="9", place=("Quay", "B", "520 mm", "1400 mm")),
    Find("FB-010", "key_large", "Key with a kidney bow", "key", metal.key, 22_000, "3mf", "wrought iron", 7.7,
         tilted(FLAT, (0, 4, 17)), 25.4, noise_mm=0.03, condition="sound, corroded and waxed", stands=False,
         tell_up=True, tell_front=True,
         group="The crossing", order="10", place=("Slip", "A", "150 mm", "1220 mm")),
    Find("FB-011", "bell", "Small bell, clapper lost", "bell", metal.bell, 30_000, "ply", "bronze", 8.5,
         tilted(Z_UP, (0, 0, 40)), 0.5, (20, 44, 5), 0.05, (_scraps(8, 13), _spoiled(12, 14)),
         known=("height in", "diameter in"), weighed="oz", condition="sound, old crack at the lip",
         tell_front=True,
         group="The crossing", order="11", place=("Slip", "A", "390 mm", "1220 mm")),
)

OTHER = (
    Find("FB-008", "toy_horse", "Toy horse with a slip saddle", "animal figure", organic.horse, 36_000, "ply-big",
         "earthenware / terracotta", 1.84, Z_UP, noise_mm=0.06, damage=(_turntable(1.5, 11),), unit="mm",
         condition="repaired, left ear lost", tell_up=True, tell_front=True,
         group="Play", order="8",
         place=("Quay", "B", "180 mm", "1130 mm"), extra=(("tip limit", "1.5 N"),)),
    Find("FB-012", "box_and_lid", "Round box and its lid, turned", "box with lid", vessels.box_with_lid, 30_000, "glb",
         "boxwood", 0.95, mm_per_unit=1000.0, noise_mm=0.04, weighed="g", condition="sound, open crack", pieces=2,
         group="Play", order="12", place=("Quay", "B", "520 mm", "1130 mm"), note="Lid lies loose on the box"),
    Find("FB-013", "shot", "Stone ball", "ball", organic.stone_ball, 16_000, "zip", "granite", 2.68, noise_mm=0.03,
         unit="mm", weighed="g", stands=False, holdable=False, tell_up=True,
         group="Kitchen and trade", order="13"),
)

FIGURES = (
    Find("FB-014", "cloaked_figure", "Cloaked figure with a staff, traces of red", "standing figure",
         organic.cloaked_figure, 150_000, "glb-draco", "boxwood", 0.96, tilted(Z_UP, (21, 12, -64)), 1000.0,
         (25, -60, 140), 0.03, (_underside(1.0, 15), _scraps(3, 16)), weighed="g", condition="sound, traces of paint",
         tell_up=True, tell_front=True,
         group="The crossing", order="14", place=("Slip", "B", "300 mm", "1500 mm")),
    Find("FB-024", "hound", "Hound on a plinth, terre de pipe", "animal figure", organic.hound, 44_000, "glb-draco",
         "meerschaum", 1.72, mm_per_unit=1000.0, noise_mm=0.03, damage=(_underside(0.8, 17),), weighed="g",
         group="Play", order="24", note="Material to be confirmed: pipe clay or sépiolite"),
)

SMALL = (
    Find("FB-015", "ring", "Finger ring, a boat on the bezel", "ring", metal.finger_ring, 12_000, "off",
         "gold 18k yellow", 15.5, tilted(Z_UP, (0, 0, 25)), noise_mm=0.012, unit="mm", weighed="g", stands=False,
         tell_up=True, tell_front=True,
         group="Worn", order="15"),
    Find("FB-016", "hoop", "Wire hoop, nearly closed", "thin ring", metal.thin_hoop, 10_000, "stl", "bronze", 8.5, FLAT,
         noise_mm=0.012, unit="mm", condition="sound, corroded", stands=False, holdable=False,
         tell_up=True, tell_front=True,
         group="Worn",
         order="16"),
    Find("FB-017", "buckle", "Buckle with two loops and its pin", "buckle", metal.buckle, 22_000, "ply", "bronze", 8.2,
         tilted(FLAT, (4, 0, 8)), noise_mm=0.02, unit="mm", weighed="g", stands=False, tell_up=True, tell_front=True,
         group="Worn", order="17"),
    Find("FB-018", "cloth_seal", "Cloth seal with a heron", "lead seal", metal.seal, 20_000, "3mf", "lead", 11.34, FLAT,
         noise_mm=0.02, weighed="g", stands=False, tell_up=True, tell_front=True,
         group="Kitchen and trade", order="18"),
    Find("FB-019", "whistle", "Boatman’s whistle, hollow bone", "whistle", organic.whistle, 24_000, "ply", "bone", 1.93,
         LYING, 2.416, noise_mm=0.03, known=("longest in",), condition="sound, lower end broken", stands=False,
         group="The crossing", order="19", place=("Slip", "B", "450 mm", "1250 mm")),
    Find("FB-020", "comb", "Double comb, coarse and fine", "comb", organic.comb, 60_000, "glb-draco", "boxwood", 0.93,
         mm_per_unit=1000.0, noise_mm=0.02, damage=(_scraps(4, 18),), weighed="g", condition="sound, teeth lost",
         stands=False, tell_up=True, tell_front=True,
         group="Worn", order="20", attitude=("face-on", "", "", ""),
         place=("Slip", "B", "170 mm", "1250 mm")),
    Find("FB-021", "pipe_bowl", "Tobacco pipe, short stem", "pipe bowl", organic.pipe_bowl, 18_000, "zip",
         "earthenware / terracotta", 1.9, tilted(Z_UP, (6, 3, 12)), noise_mm=0.03, damage=(_spoiled(6, 19),), unit="mm",
         weighed="g", stands=False, tell_up=True, tell_front=True,
         group="At table", order="21"),
    Find("FB-025", "handle", "Knife handle with a lattice, stub of the tang", "knife handle", organic.knife_handle,
         26_000, "ply", "bone", 1.96, LYING, noise_mm=0.03, damage=(_gap((-5, -20, -4), 5, 20),), unit="mm",
         condition="sound, cracked", stands=False, tell_up=True, tell_front=True,
         group="At table", order="25"),
    Find("FB-026", "egg", "Nest egg, polished albâtre", "egg", organic.nest_egg, 16_000, "3mf", "alabaster (gypsum)",
         2.31, Z_UP, noise_mm=0.02, weighed="g", stands=False, holdable=False, group="Kitchen and trade", order="26"),
    Find("FB-027", "die", "Die", "die", organic.die, 15_000, "ply", "bone", 1.95, noise_mm=0.012, unit="mm",
         weighed="g", tell_up=True, tell_front=True,
         group="Play", order="27", note="The one to the viewer, the three on top"),
    Find("FB-029", "needle", "Netting needle, bone", "netting needle", organic.netting_needle, 20_000, "ply", "bone",
         1.9, LYING, 1.0, noise_mm=0.03, damage=(_scraps(5, 21),), unit="mm", stands=False,
         tell_up=True, tell_front=True,
         group="The crossing",
         order="29"),
)

LARGER = (
    Find("FB-022", "tile", "Tile fragment, a sprig in relief", "tile fragment", organic.tile, 20_000, "obj-png",
         "earthenware / terracotta", 1.88, FLAT, noise_mm=0.06, damage=(_scraps(7, 22),), unit="mm", weighed="g",
         condition="sound, glaze losses", stands=False, tell_up=True, tell_front=True,
         group="Kitchen and trade", order="22"),
    Find("FB-023", "lamp", "Oil lamp with a heron, sooted nozzle", "oil lamp", vessels.lamp, 26_000, "glb-jpg",
         "earthenware / terracotta", 1.86, mm_per_unit=1000.0, noise_mm=0.05, damage=(_turntable(2.2, 23),),
         weighed="g", wall="4 mm", group="Kitchen and trade", order="23", attitude=("", "20", "0", "0"),
         note="Inside not scanned"),
    Find("FB-028", "net_weight", "Net weight with finger marks", "net weight", organic.net_weight, 40_000, "glb-draco",
         "earthenware / terracotta", 1.8, FLAT, 1000.0, noise_mm=0.06, weighed="g", stands=False,
         group="The crossing", order="28"),
    Find("FB-030", "candlestick", "Candlestick, bent", "candlestick", vessels.candlestick, 16_000, "ply-ascii",
         "brass (object)", 8.45, tilted(Z_UP, (0, 0, 15)), 61.3, noise_mm=0.05,
         damage=(_underside(1.5, 24), _scraps(6, 25)), known=("height in",), tell_up=True,
         group="At table", order="30"),
    Find("FB-031", "dish", "Shallow dish with a reeded rim, étain", "dish", vessels.dish, 44_000, "glb-draco",
         "pewter / tin", 7.3, mm_per_unit=1000.0, noise_mm=0.03, weighed="g", condition="sound, bent",
         group="At table", order="31", attitude=("face-on", "", "", "")),
)

FINDS = tuple(sorted((*VESSELS, *METAL, *OTHER, *FIGURES, *SMALL, *LARGER), key=lambda find: find.number))
