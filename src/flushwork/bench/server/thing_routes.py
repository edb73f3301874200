"""Routes of what is in hand: the index of all things, the sheet of one, and today."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.run_log import LogError, RunLog, empty
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.pages.day_wishes import DayWishes, WishError, wishes_in
from flushwork.bench.pages.state_measures import differences, measured
from flushwork.bench.pages.thing_views import thing_view
from flushwork.bench.pages.things import index_data
from flushwork.bench.pages.today import today_view
from flushwork.bench.server.answers import (
    answer,
    desk_of,
    in_sight,
    now_of,
    reads_of,
    stage_asked,
    units_asked,
)
from flushwork.bench.server.resources import templates
from flushwork.core.units.shown import shown, shown_markup


async def index(request: Request) -> Response:
    """Answer with all things, what they are tied to, and their shapes on the board."""
    snapshot = in_sight(request)
    data = await run_in_threadpool(index_data, snapshot)
    reads = reads_of(snapshot, units_asked(request))
    # keys hold names as the job has them: words alone are told in the shop's units
    words = {key: shown(each, reads) for key, each in data["words"].items()}
    return JSONResponse({**data, "words": words})


async def sheet(request: Request) -> Response:
    """Answer with the sheet of one thing."""
    return await run_in_threadpool(_sheet, request, in_sight(request))


def _sheet(request: Request, snapshot: Snapshot) -> Response:
    units, key = units_asked(request), request.path_params["key"]
    view = thing_view(snapshot, key, units)
    if view is None:
        raise HTTPException(404, "The job has no such thing by now.")
    html = (
        templates()
        .get_template("thing.html.j2")
        .render(
            thing=view,
            generation=snapshot.generation,
            ok_to_cut=snapshot.made.ok_to_cut and not snapshot.coarse,
            coarse=snapshot.coarse,
        )
    )
    return JSONResponse({"html": shown_markup(html, reads_of(snapshot, units))})


async def today(request: Request) -> Response:
    """Answer with the sheet of today."""
    return await run_in_threadpool(_today, request, in_sight(request))


def _today(request: Request, snapshot: Snapshot) -> Response:
    log, units = _read(request.app.state.log), units_asked(request)
    try:
        wished = wishes_in(log.get("days", {}))
    except (WishError, AttributeError):
        wished = DayWishes()
    view = today_view(snapshot.made, log, wished, now_of(request))
    html = templates().get_template("today.html.j2").render(today=view, coarse=snapshot.coarse)
    return JSONResponse(
        {
            "html": shown_markup(html, reads_of(snapshot, units)),
            "stage": view.stage,
            "begun": bool(view.ticked),
            "timers": log["timers"],
        }
    )


async def against(request: Request) -> Response:
    """Answer with what differs between two states: those of two pictures, each after a stage."""
    here, other = in_sight(request), desk_of(request).snapshot(request.path_params["other"])
    if other is None:
        raise HTTPException(410, "The job has changed since; ask again.")
    stages = [
        stage_asked(request, snapshot, name)
        for snapshot, name in ((other, "there"), (here, "here"))
    ]

    def told() -> list[dict[str, Any]]:
        found = differences(measured(other, stages[0]), measured(here, stages[1]))
        return [asdict(each) for each in found]

    return answer(request, here, {"rows": await run_in_threadpool(told)})


def _read(log: RunLog) -> dict[str, Any]:
    try:
        return log.read()
    except LogError:
        # the machine's page says what is wrong with it
        return empty()


ROUTES = [
    Route("/{generation:int}/index", index),
    Route("/{generation:int}/today", today),
    Route("/{generation:int}/against/{other:int}", against),
    Route("/{generation:int}/of/{key:path}", sheet),
]
