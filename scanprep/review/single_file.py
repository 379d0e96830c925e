"""The review page as one file to send: the case as it stands, to look at anywhere without a network or a server.

The same page and modules as the server gives out, with the case, its pictures and coarse models written into it,
compressed. Nothing can be decided in it: it shows what is decided and what is still wanted. Its own policy lets it load
nothing from elsewhere.
"""

from __future__ import annotations

import base64
import gzip
import hashlib
import io
import json
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

from scanprep.files.atomic_write import write_atomically
from scanprep.plain_text import visible
from scanprep.plain_values import to_plain
from scanprep.review import pictures
from scanprep.review.card import card_of, hold_key
from scanprep.review.desk import Desk
from scanprep.review.web_files import WEB_FILES, web_text

#: layout: Longer side of a hold's picture in the file: three side by side on a tablet, ten kilobytes each.
SENT_px = 280
#: layout: Colours of a picture in the file; shading stays smooth to the eye.
SENT_COLOURS = 96
Progress = Callable[[int, int, str], None]

_BOOT = """
const inflated = async (id) => { const packed = Uint8Array.from(atob(document.getElementById(id).textContent),
  (letter) => letter.charCodeAt(0));
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).text(); };
const files = JSON.parse(await inflated("modules-in-file")), made = {};
// each module is given to the browser under an address of its own, those it needs before it
const address = (name) => made[name] ??= URL.createObjectURL(new Blob([files[name].replace(
  /(from\\s*|import\\()(["'])\\.\\/([\\w.]+)\\2/g, (_, lead, quote, needed) => lead + quote + address(needed) + quote)],
  { type: "text/javascript" }));
await import(address("app.js"));
"""


def write_single_file(desk: Desk, path: Path, progress: Progress) -> int:
    """Write the page with the case in it; return its size in bytes.

    progress  (done, of, sentence), called for each object

    Raises InputError where the file cannot be written.
    """
    page = single_file(desk, progress).encode("utf-8")
    write_atomically(path, page)
    return len(page)


def single_file(desk: Desk, progress: Progress) -> str:
    """Return the page with the case in it."""
    desk.catch_up()
    numbers = tuple(desk.specs)
    images: dict[str, str] = {}
    models: dict[str, str] = {}
    for at, number in enumerate(numbers, start=1):
        _pictures_of(desk, number, images, models)
        progress(at, len(numbers), f"pictures of {number}")
    whole = {"scene": to_plain(desk.scene), "shapes": to_plain(desk.shapes()), "pictures": images, "models": models,
             "cards": {number: to_plain(card_of(desk, number)) for number in numbers}}
    modules = {name: web_text(name) for name in WEB_FILES if name.endswith(".js")}
    return _page(desk.scene.title, _packed(whole), _packed(modules))


def _pictures_of(desk: Desk, number: str, images: dict[str, str], models: dict[str, str]) -> None:
    found = desk.seen(desk.key_of_shape(number))
    if found is None:
        return
    shape, spec, study = found
    cache = desk.folder.cache
    images[shape.key] = _smaller(pictures.sprite(cache, shape, spec, study), pictures.HOLD_px)
    models[shape.key] = base64.b64encode(gzip.compress(
        pictures.model(cache, shape.key, spec, study, False), 9, mtime=0)).decode()
    for index in range(len(study.survey.choices)):
        way = pictures.showing_picture(cache, shape.key, study, index)
        images[f"{shape.key}-showing-{index}"] = "" if way is None else _smaller(way, SENT_px)
    for hold in spec.holds.holds:
        key = hold_key(desk.folder, spec, hold)
        for view in pictures.HOLD_VIEWS:
            images[f"{key}-{view}"] = _smaller(pictures.hold_picture(cache, key, hold, spec, study, view), SENT_px)


def _smaller(png: bytes, most_px: int) -> str:
    """Return a picture with a smaller longer side and few colours, as base64 text."""
    from PIL import Image

    picture = Image.open(io.BytesIO(png))
    picture.thumbnail((most_px, most_px))
    sink = io.BytesIO()
    picture.quantize(SENT_COLOURS, Image.Quantize.FASTOCTREE).save(sink, "PNG", optimize=True)
    return base64.b64encode(sink.getvalue()).decode()


def _packed(plain: Any) -> str:
    text = json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return base64.b64encode(gzip.compress(text.encode("utf-8"), 9, mtime=0)).decode()


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode()}'"


def _page(title: str, case: str, modules: str) -> str:
    style = web_text("page.css")
    policy = (f"default-src 'none'; script-src {_hash(_BOOT)} blob:; style-src {_hash(style)}; img-src data: blob:; "
              "base-uri 'none'; form-action 'none'")
    _, _, body = web_text("index.html").partition("<body>")
    data = (f'<script type="text/plain" id="case-in-file">{case}</script>\n'
            f'<script type="text/plain" id="modules-in-file">{modules}</script>\n'
            f'<script type="text/plain" id="licence-of-three.js">{escape(web_text("three.LICENSE.txt"))}</script>\n'
            f'<script type="module">{_BOOT}</script>')
    return ('<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            f'<meta http-equiv="Content-Security-Policy" content="{policy}">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<title>{escape(visible(title))}</title>\n<style>{style}</style>\n</head>\n<body>{body}").replace(
        "</body>", f"{data}\n</body>")
