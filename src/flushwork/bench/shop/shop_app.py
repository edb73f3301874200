"""The shop as a web application: its jobs, what can be done with them, and its own file."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import Any, Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from flushwork.bench.server.answers import body_of, in_words, words
from flushwork.bench.server.app import packed, static
from flushwork.bench.server.guard import App, Guard
from flushwork.bench.server.resources import templates
from flushwork.bench.shop.job_cards import key_of, outline_svg, shop_view
from flushwork.bench.shop.open_benches import OpenBenches
from flushwork.bench.shop.own_file_routes import OWN_ROUTES, own_file
from flushwork.core.findings import FlushworkError
from flushwork.usecases.shop_jobs import (
    SHOP_FILE,
    ShopJob,
    blank_size,
    copy_job,
    first_board,
    from_attic,
    rename_job,
    shop_jobs,
    slips_in,
    start_job,
    to_attic,
)

PICTURE_PX: Final = 560
MOST_PICTURE_BYTES: Final = 40 * 1024 * 1024


def shop_app(
    folder: Path, benches: OpenBenches, hosts: frozenset[str], clock: Callable[[], dt.datetime]
) -> App:
    """Return the application that serves one shop under the Host values ``hosts``."""
    app = Starlette(routes=ROUTES, exception_handlers={HTTPException: in_words, 500: in_words})
    app.state.folder, app.state.benches, app.state.clock = folder, benches, clock
    app.state.seen, app.state.shop_file = {}, own_file(folder)
    return Guard(packed(app), hosts)


def _folder(request: Request) -> Path:
    folder: Path = request.app.state.folder
    return folder


def _benches(request: Request) -> OpenBenches:
    benches: OpenBenches = request.app.state.benches
    return benches


def _cards(request: Request, template: str, **more: Any) -> str:
    folder, now = _folder(request), request.app.state.clock().astimezone()
    try:
        found = shop_jobs(folder)
    except FlushworkError as error:
        raise HTTPException(500, _sentence(error)) from None
    # each card asks for its picture: the folder is not looked through again for each
    request.app.state.seen = {key_of(job): job for job in (*found.jobs, *found.attic)}
    view = shop_view(found, _benches(request).paths(), now)
    return templates().get_template(template).render(shop=view, **more)


def _sentence(error: Exception) -> str:
    said = str(error).rstrip(".")
    return f"{said[:1].upper()}{said[1:]}."


async def page(request: Request) -> Response:
    """Answer with the shop's page."""
    folder = _folder(request)
    has_shop = (folder / SHOP_FILE).is_file()
    if not has_shop and "skip" not in request.query_params and not await _any_jobs(folder):
        return RedirectResponse("/first", status_code=303)
    given = {"name": folder.resolve().name, "has_shop": has_shop}
    return HTMLResponse(await run_in_threadpool(lambda: _cards(request, "jobs.html.j2", **given)))


async def _any_jobs(folder: Path) -> bool:
    try:
        found = await run_in_threadpool(shop_jobs, folder)
    except FlushworkError:
        return True
    return bool(found.jobs or found.attic)


async def cards(request: Request) -> Response:
    """Answer with the cards alone, as they are by now."""
    html = await run_in_threadpool(_cards, request, "job_cards.html.j2")
    return JSONResponse({"html": html})


def _job(request: Request, key: str, *, attic: bool = False) -> ShopJob:
    found = shop_jobs(_folder(request))
    for job in found.attic if attic else found.jobs:
        if key_of(job) == key:
            return job
    raise HTTPException(404, "That job is no longer there: look at the shop again.")


async def picture(request: Request) -> Response:
    """Answer with the picture of a finished board, or the outline of the wood."""
    return await run_in_threadpool(_picture, request)


def _picture(request: Request) -> Response:
    job = request.app.state.seen.get(request.path_params["key"])
    if job is None:
        raise HTTPException(404, "That job is no longer there.")
    small = _small(job.picture) if job.picture is not None else None
    # its address changes with the picture
    kept = {"cache-control": "private, max-age=31536000, immutable"}
    if small is not None:
        return Response(small, media_type="image/png", headers=kept)
    return Response(outline_svg(blank_size(job.path)), media_type="image/svg+xml")


def _small(path: Path) -> bytes | None:
    """Return a picture no larger than a card needs; None where the file is none."""
    from PIL import Image  # noqa: PLC0415  (a shop without pictures needs none)

    try:
        if path.stat().st_size > MOST_PICTURE_BYTES:
            return None
        with Image.open(path, formats=["PNG"]) as opened:
            seen = opened.convert("RGBA")
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError):
        return None
    seen.thumbnail((PICTURE_PX, PICTURE_PX))
    out = BytesIO()
    seen.save(out, "PNG")
    return out.getvalue()


async def slips(request: Request) -> Response:
    """Answer with what keeps a job from being read."""
    job = await run_in_threadpool(_job, request, request.path_params["key"])
    return JSONResponse({"slips": await run_in_threadpool(slips_in, job.path)})


async def first(request: Request) -> Response:
    """Answer with what a first board is made of where nobody says otherwise."""
    board = await run_in_threadpool(first_board, _folder(request))
    size = dict(zip(("length", "width", "thickness"), board.size, strict=True))
    return JSONResponse({"woods": board.woods, "wood": board.wood, **size})


async def open_bench(request: Request) -> Response:
    """Open the bench of a job and answer with its address."""
    sent = await body_of(request)
    job = await run_in_threadpool(_job, request, words(sent, "job"))
    return await _done(lambda: {"address": _benches(request).open(job.path)})


async def close_bench(request: Request) -> Response:
    """Close the bench of a job."""
    sent = await body_of(request)
    job = await run_in_threadpool(_job, request, words(sent, "job"))

    def close() -> dict[str, Any]:
        _benches(request).close(job.path)
        return {}

    return await _done(close)


async def copy(request: Request) -> Response:
    """Copy a job; answer with what the page calls the copy by."""
    sent = await body_of(request)
    job = await run_in_threadpool(_job, request, words(sent, "job"))
    return await _done(lambda: {"job": _key_at(request, copy_job(job.path))})


async def rename(request: Request) -> Response:
    """Give a job another title."""
    sent = await body_of(request)
    job, title = await run_in_threadpool(_job, request, words(sent, "job")), words(sent, "title")

    def renamed() -> dict[str, Any]:
        rename_job(job.path, title)
        return {}

    return await _done(renamed)


async def put_away(request: Request) -> Response:
    """Close a job's bench and put the job in the attic."""
    sent, folder = await body_of(request), _folder(request)
    job = await run_in_threadpool(_job, request, words(sent, "job"))

    def put() -> dict[str, Any]:
        _benches(request).close(job.path)
        return {"job": _key_at(request, to_attic(job.path, folder))}

    return await _done(put)


async def bring_back(request: Request) -> Response:
    """Bring a job back from the attic."""
    sent, folder = await body_of(request), _folder(request)
    job = await run_in_threadpool(lambda: _job(request, words(sent, "job"), attic=True))
    return await _done(lambda: {"job": _key_at(request, from_attic(job.path, folder))})


async def start(request: Request) -> Response:
    """Start a job."""
    sent, folder = await body_of(request), _folder(request)
    pieces = sent.get("pieces", 1)
    if isinstance(pieces, bool) or not isinstance(pieces, int):
        raise HTTPException(400, "Pieces are a whole number.")
    size = (words(sent, "length"), words(sent, "width"), words(sent, "thickness"))
    title, wood = words(sent, "title"), words(sent, "wood")
    trim = words({"trim": "", **sent}, "trim")

    def begun() -> dict[str, Any]:
        path = start_job(folder, title, wood=wood, size=size, pieces=pieces, trim=trim)
        return {"job": _key_at(request, path)}

    return await _done(begun)


def _key_at(request: Request, path: Path) -> str:
    found = shop_jobs(_folder(request))
    return next((key_of(job) for job in (*found.jobs, *found.attic) if job.path == path), "")


async def _done(act: Callable[[], dict[str, Any]]) -> Response:
    try:
        return JSONResponse(await run_in_threadpool(act))
    except FlushworkError as error:
        return JSONResponse({"error": _sentence(error)}, status_code=409)


ROUTES: Final = [
    *OWN_ROUTES,
    Route("/", page),
    Route("/cards", cards),
    Route("/picture/{key}", picture),
    Route("/slips/{key}", slips),
    Route("/first-board", first),
    Route("/open", open_bench, methods=["POST"]),
    Route("/close", close_bench, methods=["POST"]),
    Route("/copy", copy, methods=["POST"]),
    Route("/rename", rename, methods=["POST"]),
    Route("/attic", put_away, methods=["POST"]),
    Route("/back", bring_back, methods=["POST"]),
    Route("/start", start, methods=["POST"]),
    Route("/static/{name}", static),
]
