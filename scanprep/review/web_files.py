"""The files of the page as they lie in the package: a fixed list, so that no address can reach any other file.

`three.core.js` and `three.module.js` are three.js as published (MIT, `three.LICENSE.txt`); the rest is ours. Reads
package files only. Used by `server` and `single_file`.
"""

from __future__ import annotations

import functools
import gzip
from importlib import resources

_SCRIPT = "text/javascript; charset=utf-8"
#: Every file that a browser may have, and its kind.
WEB_FILES = {
    "index.html": "text/html; charset=utf-8", "page.css": "text/css; charset=utf-8",
    "three.LICENSE.txt": "text/plain; charset=utf-8",
    **dict.fromkeys(("app.js", "dom.js", "visible.js", "measures.js", "source.js", "store.js", "elevation.js",
                     "strip.js", "card.js", "findings.js", "moves.js", "people.js", "space.js", "glb.js", "gaps.js",
                     "layouts.js", "faces.js", "object.js", "skin.js", "compare.js", "unsent.js",
                     "three.core.js", "three.module.js"), _SCRIPT),
}


def web_text(name: str) -> str:
    """Return a file of the page as text. Raises KeyError where it is none."""
    if name not in WEB_FILES:
        raise KeyError(name)
    return resources.files("scanprep.review").joinpath("web", name).read_text(encoding="utf-8")


@functools.cache
def web_file(name: str) -> tuple[str, bytes]:
    """Return the kind of a file of the page and its gzipped bytes. Raises KeyError where it is none."""
    return WEB_FILES[name], gzip.compress(web_text(name).encode("utf-8"), 6, mtime=0)
