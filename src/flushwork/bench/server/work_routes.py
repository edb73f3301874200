"""Routes of the work itself: G-code files and their paths, weighing cards, the calendar."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import shapely
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.run_log import LogError, RunLog, empty
from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.film.bit_paths import path_data
from flushwork.bench.pages.bench_days import days_view, finish_words
from flushwork.bench.pages.day_chart import Chart
from flushwork.bench.pages.day_wishes import BuildById, DayWishes, WishError, planned, wishes_in
from flushwork.bench.pages.today import begun, replanned
from flushwork.bench.server.answers import (
    answer,
    body_of,
    desk_of,
    figure,
    in_sight,
    now_of,
    reads_of,
    units_asked,
)
from flushwork.bench.server.rendering import rendered_card
from flushwork.bench.server.resources import templates
from flushwork.core.units.shown import shown_markup
from flushwork.resin.pours import Pour
from flushwork.schedule.schedule import Schedule
from flushwork.toolpaths.orders import GcodeFile
from flushwork.usecases.weigh import follow, for_pieces, with_hardener
from flushwork.views.calendar_text import calendar_bytes


def _file(request: Request, snapshot: Snapshot) -> GcodeFile:
    number: int = request.path_params["number"]
    if number >= len(snapshot.made.gcode_files):
        raise HTTPException(404, "There is no such G-code file.")
    return snapshot.made.gcode_files[number]


def _pour(request: Request, snapshot: Snapshot) -> Pour:
    for pour in snapshot.made.pours:
        if pour.number == request.path_params["number"]:
            return pour
    raise HTTPException(404, "There is no such pour.")


async def path(request: Request) -> Response:
    """Answer with where a bit goes."""
    snapshot = in_sight(request)
    return JSONResponse(await run_in_threadpool(path_data, snapshot.made, _file(request, snapshot)))


async def download(request: Request) -> Response:
    """Answer with a G-code file, if it is checked and in step with the saved job."""
    snapshot = in_sight(request)
    file = _file(request, snapshot)
    if snapshot.coarse or not snapshot.made.ok_to_cut:
        raise HTTPException(
            409, "No G-code files while something must be fixed or the check is not done."
        )
    _refuse_unsaved(request, snapshot, "These G-code files are")
    marked = {"content-disposition": f'attachment; filename="{file.file_name}"'}
    return Response(file.text, media_type="text/plain; charset=utf-8", headers=marked)


def _refuse_unsaved(request: Request, snapshot: Snapshot, what: str) -> None:
    """Let nothing out of the bench that is not of the saved job."""
    now = desk_of(request).status()
    if snapshot.text != now.text or now.outside:
        raise HTTPException(409, f"{what} not in step with the saved job: save first.")


async def pockets(request: Request) -> Response:
    """Answer with the pockets a pour serves, as rings in mm on their faces."""
    snapshot = in_sight(request)
    names = {(served.subject, served.face) for served in _pour(request, snapshot).serves}
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
        for face in snapshot.made.faces
        for drawn in face.inlays
        if (drawn.inlay.name, face.name) in names
    ]
    return JSONResponse({"pockets": found})


async def weighed(request: Request) -> Response:
    """Answer with what comes next after what really went into the cup."""
    snapshot = in_sight(request)
    pour, sent = _pour(request, snapshot), await body_of(request)
    total = figure(sent, "shown_g") if sent.get("shown_g") is not None else None
    try:
        told = follow(pour, figure(sent, "resin_g"), figure(sent, "beside_g"), total)
    except ValueError as error:
        raise HTTPException(400, _sentence(error)) from None
    return answer(request, snapshot, asdict(told))


async def scaled(request: Request) -> Response:
    """Answer with the card for other pieces, or for the hardener that is left."""
    snapshot = in_sight(request)
    pour, sent = _pour(request, snapshot), await body_of(request)
    try:
        if "hardener_g" in sent:
            card = with_hardener(snapshot.made, pour, figure(sent, "hardener_g"))
        else:
            card = for_pieces(snapshot.made, pour, _pieces(sent))
    except ValueError as error:
        raise HTTPException(400, _sentence(error)) from None
    html = rendered_card(snapshot, card, units_asked(request))
    return JSONResponse({"pieces": card.pieces, "html": html})


def _sentence(error: ValueError) -> str:
    text = str(error).rstrip(".")
    return f"{text[:1].upper()}{text[1:]}."


def _pieces(sent: dict[str, Any]) -> int:
    pieces = int(figure(sent, "pieces"))
    if not 1 <= pieces <= 1000:
        raise HTTPException(400, "ViewContext are a whole number from 1.")
    return pieces


def _planned_for(request: Request, snapshot: Snapshot) -> tuple[Schedule | None, DayWishes]:
    """Return the days as wished and ticked, the build's own where nothing is."""
    log: RunLog = request.app.state.log
    try:
        told = log.read()
    except LogError:
        told = empty()
    try:
        wished = wishes_in(told.get("days", {}))
    except (WishError, AttributeError):
        wished = DayWishes()
    if snapshot.made.schedule is None:
        return None, DayWishes()
    if begun(told):
        # what is ticked lies in the past, and the rest begins now
        rest = replanned(snapshot.made, told, wished, now_of(request))
        return rest or snapshot.made.schedule, wished
    if not wished:
        return snapshot.made.schedule, DayWishes()
    return planned(_by(snapshot), wished), wished


@cached_on
def _by(snapshot: Snapshot) -> BuildById:
    return BuildById(snapshot.made)


def _marked(chart: Chart | None) -> bool:
    return chart is not None and chart.now is not None


def _days(request: Request, snapshot: Snapshot) -> Response:
    plan, wished = _planned_for(request, snapshot)
    view = days_view(snapshot.made, plan, wished, now_of(request))
    html = (
        templates().get_template("days.html.j2").render(days=view, generation=snapshot.generation)
    )
    html = shown_markup(html, reads_of(snapshot))
    return JSONResponse(
        {
            "html": html,
            "wishes": wished.data(),
            "wished": bool(wished),
            "shown": view is not None
            and (plan is not snapshot.made.schedule or _marked(view.across)),
            "before": finish_words(snapshot.made.schedule),
            "now": finish_words(plan),
        }
    )


async def days(request: Request) -> Response:
    """Answer with the days as wished."""
    return await run_in_threadpool(_days, request, in_sight(request))


async def wish(request: Request) -> Response:
    """Plan the days anew as somebody wishes, and keep the wish in the log."""
    snapshot, sent, log = in_sight(request), await body_of(request), request.app.state.log
    try:
        wished = wishes_in(sent)
        await run_in_threadpool(log.wish, wished.data() if wished else {})
    except (LogError, WishError) as error:
        raise HTTPException(400, _sentence(error)) from None
    return await run_in_threadpool(_days, request, snapshot)


async def calendar(request: Request) -> Response:
    """Answer with the days as a calendar file (RFC 5545)."""
    snapshot = in_sight(request)
    _refuse_unsaved(request, snapshot, "This calendar is")
    plan, _ = await run_in_threadpool(_planned_for, request, snapshot)
    if plan is None or not plan.steps:
        raise HTTPException(404, "No days are planned.")
    try:
        data = calendar_bytes(
            plan,
            snapshot.made.job.title,
            request.app.state.clock(),
            units=reads_of(snapshot),
        )
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
