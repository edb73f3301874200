"""Routes of the two pages beside the job's: at the machine, and the shelf; and the run's log."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.run_log import LogError, RunLog
from flushwork.bench.pages.saved_views import saved_view
from flushwork.bench.server.answers import (
    answer,
    body_of,
    desk_of,
    figure,
    reads_of,
    units_of,
    words,
)
from flushwork.bench.server.guard import PHOTO_PATH, TooLongError
from flushwork.bench.server.resources import templates
from flushwork.core.units.shown import shown_markup
from flushwork.store import StoreError


def _log(request: Request) -> RunLog:
    log: RunLog = request.app.state.log
    return log


async def machine(request: Request) -> Response:
    """Answer with the phone's page."""
    return HTMLResponse(await run_in_threadpool(_machine, request))


def _machine(request: Request) -> str:
    desk = desk_of(request)
    # of the saved job alone: what a page of the bench tries is nothing to cut by
    now = desk.status()
    snapshot, page = now.snapshot, templates().get_template("machine.html.j2")
    units = units_of(request, now.text, now.snapshot)
    given = {
        "units": units,
        "phone": bool(getattr(request.app.state, "phone", False)),
        "saved": saved_view(now),
    }
    if snapshot is None:
        return page.render(screens=(), title=desk.path.stem, coarse=True, **given)
    from flushwork.bench.pages.machine_views import screens  # noqa: PLC0415
    from flushwork.bench.pages.odds_on_page import stakes_of  # noqa: PLC0415
    from flushwork.bench.pages.whole_page import job_view, page_context  # noqa: PLC0415
    from flushwork.bench.server.rendering import weigh_alongs  # noqa: PLC0415

    context = page_context(snapshot.made, units, coarse=snapshot.coarse)
    html = page.render(
        screens=screens(context, stakes_of(snapshot)),
        title=job_view(context).title,
        coarse=snapshot.coarse,
        weigh=weigh_alongs(snapshot, units),
        **given,
    )
    return shown_markup(html, reads_of(snapshot, units))


async def saved(request: Request) -> Response:
    """Answer with how a page of the saved job stands, for one that is open a long time."""
    told = asdict(saved_view(desk_of(request).status()))
    return JSONResponse({**told, "log": _log(request).stamp})


async def weighed(request: Request) -> Response:
    """Answer with what comes next after what really went into the cup, by the saved job alone."""
    sent = await body_of(request)
    return await run_in_threadpool(_weighed, request, sent)


def _weighed(request: Request, sent: dict[str, Any]) -> Response:
    from flushwork.usecases.weigh import follow  # noqa: PLC0415

    now = desk_of(request).status()
    snapshot, view = now.snapshot, saved_view(now)
    if snapshot is None or view.grave or sent.get("mark") != view.mark:
        raise HTTPException(409, "The saved job is another by now, or not OK: look again first.")
    pour = next((each for each in snapshot.made.pours if each.number == sent.get("pour")), None)
    if pour is None:
        raise HTTPException(404, "There is no such pour.")
    total = figure(sent, "shown_g") if sent.get("shown_g") is not None else None
    try:
        told = follow(pour, figure(sent, "resin_g"), figure(sent, "beside_g"), total)
    except ValueError as error:
        raise HTTPException(400, f"{str(error)[:1].upper()}{str(error)[1:]}.") from None
    return answer(request, snapshot, asdict(told))


async def shelf(request: Request) -> Response:
    """Answer with the page of the shelf."""
    return HTMLResponse(await run_in_threadpool(_shelf, request))


def _shelf(request: Request) -> str:
    from flushwork.bench.pages.shelf_views import shelf_view  # noqa: PLC0415
    from flushwork.views.figures import Lengths  # noqa: PLC0415

    now = desk_of(request).status()
    snapshot, units = now.snapshot, units_of(request, now.text, now.snapshot)
    boards = shelf_view(snapshot.made, Lengths(units)) if snapshot else ()
    name = snapshot.made.job.shop.name if snapshot else ""
    html = templates().get_template("shelf.html.j2").render(boards=boards, name=name, units=units)
    return shown_markup(html, reads_of(snapshot, units)) if snapshot else html


async def read_log(request: Request) -> Response:
    """Answer with the log of the run."""
    return await _logged(_log(request).read)


async def tick(request: Request) -> Response:
    """Tick a stage off for a piece, or take the tick back."""
    sent, log = await body_of(request), _log(request)
    stage, piece = words(sent, "stage"), words(sent, "piece")
    at_s = request.app.state.clock().timestamp()
    done = sent.get("done") is True
    return await _logged(lambda: log.tick(stage, piece, done=done, at_s=at_s))


async def no_return(request: Request) -> Response:
    """Tick a line of a point of no return, or take the tick back."""
    sent, log = await body_of(request), _log(request)
    stage, line = words(sent, "stage"), words(sent, "line")
    return await _logged(lambda: log.tick_no_return(stage, line, done=sent.get("done") is True))


async def note(request: Request) -> Response:
    """Keep a note."""
    sent, log = await body_of(request), _log(request)
    stage, text = words(sent, "stage"), words(sent, "text")
    return await _logged(lambda: log.note(stage, text))


async def photo(request: Request) -> Response:
    """Keep a photo of a step."""
    stage = request.query_params.get("stage", "")
    kind = request.headers.get("content-type", "").split(";")[0].strip()
    try:
        data = await request.body()
    except TooLongError:
        raise HTTPException(413, "That photo is too large.") from None
    log = _log(request)
    return await _logged(lambda: log.photo(stage, data, kind))


async def photo_away(request: Request) -> Response:
    """Take a photo out of the log."""
    sent, log = await body_of(request), _log(request)
    stage, name = words(sent, "stage"), words(sent, "name")
    return await _logged(lambda: log.drop_photo(stage, name))


async def one_photo(request: Request) -> Response:
    """Answer with a photo that the log knows."""
    try:
        data = await run_in_threadpool(_log(request).photo_bytes, request.path_params["name"])
    except LogError as error:
        raise HTTPException(400, f"{error}.") from None
    if data is None:
        raise HTTPException(404, "There is no such photo.")
    return Response(data, media_type="image/jpeg")


async def timer(request: Request) -> Response:
    """Start a timer, or take it away where it lasts no time."""
    sent, log = await body_of(request), _log(request)
    name = words(sent, "name")
    if sent.get("lasts_s") == 0:
        return await _logged(lambda: log.end(name))
    begun = sent.get("begun_s")
    if isinstance(begun, bool) or not isinstance(begun, int | float):
        raise HTTPException(400, "begun_s is a number.")
    lasts_s = figure(sent, "lasts_s")
    return await _logged(lambda: log.begin(name, float(begun), lasts_s))


async def _logged(change: Callable[[], dict[str, Any]]) -> Response:
    try:
        return JSONResponse(await run_in_threadpool(change))
    except ValueError as error:
        return JSONResponse(
            {"error": f"{str(error)[:1].upper()}{str(error)[1:]}."}, status_code=400
        )
    except StoreError as error:
        return JSONResponse({"error": f"{error}."}, status_code=500)


MACHINE_ROUTES = [
    Route("/machine", machine),
    Route("/machine/saved", saved),
    Route("/machine/weighed", weighed, methods=["POST"]),
    Route("/log", read_log),
    Route("/log/tick", tick, methods=["POST"]),
    Route("/log/no-return", no_return, methods=["POST"]),
    Route("/log/note", note, methods=["POST"]),
    Route("/log/timer", timer, methods=["POST"]),
    Route(PHOTO_PATH, photo, methods=["POST"]),
    Route("/log/photo/away", photo_away, methods=["POST"]),
    Route("/log/photo/{name}", one_photo),
]
"""All that a phone beside the machine needs, and all it gets."""

ROUTES = [Route("/shelf", shelf), *MACHINE_ROUTES]
