"""Routes of a fix for a finding: looked for when asked, told as far as it is, left."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.answers import body_of, desk_of, in_sight, page_named
from flushwork.bench.fix_search import Finder
from flushwork.findings import Severity


def finder_of(request: Request) -> Finder:
    """Return what looks for fixes on this desk."""
    state = request.app.state
    if getattr(state, "finder", None) is None:
        desk = desk_of(request)
        state.finder = Finder(desk.path, desk.at_work, desk.memo_copy)
    finder: Finder = state.finder
    return finder


async def look(request: Request) -> Response:
    """Begin to look for a fix of the finding with a number in the proof that is in sight."""
    snapshot, sent = in_sight(request), await body_of(request)
    now = await run_in_threadpool(desk_of(request).status, page_named(sent.get("page", "")))
    if now.slips or now.failed:
        raise HTTPException(409, "The text cannot be proved as it stands; put that right first.")
    if snapshot.coarse or now.busy or now.generation != snapshot.generation:
        raise HTTPException(409, "The job is being proved; look again once it is.")
    number, findings = sent.get("finding"), snapshot.made.findings
    if isinstance(number, bool) or not isinstance(number, int) or not 0 <= number < len(findings):
        raise HTTPException(400, "A finding goes by its number.")
    finding = findings[number]
    if finding.severity is Severity.NOTE or finding.accepted is not None:
        raise HTTPException(400, "There is nothing to be fixed in that.")
    return JSONResponse(finder_of(request).start(snapshot, finding).data())


async def looked(request: Request) -> Response:
    """Answer with a search as far as it is."""
    search = finder_of(request).status(request.path_params["number"])
    if search is None:
        raise HTTPException(410, "A fix for another finding is being looked for; ask again.")
    return JSONResponse(search.data())


async def leave(request: Request) -> Response:
    """Leave a search."""
    await body_of(request)
    finder_of(request).stop(request.path_params["number"])
    return JSONResponse({})


ROUTES = [
    Route("/{generation:int}/fix", look, methods=["POST"]),
    Route("/fix/{number:int}", looked),
    Route("/fix/{number:int}/stop", leave, methods=["POST"]),
]
