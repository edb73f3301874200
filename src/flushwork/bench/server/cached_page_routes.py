"""Routes of the look kept from last time, until something has been built."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.cached_page import FACES, CachedPage
from flushwork.bench.desk.snapshot import CACHED, framed
from flushwork.bench.server.answers import body_of, desk_of, face_asked

RAW = "application/octet-stream"


def _kept(request: Request) -> CachedPage:
    kept = desk_of(request).cached_page
    if kept is None:
        raise HTTPException(404, "No look was kept.")
    return kept


async def film(request: Request) -> Response:
    """Answer with the index of the kept film."""
    return JSONResponse(_kept(request).index)


async def tiles(request: Request) -> Response:
    """Answer with the pixels of kept tiles."""
    kept, sent = _kept(request), await body_of(request)
    wanted = sent.get("want")
    count = len(kept.index["tiles"])
    if not isinstance(wanted, list) or not all(type(n) is int and 0 <= n < count for n in wanted):
        raise HTTPException(400, "Tiles are asked for by their numbers.")
    return Response(await run_in_threadpool(kept.tiles, wanted), media_type=RAW)


async def first(request: Request) -> Response:
    """Answer with all pixels of a face at once, for a page that has not even read the index."""
    kept, face = _kept(request), face_asked(request)
    sent = kept.of_face(FACES.index(face))
    pixels = await run_in_threadpool(kept.tiles, sent)
    return Response(framed({"sent": sent}, pixels), media_type=RAW)


async def surround(request: Request) -> Response:
    """Answer with the bare wood or the trim line of a face."""
    kept, what = _kept(request), request.path_params["what"]
    face = face_asked(request)
    if what not in ("wood", "inside"):
        raise HTTPException(404, "That has to wait for the build.")
    return Response(await run_in_threadpool(kept.bytes_of, f"{what}-{face}"), media_type=RAW)


ROUTES = [
    Route(f"/board/{CACHED}/film", film),
    Route(f"/board/{CACHED}/tiles", tiles, methods=["POST"]),
    Route(f"/board/{CACHED}/first", first),
    Route(f"/board/{CACHED}/{{what}}", surround),
]
