"""Routes of making a job on the page: files taken in, things put on the board and moved there.

Each answers with a changed text and writes nothing but a file that was handed over, and the build.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from typing import TYPE_CHECKING, Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from flushwork.bench.pages.making_views import figures_in, making_view, meetings_view, plank_view
from flushwork.bench.pages.things import rings
from flushwork.bench.server.answers import body_of, desk_of, page_named, words
from flushwork.bench.server.guard import MOST_FILE_BYTES, TooLongError
from flushwork.core.findings import Finding, FlushworkError, JobRefusedError
from flushwork.job.records import FaceName
from flushwork.job.text.edit import EditError
from flushwork.usecases import plan_change, trace
from flushwork.usecases.jobs import blank_job_text
from flushwork.usecases.making import add, fills, meet, on_plank, place, ready_made, take_in
from flushwork.usecases.write import write

if TYPE_CHECKING:
    from shapely import MultiPolygon

MOST_DEEP: Final = 6


async def at_hand(request: Request) -> Response:
    """Answer with what a text can be made of: woods, pigments, fonts, files, parts, mixes."""
    sent = await body_of(request)
    return await _told(partial(making_view, desk_of(request).path, words(sent, "text")))


async def begin(request: Request) -> Response:
    """Answer with the text of a job of a piece of wood with nothing on it."""
    sent = await body_of(request)
    given = {name: words(sent, name) for name in ("title", "wood", "length", "width", "thickness")}
    trim, folder = sent.get("trim_line"), desk_of(request).path.parent
    text = blank_job_text(
        **given,
        pieces=words(sent, "pieces"),
        trim_line=_group(trim) if trim else None,
        both_faces=sent.get("both_faces") is True,
        shop_file="shop.yaml" if (folder / "shop.yaml").is_file() else "",
        plank=_group(sent["plank"]) if sent.get("plank") else None,
    )
    path, inch = desk_of(request).path, sent.get("units") == "inch"

    def told() -> dict[str, Any]:
        known = {"text": ready_made.readable(path, text)}
        return {**known, "plank": plank_view(path, text, inch=inch)} if sent.get("plank") else known

    return await _told(told)


async def plank(request: Request) -> Response:
    """Answer with a text whose pieces lie on one plank in another way, and with that plank."""
    sent = await body_of(request)
    path, text = desk_of(request).path, words(sent, "text")
    inch, number = (
        sent.get("units") == "inch",
        int(_number(sent, "number") if "number" in sent else 0),
    )
    call: Callable[[], str]
    match sent.get("act"):
        case "look":
            call = partial(str, text)
        case "lay":
            names, keys = sent.get("names"), _group(sent.get("keys"))
            told = [str(each) for each in names] if isinstance(names, list) else None
            thing = words(sent, "thing")
            call = partial(on_plank.on_plank, path, text, keys, names=told, thing=thing, inch=inch)
        case "defect":
            defect = _group(sent.get("defect"))
            call = partial(on_plank.with_defect, path, text, defect, fewer=True)
        case "out":
            call = partial(on_plank.without_defect, path, text, number)
        case "move":
            by = (_number(sent, "right"), _number(sent, "up"))
            call = partial(on_plank.moved_defect, path, text, number, by, inch=inch)
        case _:
            raise HTTPException(400, "Pieces are laid on a plank, or a defect of it is marked.")

    def laid() -> dict[str, Any]:
        now = call()
        return {"text": now, "plank": plank_view(path, now, inch=inch)}

    return await _told(laid)


async def file(request: Request) -> Response:
    """Lay a file beside the job and answer with what it holds."""
    try:
        data = await request.body()
    except TooLongError:
        raise HTTPException(413, f"At most {MOST_FILE_BYTES / 1e6:.0f} MB are taken.") from None
    name = request.query_params.get("name", "")[:200]
    return await _told(lambda: asdict(take_in.take_in(desk_of(request).path, name, data)))


async def put(request: Request) -> Response:
    """Answer with a text with something added: words, a drawing, a part, a layout."""
    sent = await body_of(request)
    path, text = desk_of(request).path, words(sent, "text")
    face, inch = _face(sent), sent.get("units") == "inch"
    more = _group(sent.get("more", {}))
    call: Callable[[], add.Added]
    match sent.get("what"):
        case "words":
            call = partial(
                add.add_words,
                path,
                text,
                words(sent, "words"),
                size=words(sent, "size"),
                font=words(sent, "font"),
                face=face,
                inch=inch,
                more=more,
            )
        case "drawing":
            name, by = words(sent, "file"), words(sent, "by")
            call = partial(
                add.add_drawing, path, text, name, by=by, face=face, inch=inch, more=more
            )
        case "part":
            call = partial(add.add_part, path, text, more, face=face, inch=inch)
        case "ready-made":
            kind, parts = words(sent, "kind"), _names(sent.get("parts", []))
            call = partial(
                ready_made.add_ready_made,
                path,
                text,
                kind,
                {key: str(value) for key, value in more.items()},
                parts=parts,
                face=face,
                inch=inch,
            )
        case _:
            raise HTTPException(400, "Words, a drawing, a part or something ready-made is added.")
    return await _told(lambda: asdict(call()))


async def measures(request: Request) -> Response:
    """Answer with the measures of a ready-made part that suit the board."""
    sent = await body_of(request)
    path, text, kind = desk_of(request).path, words(sent, "text"), words(sent, "kind")
    inch, parts = sent.get("units") == "inch", _names(sent.get("parts", []))
    call = partial(ready_made.measures_for, path, text, kind, _face(sent), parts=parts, inch=inch)
    return await _told(lambda: {"measures": [asdict(each) for each in call()]})


async def lie(request: Request) -> Response:
    """Answer with a text with a thing moved, turned, mirrored, sized, repeated or taken off."""
    sent = await body_of(request)
    text, thing = words(sent, "text"), words(sent, "thing")
    inch = sent.get("units") == "inch"
    call: Callable[[], str]
    match sent.get("how"):
        case "move":
            by = (_number(sent, "right"), _number(sent, "up"))
            call = partial(place.moved, text, thing, by, inch=inch)
        case "middle":
            path = desk_of(request).path
            call = partial(place.centred, path, text, thing, words(sent, "by"), inch=inch)
        case "turn":
            call = partial(place.turned, text, thing, _number(sent, "by"))
        case "mirror":
            call = partial(place.mirrored, text, thing, words(sent, "by"))
        case "size":
            call = partial(place.sized, text, thing, _number(sent, "by"))
        case "repeat":
            how = {key: str(value) for key, value in _group(sent.get("by")).items()}
            call = partial(place.repeated, text, thing, how)
        case "off":
            call = partial(place.taken_off, text, thing)
        case "fill":
            call = partial(place.filled, text, thing, words(sent, "by"))
        case _:
            raise HTTPException(400, "A thing is moved, turned, mirrored, sized or repeated.")
    return await _told(lambda: {"text": call()})


async def meetings(request: Request) -> Response:
    """Answer with where inlays of the face that is up meet: edges they share, one in the other."""
    sent = await body_of(request)
    path, text, face = desk_of(request).path, words(sent, "text"), _face(sent)
    return await _told(lambda: {"meetings": meetings_view(path, text, face)})


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
    return await _told(lambda: asdict(call()))


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

    return await _told(told)


async def along(request: Request) -> Response:
    """Answer with what goes with a thing, what it is filled with and where its margin is."""
    sent = await body_of(request)
    path, text, thing = desk_of(request).path, words(sent, "text"), words(sent, "thing")

    def told() -> dict[str, Any]:
        lies = place.lies(path, text, thing)
        return {
            "mates": lies.mates,
            "fill": lies.fill,
            "mixes": lies.mixes,
            "grain": lies.grain,
            "margin": rings(lies.margin),
            "picture": trace.picture_of(path, text, thing),
        }

    return await _told(told)


async def traced(request: Request) -> Response:
    """Answer with an inlay's picture as it would be cut with other settings, colour by colour."""
    sent = await body_of(request)
    path, text, thing = desk_of(request).path, words(sent, "text"), words(sent, "thing")
    wanted = _settings(sent)

    def told() -> dict[str, Any]:
        found = trace.retraced(path, text, thing, wanted)
        parts = [
            {"colour": colour, "d": _path_of(region, found.size_mm[1])}
            for colour, region in zip(found.colours, found.regions, strict=True)
            if colour != found.paper and not region.is_empty
        ]
        much = found.thin_mm2
        said = f"{much:.0f} mm2 is too thin for the finest bit and left as wood." if much else ""
        return {"size": found.size_mm, "parts": parts, "said": said}

    return await _told(told)


async def retrace(request: Request) -> Response:
    """Answer with a text in which an inlay's picture, and all of it, is traced anew."""
    sent = await body_of(request)
    path, text, thing = desk_of(request).path, words(sent, "text"), words(sent, "thing")
    wanted, inch = _settings(sent), sent.get("units") == "inch"
    return await _told(lambda: asdict(trace.with_picture(path, text, thing, wanted, inch=inch)))


async def picture(request: Request) -> Response:
    """Answer with a picture beside the job, small."""
    name = request.query_params.get("file", "")[:200]
    try:
        data = await run_in_threadpool(take_in.small_picture, desk_of(request).path, name)
    except FlushworkError as error:
        raise HTTPException(404, _sentence(str(error))) from None
    return Response(data, media_type="image/png")


def _settings(sent: dict[str, Any]) -> trace.Settings:
    return trace.Settings(
        max(2, min(12, int(_number(sent, "colours")))),
        max(0.0, min(20.0, _number(sent, "speck"))),
        max(0.0, min(5.0, _number(sent, "smooth"))),
        sent.get("even") is True,
    )


def _path_of(region: MultiPolygon, high_mm: float) -> str:
    """Return a region as the path of a drawing, y down."""
    return "".join(
        f"M{'L'.join(f'{x:g} {high_mm - y:.2f}' for x, y in ring)}Z" for ring in rings(region)
    )


async def mix(request: Request) -> Response:
    """Answer with a text with a new mix of the shelf's pigments, filled into a thing if named."""
    sent = await body_of(request)
    path, text = desk_of(request).path, words(sent, "text")
    pigments = sent.get("pigments")
    if not isinstance(pigments, list) or not all(isinstance(each, str) for each in pigments):
        raise HTTPException(400, "Pigments are a list of names.")
    name, resin, thing = words(sent, "name"), words(sent, "resin"), words(sent, "thing")

    def mixed() -> dict[str, str]:
        told, own = fills.add_mix(path, text, name, pigments, resin=resin)
        return {"text": place.filled(told, thing, own) if thing else told, "name": own}

    return await _told(mixed)


async def written(request: Request) -> Response:
    """Write what the saved job's build yields to its folder."""
    desk, sent = desk_of(request), await body_of(request)
    now = desk.status()
    if now.snapshot is None or now.busy or now.snapshot.coarse or now.text != now.snapshot.text:
        raise HTTPException(409, "The saved job is still being checked: wait for it, then write.")
    if sent.get("digest") != now.digest:
        raise HTTPException(409, "The job was saved elsewhere since: look at it first.")
    made, today = now.snapshot.made, request.app.state.clock().astimezone().date()

    def told() -> dict[str, Any]:
        done = write(made, desk.path, today=today)
        return {
            "folder": done.folder.name,
            "aside": done.set_aside.name if done.set_aside else "",
            "files": [file.file_name for file in made.gcode_files] if made.ok_to_cut else [],
        }

    return await _told(told)


async def _told(call: Callable[[], dict[str, Any]]) -> Response:
    """Answer with what a call returns, or in words with why it could not."""
    try:
        return JSONResponse(await run_in_threadpool(call))
    except JobRefusedError as refused:
        first = refused.findings[0]
        raise HTTPException(400, _sentence(_slip(first))) from None
    except (EditError, FlushworkError) as error:
        raise HTTPException(400, _sentence(str(error))) from None


def _slip(finding: Finding) -> str:
    line = f" (line {finding.source.line})" if finding.source else ""
    return f"the text cannot be read{line}: {finding.message}; {finding.remedy}"


def _sentence(told: str) -> str:
    return f"{told[:1].upper()}{told[1:].rstrip('.')}."


def _face(sent: dict[str, Any]) -> FaceName:
    return "back" if sent.get("face") == "back" else "front"


def _names(sent: object) -> list[str]:
    return [each for each in sent if isinstance(each, str)] if isinstance(sent, list) else []


def _number(sent: dict[str, Any], name: str) -> float:
    value = sent.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e5:
        raise HTTPException(400, f"{name} is a number.")
    return float(value)


def _group(sent: object, deep: int = 0) -> dict[str, Any]:
    """Return keys with their values as they are typed: words, lists and groups of these."""
    if not isinstance(sent, dict) or deep > MOST_DEEP:
        raise HTTPException(400, "Keys are given with their values.")
    return {str(key): _value(value, deep) for key, value in sent.items()}


def _value(sent: object, deep: int) -> Any:
    if isinstance(sent, str):
        return sent
    if isinstance(sent, list) and deep < MOST_DEEP:
        return [_value(each, deep + 1) for each in sent]
    return _group(sent, deep + 1)


ROUTES = [
    Route("/at-hand", at_hand, methods=["POST"]),
    Route("/begin", begin, methods=["POST"]),
    Route("/plank", plank, methods=["POST"]),
    Route("/file", file, methods=["POST"]),
    Route("/put", put, methods=["POST"]),
    Route("/measures", measures, methods=["POST"]),
    Route("/lie", lie, methods=["POST"]),
    Route("/with", along, methods=["POST"]),
    Route("/meetings", meetings, methods=["POST"]),
    Route("/join", join, methods=["POST"]),
    Route("/change", change, methods=["POST"]),
    Route("/mix", mix, methods=["POST"]),
    Route("/trace", traced, methods=["POST"]),
    Route("/retrace", retrace, methods=["POST"]),
    Route("/picture", picture),
    Route("/write", written, methods=["POST"]),
]
