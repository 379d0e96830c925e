"""Reading drawings back without our own writers: pixels (pdfium), vectors (pdfplumber), SVG (ElementTree), DXF (pairs).

Positions come back in mm from the page's lower left corner. The checks at the end say how far a drawing is from the
record; the mutants must fail them.
"""

import functools
import io
import math
from xml.etree import ElementTree as Tree

import numpy as np
import pdfplumber
import pypdf
import pypdfium2

MM_PT = 25.4 / 72


@functools.lru_cache(maxsize=8)
def pdf_book(data):
    """A drawing opened for reading. Kept, since parsing a page is what takes the time: read it as often as you like."""
    return pdfplumber.open(io.BytesIO(data))


def pdf_circles(data, page=0):
    """(x, y, diameter) of every circle drawn as four curves, mm from the page's lower left."""
    found = []
    for curve in pdf_book(data).pages[page].curves:
        wide, tall = curve["x1"] - curve["x0"], curve["y1"] - curve["y0"]
        if len(curve["pts"]) >= 5 and abs(wide - tall) < 0.02:
            found.append(((curve["x0"] + curve["x1"]) / 2 * MM_PT, (curve["y0"] + curve["y1"]) / 2 * MM_PT,
                          (wide + tall) / 2 * MM_PT))
    return found


def pdf_lines(data, page=0):
    """((x0, y0), (x1, y1)) of every straight line, mm from the page's lower left."""
    sheet = pdf_book(data).pages[page]
    top = float(sheet.height)
    return [tuple((px * MM_PT, (top - py) * MM_PT) for px, py in line["pts"]) for line in sheet.lines]


def pdf_words(data, page=None):
    pages = pdf_book(data).pages
    return "\n".join(sheet.extract_text() for sheet in (pages if page is None else [pages[page]]))


@functools.lru_cache(maxsize=4)
def pixels(data, page=0, dpi=300):
    """Grey levels (h, w) of a page; row 0 is the top. The last few are kept: a page is drawn once for all its holes."""
    book = pypdfium2.PdfDocument(data)
    image = book[page].render(scale=dpi / 72, grayscale=True).to_numpy()
    return image[..., 0] if image.ndim == 3 else image


def raster_circle(grey, from_left_mm, y_mm, radius_mm, dpi=300):
    """Fit a circle to dark pixels near where one is expected, by least squares three times: centre, diameter, mm."""
    pitch = 25.4 / dpi
    height = grey.shape[0]
    cx, cy, r = from_left_mm, y_mm, radius_mm
    for _ in range(3):
        reach = r + 0.8
        c0, c1 = int((cx - reach) / pitch), int((cx + reach) / pitch) + 1
        r0, r1 = int(height - (cy + reach) / pitch), int(height - (cy - reach) / pitch) + 1
        rows, columns = np.nonzero(grey[max(r0, 0):r1, max(c0, 0):c1] < 128)
        x = (columns + max(c0, 0) + 0.5) * pitch
        y = (height - (rows + max(r0, 0) + 0.5)) * pitch
        near = np.abs(np.hypot(x - cx, y - cy) - r) < 0.35
        x, y = x[near], y[near]
        if len(x) < 20:
            return (math.nan, math.nan, math.nan)
        solved, *_ = np.linalg.lstsq(np.stack([2 * x, 2 * y, np.ones_like(x)], axis=1), x**2 + y**2, rcond=None)
        cx, cy = float(solved[0]), float(solved[1])
        r = float(np.sqrt(solved[2] + cx**2 + cy**2))
    return cx, cy, 2 * r


def svg_circles(data):
    """(x, y, diameter) of every circle, mm from the page's lower left, and the page's size by its own attributes."""
    root = Tree.fromstring(data)
    wide, tall = (float(root.get(side).removesuffix("mm")) for side in ("width", "height"))
    box = [float(v) for v in root.get("viewBox").split()]
    assert box == [0, 0, wide, tall]  # user unit = 1 mm
    ns = "{http://www.w3.org/2000/svg}"
    return [(float(c.get("cx")), tall - float(c.get("cy")), 2 * float(c.get("r"))) for c in root.iter(f"{ns}circle")]


def dxf_entities(data):
    """Entities of a DXF as lists of (group code, value), read by the format's pairs of lines alone."""
    lines = data.decode("utf-8").splitlines()
    pairs = [(int(lines[i]), lines[i + 1]) for i in range(0, len(lines) - 1, 2)]
    start = next(i for i, pair in enumerate(pairs) if pair == (2, "ENTITIES"))
    out = []
    for code, value in pairs[start + 1:]:
        if code == 0 and value == "ENDSEC":
            return out
        if code == 0:
            out.append([value, []])
        else:
            out[-1][1].append((code, value))
    raise AssertionError("the ENTITIES section does not end")


def dxf_circles(data):
    """(x, y, diameter, layer) of every CIRCLE."""
    out = []
    for kind, pairs in dxf_entities(data):
        if kind == "CIRCLE":
            group = dict(pairs)
            out.append((float(group[10]), float(group[20]), 2 * float(group[40]), group[8]))
    return out


def hole_errors(found, expected):
    """For each expected (x, y, diameter): distance to the nearest found circle of its size (within 0.3 mm), mm."""
    errors = []
    for x, y, diameter in expected:
        near = [math.hypot(c[0] - x, c[1] - y) for c in found if abs(c[2] - diameter) < 0.3]
        errors.append(min(near, default=math.inf))
    return errors


def page_holes(holes, origin):
    """Where the record says holes stand on a page: origin is the face's lower left corner on it."""
    return [(h.from_left_mm + origin[0], h.y_mm + origin[1], h.drill_diameter_mm) for h in holes]


def overlapping_words(data, page=None, share=0.15):
    """Pairs of words that print over each other: ink boxes of letters (their capitals' height) that meet.

    share  of the smaller letter's box that another word's letter may cover before it counts
    """
    pages, clashes = pdf_book(data).pages, []
    for sheet in pages if page is None else [pages[page]]:
        clashes += _clashes(_inked(sheet), share)
    return sorted(set(clashes))


def _inked(sheet):
    """(text, (n, 4) ink boxes of its letters in points) of every word of a page."""
    words = sheet.extract_words(x_tolerance=1.2, y_tolerance=1, keep_blank_chars=True, return_chars=True,
                                extra_attrs=["size"])
    found = []
    for word in words:
        # the pale warning across a template stands under everything on purpose
        letters = [c for c in word["chars"]
                   if c["text"].strip() and abs((c["non_stroking_color"] or (0,))[0] - 0.82) > 0.005]
        # DejaVu: capitals are 0.73 em high and stand 0.24 em over the box's lower edge
        boxes = [(c["x0"], c["bottom"] - 0.97 * c["size"], c["x1"], c["bottom"] - 0.24 * c["size"])
                 if c["upright"] else (c["x0"], c["top"], c["x1"], c["bottom"]) for c in letters]
        if boxes:
            found.append((word["text"], np.array(boxes)))
    return found


def _clashes(words, share):
    boxes = np.concatenate([boxes for _, boxes in words]) if words else np.empty((0, 4))
    owner = np.repeat(np.arange(len(words)), [len(boxes) for _, boxes in words])
    order = np.argsort(boxes[:, 1])
    boxes, owner = boxes[order], owner[order]
    # each box with those that begin above its end, all at once
    ends = np.searchsorted(boxes[:, 1], boxes[:, 3])
    counts = np.maximum(ends - np.arange(len(boxes)) - 1, 0)
    i = np.repeat(np.arange(len(boxes)), counts)
    j = i + 1 + np.arange(len(i)) - np.repeat(np.cumsum(counts) - counts, counts)
    i, j = i[owner[i] != owner[j]], j[owner[i] != owner[j]]
    wide, tall = (np.minimum(boxes[i, k + 2], boxes[j, k + 2]) - np.maximum(boxes[i, k], boxes[j, k]) for k in (0, 1))
    size = np.prod(boxes[:, 2:] - boxes[:, :2], axis=1)
    over = np.maximum(wide, 0.0) * tall > share * np.minimum(size[i], size[j])
    return [(words[owner[a]][0], words[owner[b]][0]) for a, b in zip(i[over], j[over])]


#: What sets text, its place and its colour, PDF 32000-1:2008, annex A; without the rest a page is read twice as fast.
_TEXT_OPERATORS = frozenset(b"BT ET Tf Td TD Tm T* Tc Tw Tz TL Tr Ts q Q cm g rg k cs sc scn gs".split())


def _text_apart(operations):
    """A page's operations for its text in two parts: what stands under its clipping path, and the rest; and the path's
    box in points, None where nothing is clipped.

    PDF 32000-1:2008, 8.5.4: `re` then `W` or `W*` clips all that follows up to the `Q` of its `q`.
    """
    parts, depth, clipped, box, clip = ([], []), 0, None, None, None
    for operands, operator in operations:
        depth += (operator == b"q") - (operator == b"Q")
        if operator == b"re":
            box = [float(v) for v in operands]
        if operator in (b"W", b"W*"):
            assert clipped is None and clip is None, "one clipping path a page is all that this reader knows"
            clipped, clip = depth, box
        if operator == b"Q" and clipped is not None and depth < clipped:
            clipped = None
        if operator in (b"Tj", b"TJ", b"'"):
            parts[0 if clipped is not None else 1].append((operands, operator))
        elif operator in _TEXT_OPERATORS:  # graphics state stays in both
            for part in parts:
                part.append((operands, operator))
    return parts, clip


@functools.lru_cache(maxsize=2)
def _halves(data):
    """A drawing as two books, its text under the clipping paths and the rest; and each page's path, a box in points."""
    reader, writers, clips = pypdf.PdfReader(io.BytesIO(data)), (pypdf.PdfWriter(), pypdf.PdfWriter()), []
    for sheet in reader.pages:
        parts, clip = _text_apart(pypdf.generic.ContentStream(sheet.get_contents(), reader).operations)
        clips.append(clip)
        for writer, part in zip(writers, parts):
            content = pypdf.generic.ContentStream(None, writer)
            content.operations = part
            writer.add_page(sheet).replace_contents(content)
    books = []
    for writer in writers:
        sink = io.BytesIO()
        writer.write(sink)
        books.append(pdfplumber.open(io.BytesIO(sink.getvalue())))
    return *books, clips


def tile_pages(data):
    """The pages of a drawing whose words stand under a clipping path: the tiles."""
    return [page for page, clip in enumerate(_halves(data)[2]) if clip is not None]


def tile_words(data, page, share=0.15):
    """What a tile of a template shows: (pairs of words over each other, words that its window cuts)."""
    inside, outside, clips = _halves(data)
    under, rest, (left, low, wide, tall) = inside.pages[page], outside.pages[page], clips[page]
    height = float(under.height)
    window = np.array([left, height - low - tall, left + wide, height - low])
    shown, cut = _inked(rest), []
    for text, boxes in _inked(under):
        visible = np.column_stack([np.maximum(boxes[:, :2], window[:2]), np.minimum(boxes[:, 2:], window[2:])])
        seen = np.all(visible[:, 2:] > visible[:, :2], axis=1)
        if seen.any():
            shown.append((text, visible[seen]))
            if not np.allclose(visible, boxes, atol=0.15):
                cut.append(text)
    return sorted(set(_clashes(shown, share))), sorted(set(cut))
