"""The colour of each vertex, looked up in the picture wrapped round the scan.

Texture coordinates put (0, 0) at the picture's lower left corner (OBJ, PLY) or upper left (glTF); whole numbers beyond
0..1 repeat the picture. Nearest pixel: the working mesh is far coarser than the picture. Comes in: encoded
pictures and coordinates; goes out: (n, 3) sRGB bytes. Used by the readers of `files`.
"""

from __future__ import annotations

import io
import warnings

import numpy as np
from numpy.typing import NDArray

from scanprep.files.mesh_source import MeshSource, told
from scanprep.vectors import F64, U8

MOST_PIXELS = 2**28  # format: 16384 x 16384, the largest atlas photogrammetry programs write; 0.8 GB as bytes
_ENOUGH_SIDE = 4096  # tolerance: JPEG can be decoded smaller at once; finer than any working mesh
GREY: tuple[int, int, int] = (128, 128, 128)  # layout: the colour of what has none


def decode_picture(source: MeshSource, name: str, content: bytes) -> U8:
    """Return a picture as (h, w, 3) sRGB bytes. Raises ScanError when it is huge or no picture."""
    from PIL import Image, UnidentifiedImageError

    allowed = Image.MAX_IMAGE_PIXELS
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = Image.open(io.BytesIO(content))
            width, height = image.size
            if width * height > MOST_PIXELS:
                raise _too_large(source, name, f"{width} x {height} px")
            image.draft("RGB", (_ENOUGH_SIDE, _ENOUGH_SIDE))
            return np.asarray(image.convert("RGB"), dtype=np.uint8)
    except Image.DecompressionBombError:
        raise _too_large(source, name, "above 0.5 gigapixel") from None
    except UnidentifiedImageError:
        raise source.refuse("the texture is no picture this can read", "Export the texture again as PNG or JPEG",
                            "texture", name) from None
    except (OSError, ValueError, SyntaxError, EOFError, IndexError, MemoryError, OverflowError) as problem:
        raise source.refuse(f"the texture cannot be read ({told(problem)})",
                            "Export the texture again, or remove it to read the shape without colours",
                            "texture", name) from problem
    finally:
        Image.MAX_IMAGE_PIXELS = allowed


def _too_large(source: MeshSource, name: str, size: str) -> Exception:
    return source.refuse(f"the texture is {size}, more than {MOST_PIXELS // 2**20} megapixels",
                         "Shrink the texture to 8192 x 8192 pixels or less", "texture", name)


def sampled(picture: U8, uv: F64, *, origin_below: bool) -> U8:
    """Return the colours (n, 3) of a picture (h, w, 3) at texture coordinates (n, 2)."""
    height, width = picture.shape[:2]
    wrapped = np.nan_to_num(uv, nan=0.0, posinf=0.0, neginf=0.0)
    # An exact 1 is the far edge, not the near one
    wrapped = np.where(wrapped == 1.0, 1.0, wrapped - np.floor(wrapped))
    column = np.minimum((wrapped[:, 0] * width).astype(np.int64), width - 1)
    down = 1.0 - wrapped[:, 1] if origin_below else wrapped[:, 1]
    row = np.clip((down * height).astype(np.int64), 0, height - 1)
    return np.asarray(picture[row, column], dtype=np.uint8)


def vertex_colours(
    vertices: int, faces: NDArray[np.integer], corner_uv: NDArray[np.integer], uv: F64,
    material: NDArray[np.integer], pictures: list[U8 | None], plain: list[tuple[int, int, int] | None],
) -> U8 | None:
    """Return a colour for each vertex, from the picture (or plain colour) of the material of one of its faces.

    faces      (m, 3) vertex indices
    corner_uv  (m, 3) rows of `uv`, -1 where a corner has none
    uv         (k, 2) texture coordinates, origin below
    material   (m,) index into `pictures` and `plain`, -1 where a face has none
    None where nothing gives a colour.
    """
    if all(picture is None for picture in pictures) and all(colour is None for colour in plain):
        return None
    colours = np.full((vertices, 3), GREY, dtype=np.uint8)
    which = np.full(vertices, -1, dtype=np.int64)
    which[faces.ravel()] = np.repeat(material, 3)
    place = np.full(vertices, -1, dtype=np.int64)
    place[faces.ravel()] = corner_uv.ravel()
    place[(place < -1) | (place >= len(uv))] = -1
    for index, (picture, colour) in enumerate(zip(pictures, plain)):
        mine = np.flatnonzero(which == index)
        if colour is not None:
            colours[mine] = colour
        if picture is not None:
            mine = mine[place[mine] >= 0]
            colours[mine] = sampled(picture, uv[place[mine]], origin_below=True)
    return colours
