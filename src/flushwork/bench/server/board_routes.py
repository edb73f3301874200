"""Routes of the living board: its film, tiles close up, outlines, stills, sections, columns."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.film.close_tiles import MOST_TILES, CloseTiles
from flushwork.bench.film.cut_lines import outlines_told
from flushwork.bench.film.section_data import column_data, section_data
from flushwork.bench.film.stills import finding_drawing, finding_still, part_still, still
from flushwork.bench.server.answers import (
    answer,
    body_of,
    face_asked,
    in_sight,
    lengths_asked,
    reads_of,
    stage_asked,
    units_of,
)
from flushwork.core.units.shown import shown_markup
from flushwork.strata.surfaces import TILE_CELLS

if TYPE_CHECKING:
    from flushwork.bench.film.film import Film

RAW = "application/octet-stream"


async def film(request: Request) -> Response:
    """Answer with everything of the film but its pixels."""
    snapshot = in_sight(request)
    return JSONResponse(snapshot.film.index())


async def tiles(request: Request) -> Response:
    """Answer with the pixels of the tiles asked for, by number."""
    sent = await body_of(request)
    made = in_sight(request).film
    wanted = _numbers(sent, made)
    return Response(await run_in_threadpool(made.pixels, wanted), media_type=RAW)


def _numbers(sent: dict[str, Any], film: Film) -> list[int]:
    wanted = sent.get("want")
    if not isinstance(wanted, list) or not all(
        type(each) is int and 0 <= each < len(film.tiles) for each in wanted
    ):
        raise HTTPException(400, "Tiles are asked for by their numbers.")
    return wanted


async def close(request: Request) -> Response:
    """Answer with what tiles are called close up, ``factor`` cells to a pixel."""
    sent = await body_of(request)
    film = in_sight(request).film
    wanted, factor = _numbers(sent, film), sent.get("factor")
    if type(factor) is not int or factor < 1 or TILE_CELLS % factor or len(wanted) > MOST_TILES:
        raise HTTPException(400, "So many cells to a pixel, or so many tiles, there cannot be.")
    tiles = [film.tiles[number] for number in wanted]
    names = await run_in_threadpool(_close_tiles(request).names, tiles, factor)
    return JSONResponse({"names": names})


async def close_tile(request: Request) -> Response:
    """Answer with a tile close up by its hash, to be kept for good."""
    data = await run_in_threadpool(_close_tiles(request).data, request.path_params["name"])
    if data is None:
        raise HTTPException(410, "That tile is forgotten; ask what it is called again.")
    kept = {"cache-control": "private, max-age=31536000, immutable"}
    return Response(data, media_type=RAW, headers=kept)


def _close_tiles(request: Request) -> CloseTiles:
    tiles: CloseTiles = request.app.state.close_tiles
    return tiles


async def edges(request: Request) -> Response:
    """Answer with the outlines of all that a face is cut and filled in."""
    snapshot, face = in_sight(request), face_asked(request)
    data = await run_in_threadpool(outlines_told, snapshot, face)
    return Response(data, media_type=RAW)


async def wood(request: Request) -> Response:
    """Answer with the bare wood of a face."""
    return Response(in_sight(request).film.wood[face_asked(request)].tobytes(), media_type=RAW)


async def inside(request: Request) -> Response:
    """Answer with how much of each pixel lies inside the trim line."""
    return Response(in_sight(request).film.inside[face_asked(request)].tobytes(), media_type=RAW)


async def picture(request: Request) -> Response:
    """Answer with a still picture of a face after a stage."""
    snapshot, face = in_sight(request), face_asked(request)
    stage = stage_asked(request, snapshot)
    return Response(await run_in_threadpool(still, snapshot, stage, face), media_type="image/png")


async def part(request: Request) -> Response:
    """Answer with the finished face of another part of the job than the page shows."""
    snapshot, number = in_sight(request), request.path_params["number"]
    if number >= len(snapshot.made.parts):
        raise HTTPException(404, "The job has no such part.")
    drawn = await run_in_threadpool(part_still, snapshot, number, face_asked(request))
    return Response(drawn, media_type="image/png")


async def place(request: Request) -> Response:
    """Answer with the picture that leads a finding: its place, or what it is about."""
    snapshot = in_sight(request)
    number = request.path_params["number"]
    if number >= len(snapshot.made.findings):
        raise HTTPException(404, "There is no such finding.")
    finding = snapshot.made.findings[number]
    return Response(
        await run_in_threadpool(finding_still, snapshot, finding), media_type="image/png"
    )


async def drawn(request: Request) -> Response:
    """Answer with the figure of a finding, drawn at its place."""
    snapshot, number = in_sight(request), request.path_params["number"]
    if number >= len(snapshot.made.findings):
        raise HTTPException(404, "There is no such finding.")
    finding = snapshot.made.findings[number]
    svg = await run_in_threadpool(
        finding_drawing, snapshot, finding, units_of(request, "", snapshot)
    )
    if svg is None:
        raise HTTPException(404, "Nothing is measured at that finding's place.")
    shown = shown_markup(svg, reads_of(snapshot, units_of(request, "", snapshot)))
    return Response(shown, media_type="image/svg+xml")


async def cut(request: Request) -> Response:
    """Answer with the section along a line."""
    snapshot, face = in_sight(request), face_asked(request)
    x0, y0, x1, y1 = lengths_asked(request, "x0", "y0", "x1", "y1")
    stage = stage_asked(request, snapshot)
    if math.dist((x0, y0), (x1, y1)) < snapshot.film.spec.cell_mm:
        raise HTTPException(400, "That line has no length: drag from one place to another.")
    made = await run_in_threadpool(lambda: snapshot.made)
    return answer(request, snapshot, section_data(made, stage, face, (x0, y0), (x1, y1)))


async def column(request: Request) -> Response:
    """Answer with what lies at one place."""
    snapshot, face = in_sight(request), face_asked(request)
    x, y = lengths_asked(request, "x", "y")
    return answer(
        request, snapshot, column_data(snapshot.made, stage_asked(request, snapshot), face, x, y)
    )


ROUTES = [
    Route("/{generation:int}/film", film),
    Route("/{generation:int}/tiles", tiles, methods=["POST"]),
    Route("/{generation:int}/close", close, methods=["POST"]),
    Route("/close/{name}", close_tile),
    Route("/{generation:int}/edges", edges),
    Route("/{generation:int}/wood", wood),
    Route("/{generation:int}/inside", inside),
    Route("/{generation:int}/still", picture),
    Route("/{generation:int}/place/{number:int}", place),
    Route("/{generation:int}/part/{number:int}", part),
    Route("/{generation:int}/drawn/{number:int}", drawn),
    Route("/{generation:int}/section", cut),
    Route("/{generation:int}/column", column),
]
