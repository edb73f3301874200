"""Routes of odds and what-if: how likely it comes out right, two keys against each other.

Routes of a fix for a finding: looked for when asked, told as far as it is, left.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.fix_search import Finder
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.desk.sweeps import Sweeper, SweptKey, axis_of
from flushwork.bench.pages.form_views import keys_of
from flushwork.bench.pages.odds_on_page import (
    LEAST_SCALE,
    MOST_SCALE,
    found_in,
    odds_as_is,
    odds_data,
    stakes_data,
)
from flushwork.bench.server.answers import (
    answer,
    body_of,
    desk_of,
    in_sight,
    page_named,
    page_of,
    words,
)
from flushwork.core.findings import Severity
from flushwork.usecases.what_if import VaryError


def finder_of(request: Request) -> Finder:
    """Return what looks for fixes on this desk."""
    state = request.app.state
    if getattr(state, "finder", None) is None:
        desk = desk_of(request)
        state.finder = Finder(desk.path, desk.at_work, desk.memo_copy)
    finder: Finder = state.finder
    return finder


async def look(request: Request) -> Response:
    """Begin to look for a fix of the finding with a number in the check that is in sight."""
    snapshot, sent = in_sight(request), await body_of(request)
    now = await run_in_threadpool(desk_of(request).status, page_named(sent.get("page", "")))
    if now.slips or now.failed:
        raise HTTPException(409, "The text cannot be checked as it is; put that right first.")
    if snapshot.coarse or now.busy or now.generation != snapshot.generation:
        raise HTTPException(409, "The job is being checked; look again once it is.")
    number, findings = sent.get("finding"), snapshot.made.findings
    if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < len(findings):
        raise HTTPException(400, "A finding goes by its number.")
    finding = findings[number]
    if finding.severity is Severity.NOTE or finding.accepted is not None:
        raise HTTPException(400, "There is nothing to be fixed in that.")
    return answer(request, snapshot, finder_of(request).start(snapshot, finding).data())


async def looked(request: Request) -> Response:
    """Answer with a search as far as it is."""
    search = finder_of(request).status(request.path_params["number"])
    if search is None:
        raise HTTPException(410, "A fix for another finding is being looked for; ask again.")
    snapshot = desk_of(request).status().snapshot
    if snapshot is None:
        return JSONResponse(search.data())
    return answer(request, snapshot, search.data())


async def leave(request: Request) -> Response:
    """Leave a search."""
    await body_of(request)
    finder_of(request).stop(request.path_params["number"])
    return JSONResponse({})


FIX_ROUTES = [
    Route("/{generation:int}/fix", look, methods=["POST"]),
    Route("/fix/{number:int}", looked),
    Route("/fix/{number:int}/stop", leave, methods=["POST"]),
]


def _sweeper(request: Request) -> Sweeper:
    state = request.app.state
    if getattr(state, "sweeper", None) is None:
        desk = desk_of(request)
        finder = finder_of(request)
        # somebody waits for a fix; for a sweep, hardly anybody
        state.sweeper = Sweeper(desk.path, lambda: desk.at_work() or finder.busy)
    sweeper: Sweeper = state.sweeper
    return sweeper


async def odds(request: Request) -> Response:
    """Answer with the odds, some variations made smaller or larger."""
    snapshot, sent = in_sight(request), await body_of(request)
    if snapshot.coarse:
        raise HTTPException(409, "The odds follow with the check.")
    asked = sent.get("scales", {})
    if not isinstance(asked, dict):
        raise HTTPException(400, "scales is an object of numbers.")
    scales = {str(name): _scale(value) for name, value in asked.items()}
    quick = sent.get("quick") is True
    await _in_parts(request, snapshot, found_in)
    return answer(
        request,
        snapshot,
        await run_in_threadpool(lambda: odds_data(snapshot, scales, quick=quick)),
    )


def _scale(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise HTTPException(400, "A variation is made so many times as large.")
    return min(MOST_SCALE, max(LEAST_SCALE, float(value)))


async def stakes(request: Request) -> Response:
    """Answer with what is at stake before each step that cannot be taken back."""
    snapshot = in_sight(request)
    if snapshot.coarse:
        raise HTTPException(409, "What is at stake follows with the check.")
    await _in_parts(request, snapshot, found_in, odds_as_is)
    return answer(request, snapshot, await run_in_threadpool(stakes_data, snapshot))


async def _in_parts(
    request: Request, snapshot: Snapshot, *parts: Callable[[Snapshot], Any]
) -> None:
    """Work out what an answer needs, part by part; whoever changes the job is not kept waiting.

    Each part remembers what it found, so that nothing is lost when it is asked again.
    """
    desk = desk_of(request)
    for part in parts:
        if desk.at_work():
            raise HTTPException(409, "The job is being changed; ask again when it rests.")
        await run_in_threadpool(part, snapshot)
    if desk.at_work():
        raise HTTPException(409, "The job is being changed; ask again when it rests.")


async def keys(request: Request) -> Response:
    """Answer with the keys of a text that hold a number."""
    sent = await body_of(request)
    found = await run_in_threadpool(keys_of, words(sent, "text"))
    return JSONResponse({"keys": [asdict(key) for key in found]})


async def sweep(request: Request) -> Response:
    """Begin to set two keys against each other."""
    sent = await body_of(request)
    try:
        across = _axis(sent, "across")
        up = _axis(sent, "up") if sent.get("up") is not None else None
        await run_in_threadpool(
            _sweeper(request).start,
            words(sent, "text"),
            across,
            up,
            page_named(sent.get("page", "")),
        )
    except VaryError as error:
        raise HTTPException(400, str(error)) from None
    return JSONResponse(_sweeper(request).status())


def _axis(sent: dict[str, Any], name: str) -> SweptKey:
    asked = sent.get(name)
    values = asked.get("values") if isinstance(asked, dict) else None
    if not isinstance(asked, dict) or not isinstance(values, list):
        raise HTTPException(400, f"{name} is a key with a list of values.")
    if not all(isinstance(value, str) for value in values):
        raise HTTPException(400, "Values are texts.")
    return axis_of(words(asked, "key"), values)


async def swept(request: Request) -> Response:
    """Answer with the sweep as far as it is: one of the saved job, or of the page that asks."""
    saved = desk_of(request).status().text
    return JSONResponse(_sweeper(request).status(page_of(request), saved))


async def stop(request: Request) -> Response:
    """Leave the sweep."""
    await body_of(request)
    _sweeper(request).leave()
    return JSONResponse(_sweeper(request).status())


ROUTES = [
    Route("/{generation:int}/odds", odds, methods=["POST"]),
    Route("/{generation:int}/stakes", stakes),
    Route("/keys", keys, methods=["POST"]),
    Route("/sweep", sweep, methods=["POST"]),
    Route("/sweep", swept),
    Route("/sweep/stop", stop, methods=["POST"]),
    *FIX_ROUTES,
]
