"""Invented cases for the tests of this folder: simple bodies with posts, placed on panels.

Bodies are the shared known solids; posts are plain records made here, not worked out, since the case only asks where
they are.
"""

from dataclasses import replace

import numpy as np

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.placed import FacePosition, PlacedObject, Solid, outlines_of, post_solid
from scanprep.hold.records import Attitude, Hold, Hub
from scanprep.hold.wires.meshes import tube
from scanprep.post.records import Hole, Post, PostPlan
from tests import shapes

WEST = PanelBrief("West", 700.0, 2200.0, thickness_measured=True)
EAST = PanelBrief("East", 700.0, 2200.0, thickness_measured=True)
SOUTH = PanelBrief("South", 700.0, 2200.0, thickness_measured=True)
CASE = CaseBrief("invented", panels=(WEST, EAST, SOUTH))


def a_post(free_mm, back_mm, rod="3/16", diameter_mm=4.7625):
    post = Post("brass", rod, diameter_mm, (0.0, 0.0, back_mm), 20.0, free_mm, 20.0, free_mm + 20, free_mm + 50, 0.0,
                20.0, 20.0, 0.1, 0.1, 50.0)
    hole = Hole(None, None, None, None, "4.7", 4.7, (), 21.5, 1.412, 118.0, False, 7.0)
    return PostPlan(post, hole, (), ())


def a_hold(back_mm, hub_mm=10.0):
    attitude = Attitude("upright", 0.0, 0.0, 0.0, np.eye(3), "", 1.0)
    hub = Hub("plate", (0.0, 0.0, back_mm + 0.8), hub_mm, 1.6, ())
    return Hold(attitude, (), hub, None, (0.0, 0.0, back_mm), 0.0, 1.0, 0.5, 100.0, 0.2, 1.0, 0.0, 0.0, 0.5, 30.0,
                30.0, 30.0, back_mm, 1.0, (), (), ())


def an_object(number, solid, panel=None, face="A", left_mm=0.0, y_mm=0.0, stand_off_mm=20.0, rod="3/16",
              diameter_mm=4.7625, **more):
    """A solid about its own centre on a straight post from its back; anchor at its centre."""
    vertices = solid.vertices_mm - np.asarray(solid.centre_mm)
    body = Solid(vertices, solid.faces)
    back = float(vertices[:, 2].min()) - 5.0
    free = stand_off_mm - 5.0
    plan = a_post(free, back, rod, diameter_mm)
    stand = None if panel is None else FacePosition(panel, face, left_mm, y_mm)
    return PlacedObject(str(number), solid.name, body, (post_solid((0, 0, back), free, diameter_mm),),
                        outlines_of(body), a_hold(back), plan, stand, (0.0, 0.0), free - back,
                        solid.volume_mm3 * 2e-3, **more)


def _arms(vertices, back_mm, count, rng):
    """Bent wires from behind a body round its edge: what a mount looks like to its neighbours."""
    half = (vertices.max(axis=0) - vertices.min(axis=0)) / 2
    arms = []
    for angle in rng.uniform(0, 2 * np.pi) + np.arange(count) * 2 * np.pi / count:
        out = np.array([np.cos(angle), np.sin(angle)]) * (half[:2] + 2.5)
        curve = np.array([[0, 0, back_mm], [*out * 0.6, back_mm], [*out, vertices[:, 2].min()], [*out, half[2] * 0.3]])
        arms.append(Solid(*tube(curve, 0.8)))
    return tuple(arms)


def a_mounted(number, rng, **more):
    """One of several scan-like bodies of 4 to 12 thousand faces, 30 to 110 mm, with arms."""
    makers = (shapes.cup, shapes.bowl, shapes.bottle, shapes.spindle, lambda: shapes.ball(25, 80), shapes.ring,
              lambda: shapes.ellipsoid((30, 20, 12), 80), lambda: shapes.box(60, 40, 30, 20))
    solid = makers[int(rng.integers(len(makers)))]()
    size = rng.uniform(30, 110) / float(np.ptp(solid.vertices_mm, axis=0).max())
    item = an_object(number, solid.mapped(np.eye(3) * size, np.zeros(3)), **more)
    arms = _arms(item.body.vertices_mm, item.hold.attach_mm[2], int(rng.integers(3, 6)), rng)
    return replace(item, mount=(*item.mount, *arms))


def big_case(count=120, seed=1, groups=8):
    """A generated display: objects without places, groups, orders, some with fine detail."""
    rng = np.random.default_rng(seed)
    return [a_mounted(i + 1, rng, group=f"group {i * groups // count + 1}", order=float(i), fine_detail=i % 10 == 3)
            for i in range(count)]


def box(width_mm=40.0, height_mm=40.0, depth_mm=30.0):
    return shapes.box(width_mm, height_mm, depth_mm)
