"""What the browser gets: three.js byte for byte as its makers published it, and models that another reader opens."""

import hashlib
import io
import re
from importlib import resources

import numpy as np
import pytest
import trimesh

from scanprep.papers.pictures.shading import ShadedMesh
from scanprep.review.models import Model, coarse, glb
from scanprep.review.web_files import WEB_FILES, web_text
from tests import shapes

#: SHA-256 of files of the published package three 0.187.0 (`npm pack three@0.187.0`, folder build/ and LICENSE).
PUBLISHED = {
    "three.core.js": "613e370f76638fdef83926642bf256dc9615684922de1ce1f63a8583e5d78578",
    "three.module.js": "104f56145899722094556490d787aae0617cc2fc3382f31df02d724ea1aee341",
    "three.LICENSE.txt": "8b378ebe60e2fe500158cb0ac71cb5e8b7d92953c2abcc63a0eb90499653b5bc",
}
WEB = resources.files("scanprep.review").joinpath("web")


@pytest.mark.parametrize("name", PUBLISHED)
def test_three_is_the_published_file(name):
    assert hashlib.sha256(WEB.joinpath(name).read_bytes()).hexdigest() == PUBLISHED[name]


def test_every_file_of_the_page_is_served_and_no_other():
    assert {entry.name for entry in WEB.iterdir()} == set(WEB_FILES)


@pytest.mark.parametrize("name", [n for n in WEB_FILES if n.endswith((".js", ".css", ".html")) and n not in PUBLISHED])
def test_our_own_files_ask_for_nothing_from_elsewhere_and_make_no_markup_from_text(name):
    text = web_text(name)
    assert not [url for url in re.findall(r"[a-z]+://[^\s\"'`]+", text)
                if not url.startswith(("ws://${location.host}", "http://www.w3.org/2000/svg"))]
    assert "innerHTML" not in text and "insertAdjacentHTML" not in text and "eval(" not in text
    assert "document.write" not in text


def test_every_module_of_ours_is_asked_for_at_once():
    ours = {name for name in WEB_FILES if name.endswith(".js") and name not in PUBLISHED} - {"app.js"}
    assert set(re.findall(r'rel="modulepreload" href="/web/([\w.]+)"', web_text("index.html"))) == ours


def test_a_model_is_gltf_that_another_reader_opens():
    ball = shapes.ball(25.0, 24)
    tint = np.full((len(ball.vertices_mm), 3), (200, 100, 50), dtype=np.uint8)
    read = trimesh.load(io.BytesIO(glb([Model("object", ball.vertices_mm, ball.faces, tint)])), file_type="glb")
    mesh = next(iter(read.geometry.values()))
    assert len(mesh.faces) == len(ball.faces)
    assert mesh.volume == pytest.approx(ball.volume_mm3, rel=1e-5)  # float32 positions
    assert tuple(mesh.visual.vertex_colors[0][:3]) == (200, 100, 50)


def test_a_coarse_model_keeps_size_and_colour():
    ball = shapes.ball(25.0, 80)
    tint = np.where(ball.vertices_mm[:, [0]] > 0, [[255, 0, 0]], [[0, 0, 255]]).astype(np.uint8)
    points, faces, colours = coarse(ShadedMesh(ball.vertices_mm, ball.faces, tint), 1000)
    assert len(faces) <= 1100
    # an inscribed polyhedron of 1000 faces loses about 1 % of a ball's volume (4 pi / n for an even triangulation)
    corners = points[faces]
    volume = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6
    assert volume == pytest.approx(ball.volume_mm3, rel=0.02)
    assert (colours[points[:, 0] > 3] == (255, 0, 0)).all() and (colours[points[:, 0] < -3] == (0, 0, 255)).all()
