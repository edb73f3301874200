"""Routes of the job's text: how it stands, trying, saving, undoing, taking what others wrote."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.job_file import spell
from flushwork.bench.desk.prefetch import Gaze
from flushwork.bench.desk.sheets import SAVED
from flushwork.bench.desk.snapshot import DeskStatus, first_sight
from flushwork.bench.server.answers import (
    body_of,
    desk_of,
    page_named,
    page_of,
    reads_of,
    slip_data,
    words,
)
from flushwork.core.units.shown import METRIC, shown_data
from flushwork.store import ChangedOutsideError, StoreError

if TYPE_CHECKING:
    # only named here: making these records takes longer than all else before the first answer
    from flushwork.views.book_records import UnitSystem

NEWER_S: Final = 0.25
"""How long a page waits for something newer before it looks what is being done."""

MOST_CHANGES: Final = 40


def standing_data(desk: Desk, page: str = SAVED) -> dict[str, Any]:
    """Return how things stand for a page that asks again and again."""
    now = desk.status(page)
    reads = reads_of(now.snapshot) if now.slips and now.snapshot else METRIC
    return {
        "generation": now.generation,
        "coarse": now.snapshot.coarse if now.snapshot else now.generation > 0,
        "busy": now.busy,
        "share": now.share,
        "slips": [slip_data(slip, reads) for slip in now.slips],
        "failed": now.failed,
        "digest": now.digest,
        "trying": now.trying,
        "outside": now.outside,
        "undo": now.undo,
        "redo": now.redo,
        "desk": desk.born,
    }


async def status(request: Request) -> Response:
    """Answer with how things stand; with ``newer``, as soon as there is something newer."""
    seen, page = request.query_params.get("newer", ""), page_of(request)
    if seen.isascii() and seen.isdigit() and len(seen) < 10:
        # a page that asks for more has put its picture on the screen
        desk_of(request).taken(int(seen))
        await run_in_threadpool(desk_of(request).wait_newer, page, int(seen), NEWER_S)
    told = await run_in_threadpool(standing_data, desk_of(request), page)
    return JSONResponse({**told, "log": request.app.state.log.stamp})


def _text_data(now: DeskStatus) -> dict[str, Any]:
    """Return the saved text, and how many steps there are behind and ahead of it."""
    return {"text": now.text, "digest": now.digest, "undo": now.undo, "redo": now.redo}


async def text(request: Request) -> Response:
    """Answer with the text as last read or saved, and its digest."""
    now = desk_of(request).status()
    return JSONResponse(_text_data(now))


async def attempt(request: Request) -> Response:
    """Build a text without saving it; answers with a changed depth at once, as far as in sight.

    ``page`` is the page it is typed on, the only one to see it; ``base``, ``stage`` and ``face``
    tell what that page has and where it looks.
    """
    sent = await body_of(request)
    seen = await run_in_threadpool(_tried, desk_of(request), words(sent, "text"), sent)
    if seen is None:
        return JSONResponse({"trying": True})
    return Response(seen, media_type="application/octet-stream")


def _tried(desk: Desk, text: str, sent: dict[str, Any]) -> bytes | None:
    try:
        return _first_sight(desk, text, sent)
    finally:
        desk.look_sent.set()


def _first_sight(desk: Desk, text: str, sent: dict[str, Any]) -> bytes | None:
    face, base, stage = sent.get("face"), sent.get("base"), sent.get("stage")
    page = page_named(sent.get("page"))
    if not page:
        raise HTTPException(400, "A text is tried on a page, by its name.")
    gaze = None
    if isinstance(stage, int) and face in ("front", "back"):
        units: UnitSystem = "inch" if sent.get("units") == "inch" else "metric"
        gaze = Gaze(stage, "front" if face == "front" else "back", units)
    desk.try_text(page, text, gaze)
    snapshot = desk.status(page).snapshot
    if (
        snapshot is None
        or snapshot.base is None
        or snapshot.text != text
        or base != snapshot.base.generation
    ):
        return None
    return first_sight(snapshot, gaze.stage, gaze.face) if gaze else None


async def leave(request: Request) -> Response:
    """Know that a page is closed: nobody waits for what it tried."""
    sent = await body_of(request)
    desk_of(request).leave(page_named(sent.get("page")))
    return JSONResponse({})


WRITTEN: Final = ("label", "path", "value", "choices", "name")
"""What a form shows as it is written in the job."""


async def form(request: Request) -> Response:
    """Answer with the small form for a text."""
    from flushwork.bench.pages.form_views import form_of  # noqa: PLC0415

    sent = await body_of(request)
    snapshot = desk_of(request).status().snapshot
    shop = snapshot.made.job.shop if snapshot else None
    bits = tuple(each.name for each in shop.bits) if shop else ()
    groups = await run_in_threadpool(form_of, words(sent, "text"), bits)
    groups = shown_data(groups, shop.reads if shop else METRIC, WRITTEN)
    return JSONResponse({"groups": [asdict(group) for group in groups]})


async def edit(request: Request) -> Response:
    """Answer with a text in which one value is another; nothing is written or built by this.

    The value is named by its path; with ``out`` it is taken out, with ``together`` a place or a
    size is that of all parts of one drawing.  With ``changes`` several keys are set, added or taken
    out at once, each told in the steps that lead to it.
    """
    # imported late: reading YAML takes longer to load than the first answer may take
    from flushwork.job.text.change import in_place  # noqa: PLC0415
    from flushwork.job.text.edit import EditError, remove_key, with_path  # noqa: PLC0415
    from flushwork.usecases.making.place import set_together  # noqa: PLC0415

    sent = await body_of(request)
    before, out = words(sent, "text"), sent.get("out") is True
    changes = _changes(sent["changes"]) if "changes" in sent else ()
    value = "" if out or changes else words(sent, "value")
    path = sent.get("path", [])
    if not isinstance(path, list) or not all(
        isinstance(part, str | int) and not isinstance(part, bool) for part in path
    ):
        raise HTTPException(400, "A path is a list of keys and numbers.")
    together = sent.get("together") is True and not changes
    try:
        found = (
            await run_in_threadpool(set_together, before, path, None if out else value)
            if together
            else None
        )
        if found is not None:
            changed = found
        elif changes:
            changed = await run_in_threadpool(in_place, before, changes)
        elif out:
            changed = await run_in_threadpool(remove_key, before, path)
        else:
            changed = await run_in_threadpool(with_path, before, path, value)
    except EditError as error:
        raise HTTPException(400, f"{str(error)[0].upper()}{str(error)[1:]}.") from None
    return JSONResponse({"text": changed})


def _changes(sent: object) -> list[tuple[list[str], str | None]]:
    """Return the keys to set, each with its value, None where it is to be taken out."""
    changes: list[tuple[list[str], str | None]] = []
    for each in sent if isinstance(sent, list) else ():
        steps, value = (each.get("steps"), each.get("value")) if isinstance(each, dict) else ([], 0)
        if not isinstance(steps, list) or not isinstance(value, str | None):
            break
        if steps and all(isinstance(one, str) for one in steps):
            changes.append((steps, value))
    if not isinstance(sent, list) or not 0 < len(sent) == len(changes) <= MOST_CHANGES:
        raise HTTPException(400, "Changes are a list of steps, each with a value.")
    return changes


async def save(request: Request) -> Response:
    """Save a text, unless the file is another by now."""
    sent = await body_of(request)
    return _saved(desk_of(request), words(sent, "text"), sent)


async def undo(request: Request) -> Response:
    """Put back the text before the last saved one."""
    sent = await body_of(request)
    return _saved(desk_of(request), Desk.undo, sent)


async def redo(request: Request) -> Response:
    """Put the text there again that was undone last."""
    sent = await body_of(request)
    return _saved(desk_of(request), Desk.redo, sent)


async def history(request: Request) -> Response:
    """Answer with all that was done, in words."""
    from flushwork.bench.pages.history_views import history_view  # noqa: PLC0415

    desk = desk_of(request)
    steps = await run_in_threadpool(lambda: history_view(*desk.history()))
    return JSONResponse({"steps": [asdict(step) for step in steps]})


async def schema(_request: Request) -> Response:
    """Answer with what may stand in a job file, as a JSON Schema."""
    from flushwork.usecases.jobs import schema as schema_of  # noqa: PLC0415

    return JSONResponse(await run_in_threadpool(schema_of, "job"))


async def theirs(request: Request) -> Response:
    """Take the file as somebody else has left it."""
    sent, desk = await body_of(request), desk_of(request)
    desk.take_theirs()
    desk.leave(page_named(sent.get("page", "")))
    now = desk.status()
    return JSONResponse(_text_data(now))


def _saved(desk: Desk, wanted: str | Callable[[Desk, str], str], sent: dict[str, Any]) -> Response:
    """Save, undo or redo; the page that asks has the saved text from then on."""
    was = words(sent, "was")
    try:
        if isinstance(wanted, str):
            desk.save(wanted, was)
        else:
            wanted(desk, was)
    except ChangedOutsideError as error:
        return JSONResponse({"error": str(error), "theirs": _outside(desk)}, status_code=409)
    except StoreError as error:
        return JSONResponse({"error": str(error)}, status_code=500)
    desk.leave(page_named(sent.get("page", "")))
    now = desk.status()
    return JSONResponse(_text_data(now))


def _outside(desk: Desk) -> str:
    """Return what stands in the file now, as far as it is text."""
    try:
        return spell(desk.path.read_bytes())[0]
    except (OSError, UnicodeDecodeError):
        return ""


ROUTES = [
    Route("/standing", status),
    Route("/text", text),
    Route("/try", attempt, methods=["POST"]),
    Route("/leave", leave, methods=["POST"]),
    Route("/form", form, methods=["POST"]),
    Route("/edit", edit, methods=["POST"]),
    Route("/save", save, methods=["POST"]),
    Route("/undo", undo, methods=["POST"]),
    Route("/redo", redo, methods=["POST"]),
    Route("/history", history),
    Route("/schema", schema),
    Route("/theirs", theirs, methods=["POST"]),
]
