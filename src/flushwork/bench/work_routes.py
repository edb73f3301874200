"""Routes of the work itself: cut files and their paths, weighing cards, the calendar."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import shapely
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.answers import body_of, desk_of, figure, in_sight, units_asked
from flushwork.bench.cut_data import path_data
from flushwork.bench.day_views import days_view, finish_words
from flushwork.bench.day_wishes import DayWishes, Planned, WishError, planned, wishes_in
from flushwork.bench.follow import follow, for_pieces, with_hardener
from flushwork.bench.log import LogError, RunLog
from flushwork.bench.rendering import rendered_card
from flushwork.bench.resources import templates
from flushwork.bench.shown import Shown, kept_with
from flushwork.plan.calendar_text import calendar_bytes
from flushwork.plan.schedule import Schedule
from flushwork.resin.pours import Pour
from flushwork.toolpaths.orders import CutFile


def _file(request: Request, shown: Shown) -> CutFile:
    number: int = request.path_params["number"]
    if number >= len(shown.made.cut_files):
        raise HTTPException(404, "There is no such cut file.")
    return shown.made.cut_files[number]


def _pour(request: Request, shown: Shown) -> Pour:
    for pour in shown.made.pours:
        if pour.number == request.path_params["number"]:
            return pour
    raise HTTPException(404, "There is no such pour.")


async def path(request: Request) -> Response:
    """Answer with where a cutter goes."""
    shown = in_sight(request)
    return JSONResponse(await run_in_threadpool(path_data, shown.made, _file(request, shown)))


async def download(request: Request) -> Response:
    """Answer with a cut file, if it is proven and in step with the saved job."""
    shown = in_sight(request)
    file = _file(request, shown)
    if shown.coarse or not shown.made.may_be_cut:
        raise HTTPException(409, "No cut files while a stop stands or the proof is not done.")
    _refuse_unsaved(request, shown, "These cut files are")
    marked = {"content-disposition": f'attachment; filename="{file.file_name}"'}
    return Response(file.text, media_type="text/plain; charset=utf-8", headers=marked)


def _refuse_unsaved(request: Request, shown: Shown, what: str) -> None:
    """Let nothing out of the bench that is not of the saved job."""
    now = desk_of(request).standing()
    if shown.text != now.text or now.outside:
        raise HTTPException(409, f"{what} not in step with the saved job: save first.")


async def pockets(request: Request) -> Response:
    """Answer with the pockets a pour serves, as rings in mm on their faces."""
    shown = in_sight(request)
    names = {(served.subject, served.face) for served in _pour(request, shown).serves}
    found = [
        {
            "name": drawn.inlay.name,
            "face": face.name,
            "rings": [
                [[round(x, 2), round(y, 2)] for x, y in ring.coords]
                for part in shapely.get_parts(drawn.region.simplify(0.05))
                for ring in (part.exterior, *part.interiors)
            ]
            if not drawn.region.is_empty
            else [],
        }
        for face in shown.made.faces
        for drawn in face.inlays
        if (drawn.inlay.name, face.name) in names
    ]
    return JSONResponse({"pockets": found})


async def weighed(request: Request) -> Response:
    """Answer with what comes next after what really went into the cup."""
    shown = in_sight(request)
    pour, sent = _pour(request, shown), await body_of(request)
    total = figure(sent, "shown_g") if sent.get("shown_g") is not None else None
    try:
        told = follow(pour, figure(sent, "resin_g"), figure(sent, "beside_g"), total)
    except ValueError as error:
        raise HTTPException(400, _sentence(error)) from None
    return JSONResponse(asdict(told))


async def scaled(request: Request) -> Response:
    """Answer with the card for other pieces, or for the hardener that is left."""
    shown = in_sight(request)
    pour, sent = _pour(request, shown), await body_of(request)
    try:
        if "hardener_g" in sent:
            card = with_hardener(shown.made, pour, figure(sent, "hardener_g"))
        else:
            card = for_pieces(shown.made, pour, _pieces(sent))
    except ValueError as error:
        raise HTTPException(400, _sentence(error)) from None
    html = rendered_card(shown, card, units_asked(request))
    return JSONResponse({"pieces": card.pieces, "html": html})


def _sentence(error: ValueError) -> str:
    text = str(error).rstrip(".")
    return f"{text[:1].upper()}{text[1:]}."


def _pieces(sent: dict[str, Any]) -> int:
    pieces = int(figure(sent, "pieces"))
    if not 1 <= pieces <= 1000:
        raise HTTPException(400, "Pieces are a whole number from 1.")
    return pieces


def _planned_for(request: Request, shown: Shown) -> tuple[Schedule | None, DayWishes]:
    """Return the days as wished on the page, the build's own where nothing is."""
    log: RunLog = request.app.state.log
    try:
        wished = wishes_in(log.read().get("days", {}))
    except (LogError, WishError, AttributeError):
        wished = DayWishes()
    if not wished or shown.made.schedule is None:
        return shown.made.schedule, DayWishes()
    return planned(_by(shown), wished), wished


@kept_with
def _by(shown: Shown) -> Planned:
    return Planned(shown.made)


def _days(request: Request, shown: Shown) -> Response:
    plan, wished = _planned_for(request, shown)
    view = days_view(shown.made, plan, wished)
    html = templates().get_template("days.html.j2").render(days=view, generation=shown.generation)
    return JSONResponse(
        {
            "html": html,
            "wishes": wished.data(),
            "wished": bool(wished),
            "before": finish_words(shown.made.schedule),
            "now": finish_words(plan),
        }
    )


async def days(request: Request) -> Response:
    """Answer with the days as wished."""
    return await run_in_threadpool(_days, request, in_sight(request))


async def wish(request: Request) -> Response:
    """Plan the days anew as somebody wishes, and keep the wish in the log."""
    shown, sent, log = in_sight(request), await body_of(request), request.app.state.log
    try:
        wished = wishes_in(sent)
        await run_in_threadpool(log.wish, wished.data() if wished else {})
    except (LogError, WishError) as error:
        raise HTTPException(400, _sentence(error)) from None
    return await run_in_threadpool(_days, request, shown)


async def calendar(request: Request) -> Response:
    """Answer with the days as a calendar file (RFC 5545)."""
    shown = in_sight(request)
    _refuse_unsaved(request, shown, "This calendar is")
    plan, _ = await run_in_threadpool(_planned_for, request, shown)
    if plan is None or not plan.steps:
        raise HTTPException(404, "No days are planned.")
    try:
        data = calendar_bytes(plan, shown.made.job.title, request.app.state.clock())
    except ValueError as error:
        raise HTTPException(409, _sentence(error)) from None
    marked = {"content-disposition": 'attachment; filename="days.ics"'}
    return Response(data, media_type="text/calendar; charset=utf-8", headers=marked)


ROUTES = [
    Route("/{generation:int}/path/{number:int}", path),
    Route("/{generation:int}/file/{number:int}", download),
    Route("/{generation:int}/pour/{number:int}/pockets", pockets),
    Route("/{generation:int}/pour/{number:int}/weighed", weighed, methods=["POST"]),
    Route("/{generation:int}/pour/{number:int}/scaled", scaled, methods=["POST"]),
    Route("/{generation:int}/days", days),
    Route("/{generation:int}/days", wish, methods=["POST"]),
    Route("/{generation:int}/days.ics", calendar),
]
