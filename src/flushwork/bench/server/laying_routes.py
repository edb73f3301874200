"""Routes of pieces laid on a plank, of where shapes meet, and of what a change asks for.

Also how what is asked of a job that is being made is read, and answered in words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.pages.making_views import figures_in, meetings_view, plank_view
from flushwork.bench.server.answers import body_of, desk_of, page_named, words
from flushwork.core.findings import Finding, FlushworkError, JobRefusedError
from flushwork.job.records import FaceName
from flushwork.job.text.edit import EditError
from flushwork.usecases import plan_change
from flushwork.usecases.making import add, meet, on_plank

MOST_DEEP: Final = 6


async def plank(request: Request) -> Response:
    """Answer with a text whose pieces lie on one plank in another way, and with that plank."""
    sent = await body_of(request)
    path, text = desk_of(request).path, words(sent, "text")
    inch, number = (
        sent.get("units") == "inch",
        int(number_in(sent, "number") if "number" in sent else 0),
    )
    call: Callable[[], str]
    match sent.get("act"):
        case "look":
            call = partial(str, text)
        case "lay":
            names, keys = sent.get("names"), group_of(sent.get("keys"))
            told = [str(each) for each in names] if isinstance(names, list) else None
            thing = words(sent, "thing")
            call = partial(on_plank.on_plank, path, text, keys, names=told, thing=thing, inch=inch)
        case "defect":
            defect = group_of(sent.get("defect"))
            call = partial(on_plank.with_defect, path, text, defect, fewer=True)
        case "out":
            call = partial(on_plank.without_defect, path, text, number)
        case "move":
            by = (number_in(sent, "right"), number_in(sent, "up"))
            call = partial(on_plank.moved_defect, path, text, number, by, inch=inch)
        case _:
            raise HTTPException(400, "Pieces are laid on a plank, or a defect of it is marked.")

    def laid() -> dict[str, Any]:
        now = call()
        return {"text": now, "plank": plank_view(path, now, inch=inch)}

    return await told_by(laid)


async def meetings(request: Request) -> Response:
    """Answer with where inlays of the face that is up meet: edges they share, one in the other."""
    sent = await body_of(request)
    path, text, face = desk_of(request).path, words(sent, "text"), face_named(sent)
    return await told_by(lambda: {"meetings": meetings_view(path, text, face)})


async def join(request: Request) -> Response:
    """Answer with a text with a seam line where two inlays meet, or one cut into the other."""
    sent = await body_of(request)
    path, text, inch = desk_of(request).path, words(sent, "text"), sent.get("units") == "inch"
    one, other = words(sent, "thing"), words(sent, "other")
    call: Callable[[], add.Added]
    match sent.get("how"):
        case "edge":
            call = partial(meet.seam_between, path, text, one, other, inch=inch)
        case "around":
            wide = words(sent, "width")
            call = partial(meet.seam_around, path, text, one, width=wide, inch=inch)
        case "overlap":
            call = partial(meet.cut_into, path, text, one, other, inch=inch)
        case _:
            raise HTTPException(400, "Two inlays are joined by a seam line or a second pass.")
    return await told_by(lambda: asdict(call()))


async def change(request: Request) -> Response:
    """Answer with what a page's text asks for that the saved job does not, as far as is known.

    Rounds and setups at once, bits with the first picture, minutes, days and money with the check.
    """
    sent, desk = await body_of(request), desk_of(request)
    text, page = words(sent, "text"), page_named(sent.get("page", ""))
    saved, tried = desk.status(), desk.status(page)

    def told() -> dict[str, Any]:
        one = figures_in(desk.path, saved.text, saved.snapshot)
        other = figures_in(desk.path, text, tried.snapshot)
        known = one.days is not None and other.days is not None
        return {"told": plan_change.told_change(one, other), "known": known}

    return await told_by(told)


# ---- What is asked, and answered in words


async def told_by(call: Callable[[], dict[str, Any]]) -> Response:
    """Answer with what a call returns, or in words with why it could not."""
    try:
        return JSONResponse(await run_in_threadpool(call))
    except JobRefusedError as refused:
        first = refused.findings[0]
        raise HTTPException(400, sentence(slip_words(first))) from None
    except (EditError, FlushworkError) as error:
        raise HTTPException(400, sentence(str(error))) from None


def slip_words(finding: Finding) -> str:
    """Return in words why a text cannot be read."""
    line = f" (line {finding.source.line})" if finding.source else ""
    return f"the text cannot be read{line}: {finding.message}; {finding.remedy}"


def sentence(told: str) -> str:
    """Return words as a sentence."""
    return f"{told[:1].upper()}{told[1:].rstrip('.')}."


def face_named(sent: dict[str, Any]) -> FaceName:
    """Return the face that is asked for; the front where none is named."""
    return "back" if sent.get("face") == "back" else "front"


def names_in(sent: object) -> list[str]:
    """Return the names that are asked with."""
    return [each for each in sent if isinstance(each, str)] if isinstance(sent, list) else []


def number_in(sent: dict[str, Any], name: str) -> float:
    """Return a number that is asked with; refuses what is none."""
    value = sent.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e5:
        raise HTTPException(400, f"{name} is a number.")
    return float(value)


def group_of(sent: object, deep: int = 0) -> dict[str, Any]:
    """Return keys with their values as they are typed: words, lists and groups of these."""
    if not isinstance(sent, dict) or deep > MOST_DEEP:
        raise HTTPException(400, "Keys are given with their values.")
    return {str(key): _value(value, deep) for key, value in sent.items()}


def _value(sent: object, deep: int) -> Any:
    if isinstance(sent, str):
        return sent
    if isinstance(sent, list) and deep < MOST_DEEP:
        return [_value(each, deep + 1) for each in sent]
    return group_of(sent, deep + 1)


ROUTES = [
    Route("/plank", plank, methods=["POST"]),
    Route("/meetings", meetings, methods=["POST"]),
    Route("/join", join, methods=["POST"]),
    Route("/change", change, methods=["POST"]),
]
