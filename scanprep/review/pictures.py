"""Pictures and models that the page shows, made once for each shape and kept beside the case.

Sprites are an object with its mount straight from the front, to scale, on nothing: what stands on the elevations. Hold
pictures show each hold from three sides. Coarse models (about a thousand faces) stand in the whole case; fine ones show
one object that is looked at. All come from `papers.pictures`, so that page and papers look alike. The thread that calls
is kept busy for a tenth of a second to a second; nothing here writes but to the cache.
"""

from __future__ import annotations

import numpy as np

from scanprep.files.cache import Cache
from scanprep.hold.records import Hold
from scanprep.papers.drawing.sheet import Box
from scanprep.papers.pictures.choices_picture import display_turn
from scanprep.papers.pictures.scenes import shaded_mount, shaded_object, shaded_stub
from scanprep.papers.pictures.shading import VIEWS, PictureScene, ShadedMesh, picture_bytes
from scanprep.review.models import Model, coarse, glb
from scanprep.review.scene import Shape
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.survey.records import Survey
from scanprep.vectors import U8

#: layout: Longer side of a hold's picture: three side by side on a tablet.
HOLD_px = 420
#: layout: Room round what is drawn, of its longer side.
_RIM = 0.03
_STUB_SHARE = 0.12  # layout: of the object's diagonal: enough to tell a post by, short enough to leave the object large
#: Views of a hold, as the address names them.
HOLD_VIEWS = {"front": "front", "quarter": "three-quarter", "behind": "from behind"}
_COARSE_FACES, _FINE_FACES = 1_000, 20_000  # layout: a tablet draws fifty coarse models, and one fine one


def _clear(pixels: U8, inside: np.ndarray) -> bytes:
    """Return a picture as PNG with nothing where nothing was hit."""
    alpha = np.where(inside, 255, 0).astype(np.uint8)
    return picture_bytes(np.dstack([pixels, alpha]))


def _upright(spec: MountSpec, working: WorkingMesh) -> ShadedMesh:
    """An object that has no hold, as the survey found it upright."""
    survey: Survey = spec.survey
    turned = (working.vertices_mm - np.asarray(survey.centre_of_mass_mm)) @ survey.to_object.rotation.T
    return ShadedMesh(np.asarray(turned), working.faces, working.colours)


def _meshes(spec: MountSpec, working: WorkingMesh, whole_post: bool) -> list[ShadedMesh]:
    if spec.hold is None:
        return [_upright(spec, working)]
    mount = shaded_mount(spec.hold, spec.plan) if whole_post else shaded_stub(spec.hold, spec.plan, 1.0)
    return [shaded_object(working, spec.survey, spec.hold.attitude), *mount]


def sprite(cache: Cache, shape: Shape, spec: MountSpec, study: ObjectStudy) -> bytes:
    """Return an object with its mount straight from the front, its shape's window filled, as PNG on nothing."""
    kept = cache.load_bytes("review", f"{shape.key}.png")
    if kept is not None:
        return kept
    left, bottom, right, top = shape.window_mm
    scene = PictureScene(_meshes(spec, study.working, False), sky_rays=16)
    picture = scene.view(VIEWS["front"], Box(left, bottom, right, top), shape.mm_per_px)
    made = _clear(picture.pixels, picture.inside)
    cache.keep_bytes("review", f"{shape.key}.png", made)
    return made


def hold_picture(cache: Cache, key: str, hold: Hold, spec: MountSpec, study: ObjectStudy, view: str) -> bytes:
    """Return one hold from one side (`HOLD_VIEWS`) as PNG, on nothing; all three sides are made and kept at once, at
    one scale.

    key  of the study and the hold
    """
    kept = cache.load_bytes("review", f"{key}-{view}.png")
    if kept is not None:
        return kept
    stub_mm = max(_STUB_SHARE * study.survey.diagonal_mm, 2.0)
    scene = PictureScene([shaded_object(study.working, study.survey, hold.attitude),
                          *shaded_stub(hold, spec.plan, stub_mm)], sky_rays=16)
    frames = {name: scene.window(VIEWS[VIEWS_name]) for name, VIEWS_name in HOLD_VIEWS.items()}
    side = (1 + 2 * _RIM) * max(max(f.width_mm, f.height_mm) for f in frames.values())
    made = {}
    for name, frame in frames.items():
        picture = scene.view(VIEWS[HOLD_VIEWS[name]], _square(frame, side), side / HOLD_px)
        made[name] = _clear(picture.pixels, picture.inside)
        cache.keep_bytes("review", f"{key}-{name}.png", made[name])
    return made[view]


def _square(frame: Box, side_mm: float) -> Box:
    x, y = (frame.left_mm + frame.right_mm) / 2, (frame.bottom_mm + frame.top_mm) / 2
    return Box(x - side_mm / 2, y - side_mm / 2, x + side_mm / 2, y + side_mm / 2)


def model(cache: Cache, key: str, spec: MountSpec, study: ObjectStudy, fine: bool) -> bytes:
    """Return an object with its mount and post as binary glTF 2.0, display frame in mm, one mesh a part by its name."""
    name = f"{key}-{'fine' if fine else 'coarse'}-parts.glb"
    kept = cache.load_bytes("review", name)
    if kept is not None:
        return kept
    meshes = _meshes(spec, study.working, True)
    parts = [Model("object", *coarse(meshes[0], _FINE_FACES if fine else _COARSE_FACES))]
    parts += [Model(m.name, m.vertices_mm, m.faces, _all_over(m.colours, len(m.vertices_mm))) for m in meshes[1:]]
    made = glb(parts)
    cache.keep_bytes("review", name, made)
    return made


def hold_model(hold: Hold, spec: MountSpec, study: ObjectStudy) -> bytes:
    """Return one hold of an object as binary glTF 2.0, fine, with its own post or a stub; a mesh for each part, so that
    the arm that opens can be moved."""
    plan = spec.plan if spec.hold is hold else None
    meshes = [shaded_object(study.working, study.survey, hold.attitude), *shaded_stub(hold, plan, 20.0)]
    return glb([Model("object" if i == 0 else m.name, m.vertices_mm, m.faces,
                      _all_over(m.colours, len(m.vertices_mm))) for i, m in enumerate(meshes)])


def skin_model(cache: Cache, key: str, study: ObjectStudy) -> bytes:
    """Return the object alone as binary glTF 2.0 in its scan's axes, mm: what a brush paints on and a hand turns.

    key  of the study
    """
    kept = cache.load_bytes("review", f"{key}-skin.glb")
    if kept is None:
        skin = ShadedMesh(study.working.vertices_mm, study.working.faces, study.working.colours)
        kept = glb([Model("object", *coarse(skin, _FINE_FACES))])
        cache.keep_bytes("review", f"{key}-skin.glb", kept)
    return kept


def showing_picture(cache: Cache, key: str, study: ObjectStudy, index: int) -> bytes | None:
    """Return one of the ways in which an object may be shown as PNG; None where there is none of that index.

    key  of the study
    """
    if not 0 <= index < len(study.survey.choices):
        return None
    name = f"{key}-showing-{index}.png"
    kept = cache.load_bytes("review", name)
    if kept is None:
        one = study.survey.choices[index]
        skin = study.working.vertices_mm - np.asarray(study.survey.centre_of_mass_mm)
        scene = PictureScene([ShadedMesh(skin, study.working.faces, study.working.colours)], sky_rays=16)
        turn = display_turn(one.up, one.front)
        window = scene.window(turn)
        side = (1 + 2 * _RIM) * max(window.width_mm, window.height_mm)
        picture = scene.view(turn, _square(window, side), side / HOLD_px)
        kept = _clear(picture.pixels, picture.inside)
        cache.keep_bytes("review", name, kept)
    return kept


def _all_over(colours: U8, count: int) -> U8:
    return np.asarray(np.broadcast_to(colours, (count, 3)), dtype=np.uint8)
