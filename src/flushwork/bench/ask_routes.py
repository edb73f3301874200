"""Routes of odds and what-if: how likely it comes out right, two keys against each other."""

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

from flushwork.bench.answers import body_of, desk_of, in_sight, page_named, page_of, words
from flushwork.bench.fix_routes import ROUTES as FIX_ROUTES
from flushwork.bench.fix_routes import finder_of
from flushwork.bench.key_views import keys_of
from flushwork.bench.odds_views import (
    LEAST_SCALE,
    MOST_SCALE,
    found_in,
    odds_as_is,
    odds_data,
)
from flushwork.bench.snapshot import Snapshot
from flushwork.bench.stakes import stakes_data
from flushwork.bench.sweeps import Sweeper, SweptKey, axis_of
from flushwork.usecases.vary import VaryError


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
    """Answer with the odds, some spreads made smaller or larger."""
    snapshot, sent = in_sight(request), await body_of(request)
    if snapshot.coarse:
        raise HTTPException(409, "The odds follow with the proof.")
    asked = sent.get("scales", {})
    if not isinstance(asked, dict):
        raise HTTPException(400, "scales is an object of numbers.")
    scales = {str(name): _scale(value) for name, value in asked.items()}
    quick = sent.get("quick") is True
    await _in_parts(request, snapshot, found_in)
    return JSONResponse(await run_in_threadpool(lambda: odds_data(snapshot, scales, quick=quick)))


def _scale(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise HTTPException(400, "A spread is made so many times as large.")
    return min(MOST_SCALE, max(LEAST_SCALE, float(value)))


async def stakes(request: Request) -> Response:
    """Answer with what is at stake before each step that cannot be taken back."""
    snapshot = in_sight(request)
    if snapshot.coarse:
        raise HTTPException(409, "What is at stake follows with the proof.")
    await _in_parts(request, snapshot, found_in, odds_as_is)
    return JSONResponse(await run_in_threadpool(stakes_data, snapshot))


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
    _sweeper(request).stop()
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
