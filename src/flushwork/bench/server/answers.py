"""Small things every route needs: what is in sight, numbers from a query, answers in words."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import JSONResponse, Response

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.server.guard import TooLongError
from flushwork.core.findings import Finding
from flushwork.core.units import System
from flushwork.core.units.shown import METRIC, Units, shown, shown_data

if TYPE_CHECKING:
    # only named here: making these records takes longer than all else before the first answer
    from flushwork.job.records import FaceName
    from flushwork.shelf.items import Shop
    from flushwork.views.book_records import UnitSystem

_INCHES: Final = re.compile(r"\d ?(?:in|ft)\b")
_METRIC: Final = re.compile(r"\d ?(?:mm|cm|m)\b")
FURTHEST_MM: Final = 10_000.0
LONGEST_NAME: Final = 40
UNREAD: Final = frozenset({"key", "text", "value", "values", "edits", "name", "names", "file"})
"""What of an answer is not for reading, or stands so in the job file."""


def desk_of(request: Request) -> Desk:
    """Return the desk this bench serves."""
    desk: Desk = request.app.state.desk
    return desk


def page_of(request: Request) -> str:
    """Return the name of the page that asks; empty for all that tries no text of its own."""
    return page_named(request.query_params.get("page", ""))


def page_named(name: object) -> str:
    """Return the name a page goes by; refuses what is none."""
    plain = isinstance(name, str) and name.isascii() and (name.isalnum() or not name)
    if not isinstance(name, str) or not plain or len(name) > LONGEST_NAME:
        raise HTTPException(400, "A page goes by a short name of letters and figures.")
    return name


def in_sight(request: Request) -> Snapshot:
    """Return what the page that asks has in sight; refuses where something newer is by now."""
    desk = desk_of(request)
    snapshot = desk.snapshot(request.path_params["generation"])
    if snapshot is None and desk.status().snapshot is None:
        raise HTTPException(404, "Nothing has been built yet.")
    if snapshot is None:
        raise HTTPException(410, "The job has changed since; ask again.")
    return snapshot


def stage_asked(request: Request, snapshot: Snapshot, name: str = "stage") -> int:
    """Return the stage a query names; refuses one the job has not."""
    text = request.query_params.get(name, "")
    if not text.isascii() or not text.isdigit() or len(text) > 6:
        raise HTTPException(400, "A stage is a number.")
    if int(text) not in {shot.stage for shot in snapshot.film.shots}:
        raise HTTPException(404, "There is no such stage.")
    return int(text)


def face_asked(request: Request) -> FaceName:
    """Return the face a query names."""
    match request.query_params.get("face", "front"):
        case "front":
            return "front"
        case "back":
            return "back"
    raise HTTPException(400, "A face is front or back.")


def lengths_asked(request: Request, *names: str) -> tuple[float, ...]:
    """Return lengths in mm from a query; refuses what is no sensible number."""
    result = []
    for name in names:
        try:
            value = float(request.query_params.get(name, ""))
        except ValueError:
            raise HTTPException(400, f"{name} is a number of mm.") from None
        if not math.isfinite(value) or abs(value) > FURTHEST_MM:
            raise HTTPException(400, f"{name} lies beyond any board.")
        result.append(value)
    return tuple(result)


def now_of(request: Request) -> dt.datetime:
    """Return this moment in the shop's own time."""
    clock: Callable[[], dt.datetime] = request.app.state.clock
    return clock().astimezone()


def units_asked(request: Request) -> UnitSystem:
    """Return the units a page is to speak in."""
    return "inch" if request.query_params.get("units") == "inch" else "metric"


def units_of(request: Request, text: str, snapshot: Snapshot | None = None) -> UnitSystem:
    """Return the units a page is to speak in; not asked for, those of the shop.

    As long as no shop has been read, the job's own text decides.
    """
    if "units" in request.query_params:
        return units_asked(request)
    if snapshot is not None:
        return shop_of(snapshot).units.value
    return "inch" if len(_INCHES.findall(text)) > len(_METRIC.findall(text)) else "metric"


def shop_of(snapshot: Snapshot) -> Shop:
    """Return the shop of what is in sight."""
    return (snapshot.base or snapshot).made.job.shop


def reads_of(snapshot: Snapshot, units: UnitSystem | None = None) -> Units:
    """Return what is read in the shop, or in ``units`` where a page asks for others."""
    reads = shop_of(snapshot).reads
    return replace(reads, system=System(units)) if units is not None else reads


def answer(request: Request, snapshot: Snapshot, data: Any) -> JSONResponse:
    """Answer with data whose words are in the units a page speaks in."""
    units = units_asked(request) if "units" in request.query_params else None
    return JSONResponse(shown_data(data, reads_of(snapshot, units), UNREAD))


async def body_of(request: Request) -> dict[str, Any]:
    """Return the JSON object sent; refuses anything else."""
    try:
        sent = await request.json()
    except TooLongError:
        raise HTTPException(413, "That is too long.") from None
    except (ValueError, RecursionError):
        raise HTTPException(400, "That is no JSON.") from None
    if not isinstance(sent, dict):
        raise HTTPException(400, "A JSON object is wanted.")
    return sent


def words(sent: dict[str, Any], name: str) -> str:
    """Return a text that was sent."""
    value = sent.get(name)
    if not isinstance(value, str):
        raise HTTPException(400, f"{name} is a text.")
    return value


def figure(sent: dict[str, Any], name: str) -> float:
    """Return a positive or zero number that was sent."""
    value = sent.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise HTTPException(400, f"{name} is a number.")
    if not math.isfinite(value) or value < 0.0 or value > 1e8:
        raise HTTPException(400, f"{name} is no sensible number.")
    return float(value)


def slip_data(finding: Finding, reads: Units = METRIC) -> dict[str, Any]:
    """Return a slip of the pen as the editor marks it, told in the units of the shop."""
    source = finding.source
    return {
        "code": finding.code,
        "message": shown(finding.message, reads),
        "remedy": shown(finding.remedy, reads),
        "file": source.file if source else "",
        "line": source.line if source else 1,
        "column": source.column if source else 1,
        "key": source.key if source else "",
    }


async def in_words(_request: Request, error: Exception) -> Response:
    """Answer a refusal in plain words."""
    status = error.status_code if isinstance(error, HTTPException) else 500
    said = error.detail if isinstance(error, HTTPException) else "The bench has failed here."
    return JSONResponse({"error": said}, status_code=status)


async def gone(_request: Request, _error: Exception) -> Response:
    """Answer nobody: the page went away while it was sending."""
    return Response(status_code=400)


SAID: Final[dict[Any, Any]] = {HTTPException: in_words, ClientDisconnect: gone, 500: in_words}
"""What is answered where a request fails."""
