"""What the server reads and answers, whatever it is about: bounded bodies in, packed JSON and files out.

Used by `server`, `shown` and `gate`.
"""

from __future__ import annotations

import gzip
import json
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from scanprep.review.messages import MOST_BYTES, MessageError
from scanprep.review.web_files import web_file

FOR_GOOD = "private, max-age=31536000, immutable"


def picture_of(png: bytes) -> Response:
    """Return a picture whose address names what it shows."""
    return Response(png, media_type="image/png", headers={"cache-control": FOR_GOOD})


async def body_of(request: Request) -> bytes:
    """Read a request's body as far as it may be long. Raises MessageError."""
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise MessageError("a message is sent as application/json")
    body = bytearray()
    async for piece in request.stream():
        body += piece
        if len(body) > MOST_BYTES:
            raise MessageError(f"the message is longer than the {MOST_BYTES} bytes that are read. Send less at once")
    return bytes(body)


def json_of(plain: Any) -> Response:
    """Return plain values as a packed answer that no browser keeps."""
    return packed(text_of(plain), "application/json", "no-store")


def text_of(plain: Any) -> bytes:
    """Return plain values as compact JSON."""
    return json.dumps(plain, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def packed(content: bytes, kind: str = "model/gltf-binary", keep: str = FOR_GOOD) -> Response:
    """Return bytes gzipped, to be kept by the browser unless said otherwise."""
    # level 1: a table's pages are on this machine or the next, so time counts for more than bytes
    return Response(gzip.compress(content, 1, mtime=0), media_type=kind,
                    headers={"content-encoding": "gzip", "cache-control": keep})


def file_of(name: str) -> Response:
    """Return a file of the page."""
    kind, content = web_file(name)
    return Response(content, media_type=kind, headers={"content-encoding": "gzip", "cache-control": "no-cache"})


def refused(status: int, sentence: str) -> JSONResponse:
    """Return a refusal as one sentence."""
    return JSONResponse({"sentence": sentence}, status)


async def refusal_of(request: Request, problem: Exception) -> Response:
    """Answer a refusal of the record or of a message as one sentence."""
    return refused(400 if isinstance(problem, MessageError) else 422, str(problem))
