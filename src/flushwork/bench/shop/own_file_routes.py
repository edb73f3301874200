"""Routes of the shop's own file: its keys in fields, one group at a time, and the first minute."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from flushwork.bench.desk.job_file import JobFile
from flushwork.bench.server.answers import body_of, words
from flushwork.bench.server.resources import templates
from flushwork.core.findings import FlushworkError
from flushwork.store import ChangedOutsideError
from flushwork.usecases.shop_jobs import SHOP_FILE

MOST_STEPS: Final = 6
MOST_NAMES: Final = 60


class ShopFile:
    """The shop's file on the page; each request for itself."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.lock = threading.Lock()
        self._file: JobFile | None = None

    @property
    def file(self) -> JobFile:
        """The file as it stands by now; what somebody else has made of it is taken up."""
        if self._file is None:
            self._file = JobFile(self.path)
        self._file.look()
        if self._file.outside and self._file.readable():
            self._file.take_theirs()
        return self._file


def _shop_file(request: Request) -> ShopFile:
    held: ShopFile = request.app.state.shop_file
    return held


async def page(request: Request) -> Response:
    """Answer with the page of the shop's file; without one, with the first minute."""
    held, part = _shop_file(request), request.query_params.get("part", "")
    if not held.path.is_file():
        return RedirectResponse("/first", status_code=303)
    return HTMLResponse(await run_in_threadpool(_page, held, part))


def _page(held: ShopFile, part: str) -> str:
    with held.lock:
        given = _given(held.file, part)
    return templates().get_template("shop_keys.html.j2").render(**given)


def _given(file: JobFile, part: str) -> dict[str, Any]:
    from flushwork.usecases.shop_file import ShopValueError, shop_form  # noqa: PLC0415

    given = {"digest": file.digest, "undo": file.undoable, "redo": file.redoable}
    try:
        form = shop_form(file.text)
    except ShopValueError as error:
        return {**given, "form": None, "part": None, "broken": str(error)}
    found = next((each for each in form.parts if each.key == part), form.parts[0])
    return {**given, "form": form, "part": found, "broken": ""}


async def set_value(request: Request) -> Response:
    """Set a key, or take it out."""
    from flushwork.usecases.shop_file import with_shop_value  # noqa: PLC0415

    sent = await body_of(request)
    steps, value = _names(sent, "steps", MOST_STEPS), sent.get("value")
    if (value is not None and not isinstance(value, str)) or not steps:
        raise HTTPException(400, "A key is told in steps, and its value as a text.")
    return await _changed(request, sent, lambda text: with_shop_value(text, steps, value))


async def add(request: Request) -> Response:
    """Add a thing to a list."""
    from flushwork.usecases.shop_file import with_thing  # noqa: PLC0415

    sent = await body_of(request)
    key, name, like = words(sent, "part"), words(sent, "name").strip(), words(sent, "like")
    if not 0 < len(name) <= 80 or not name.isprintable():
        raise HTTPException(400, "A name has 1 to 80 letters on one line.")
    return await _changed(request, sent, lambda text: with_thing(text, key, name, like))


async def take_out(request: Request) -> Response:
    """Take a thing out of a list."""
    from flushwork.usecases.shop_file import without_thing  # noqa: PLC0415

    sent = await body_of(request)
    key, name = words(sent, "part"), words(sent, "name")
    return await _changed(request, sent, lambda text: without_thing(text, key, name))


async def undo(request: Request) -> Response:
    """Put back the file before the last change."""
    return await _changed(request, await body_of(request), JobFile.undo)


async def redo(request: Request) -> Response:
    """Put the file there again that was undone last."""
    return await _changed(request, await body_of(request), JobFile.redo)


Change = Callable[[str], str]


async def _changed(request: Request, sent: dict[str, Any], change: Any) -> Response:
    held, was, part = _shop_file(request), words(sent, "was"), words(sent, "part")
    return await run_in_threadpool(_change, held, was, part, change)


def _change(held: ShopFile, was: str, part: str, change: Any) -> Response:
    with held.lock:
        file = held.file
        try:
            if file.digest != was:
                message = "the file was changed elsewhere; it is shown as it stands now"
                raise ChangedOutsideError(message)
            if change in (JobFile.undo, JobFile.redo):
                if file.undoable if change is JobFile.undo else file.redoable:
                    change(file, was)
            else:
                file.save(change(file.text), was)
        except FlushworkError as error:
            stale = isinstance(error, ChangedOutsideError)
            told = {
                "error": f"{str(error)[:1].upper()}{str(error)[1:].rstrip('.')}.",
                "stale": stale,
            }
            return JSONResponse(told, status_code=409)
        given = _given(file, part)
    html = templates().get_template("shop_part.html.j2").render(**given)
    return JSONResponse({"html": html})


async def first(request: Request) -> Response:
    """Answer with the first minute."""
    from flushwork.usecases.jobs import first_choices  # noqa: PLC0415

    if _shop_file(request).path.is_file():
        return RedirectResponse("/shop", status_code=303)
    choices = await run_in_threadpool(first_choices)
    html = templates().get_template("first_shop.html.j2").render(may=choices)
    return HTMLResponse(html)


async def write_first(request: Request) -> Response:
    """Write the first shop file."""
    from flushwork.usecases.jobs import first_shop  # noqa: PLC0415

    sent, path = await body_of(request), _shop_file(request).path
    units, resin = words(sent, "units"), words(sent, "resin")
    travel = _names(sent, "travel", 3)
    bits, scales = (_names(sent, name, MOST_NAMES) for name in ("bits", "scales"))

    def write() -> None:
        first_shop(path, units=units, travel=travel, bits=bits, resin=resin, scales=scales)

    try:
        await run_in_threadpool(write)
    except FlushworkError as error:
        said = str(error).rstrip(".")
        return JSONResponse({"error": f"{said[:1].upper()}{said[1:]}."}, status_code=409)
    return JSONResponse({})


def _names(sent: dict[str, Any], name: str, most: int) -> tuple[str, ...]:
    found = sent.get(name)
    if not isinstance(found, list) or not all(isinstance(each, str) for each in found):
        raise HTTPException(400, f"{name} is a list of texts.")
    if len(found) > most:
        raise HTTPException(400, f"{name} has at most {most} of them.")
    return tuple(found)


def own_file(folder: Path) -> ShopFile:
    """Return the shop's own file in a folder."""
    return ShopFile(folder / SHOP_FILE)


OWN_ROUTES: Final = [
    Route("/shop", page),
    Route("/shop/set", set_value, methods=["POST"]),
    Route("/shop/add", add, methods=["POST"]),
    Route("/shop/out", take_out, methods=["POST"]),
    Route("/shop/undo", undo, methods=["POST"]),
    Route("/shop/redo", redo, methods=["POST"]),
    Route("/first", first),
    Route("/first", write_first, methods=["POST"]),
]
