"""Routes of making a job on the page: files taken in, things put on the board and moved there.

Each answers with a changed text and writes nothing but a file that was handed over, and the build.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from functools import partial
from typing import TYPE_CHECKING, Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flushwork.bench.pages.making_views import making_view, plank_view
from flushwork.bench.pages.things import rings
from flushwork.bench.server import laying_routes
from flushwork.bench.server.answers import body_of, desk_of, words
from flushwork.bench.server.guard import MOST_FILE_BYTES, TooLongError
from flushwork.bench.server.laying_routes import (
    face_named,
    group_of,
    names_in,
    number_in,
    sentence,
    told_by,
)
from flushwork.core.findings import FlushworkError
from flushwork.usecases import trace
from flushwork.usecases.jobs import blank_job_text
from flushwork.usecases.making import add, fills, place, ready_made, take_in
from flushwork.usecases.write import write

if TYPE_CHECKING:
    from shapely import MultiPolygon


async def at_hand(request: Request) -> Response:
    """Answer with what a text can be made of: woods, pigments, fonts, files, parts, mixes."""
    sent = await body_of(request)
    return await told_by(partial(making_view, desk_of(request).path, words(sent, "text")))


async def begin(request: Request) -> Response:
    """Answer with the text of a job of a piece of wood with nothing on it."""
    sent = await body_of(request)
    given = {name: words(sent, name) for name in ("title", "wood", "length", "width", "thickness")}
    trim, folder = sent.get("trim_line"), desk_of(request).path.parent
    text = blank_job_text(
        **given,
        pieces=words(sent, "pieces"),
        trim_line=group_of(trim) if trim else None,
        both_faces=sent.get("both_faces") is True,
        shop_file="shop.yaml" if (folder / "shop.yaml").is_file() else "",
        plank=group_of(sent["plank"]) if sent.get("plank") else None,
    )
    path, inch = desk_of(request).path, sent.get("units") == "inch"

    def told() -> dict[str, Any]:
        known = {"text": ready_made.readable(path, text)}
        return {**known, "plank": plank_view(path, text, inch=inch)} if sent.get("plank") else known

    return await told_by(told)


async def file(request: Request) -> Response:
    """Lay a file beside the job and answer with what it holds."""
    try:
        data = await request.body()
    except TooLongError:
        raise HTTPException(413, f"At most {MOST_FILE_BYTES / 1e6:.0f} MB are taken.") from None
    name = request.query_params.get("name", "")[:200]
    return await told_by(lambda: asdict(take_in.take_in(desk_of(request).path, name, data)))


async def put(request: Request) -> Response:
    """Answer with a text with something added: words, a drawing, a part, a layout."""
    sent = await body_of(request)
    path, text = desk_of(request).path, words(sent, "text")
    face, inch = face_named(sent), sent.get("units") == "inch"
    more = group_of(sent.get("more", {}))
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
        case "points":
            name, by = words(sent, "file"), words(sent, "by")
            call = partial(add.add_points, path, text, name, by=by, face=face, inch=inch)
        case "part":
            call = partial(add.add_part, path, text, more, face=face, inch=inch)
        case "ready-made":
            kind, parts = words(sent, "kind"), names_in(sent.get("parts", []))
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
    return await told_by(lambda: asdict(call()))


async def measures(request: Request) -> Response:
    """Answer with the measures of a ready-made part that suit the board."""
    sent = await body_of(request)
    path, text, kind = desk_of(request).path, words(sent, "text"), words(sent, "kind")
    inch, parts = sent.get("units") == "inch", names_in(sent.get("parts", []))
    call = partial(
        ready_made.measures_for, path, text, kind, face_named(sent), parts=parts, inch=inch
    )
    return await told_by(lambda: {"measures": [asdict(each) for each in call()]})


async def lie(request: Request) -> Response:
    """Answer with a text with a thing moved, turned, mirrored, sized, repeated or taken off."""
    sent = await body_of(request)
    text, thing = words(sent, "text"), words(sent, "thing")
    inch = sent.get("units") == "inch"
    call: Callable[[], str]
    match sent.get("how"):
        case "move":
            by = (number_in(sent, "right"), number_in(sent, "up"))
            call = partial(place.moved, text, thing, by, inch=inch)
        case "middle":
            path = desk_of(request).path
            call = partial(place.centred, path, text, thing, words(sent, "by"), inch=inch)
        case "turn":
            call = partial(place.turned, text, thing, number_in(sent, "by"))
        case "mirror":
            call = partial(place.mirrored, text, thing, words(sent, "by"))
        case "size":
            call = partial(place.sized, text, thing, number_in(sent, "by"))
        case "repeat":
            how = {key: str(value) for key, value in group_of(sent.get("by")).items()}
            call = partial(place.repeated, text, thing, how)
        case "off":
            call = partial(place.taken_off, text, thing)
        case "fill":
            call = partial(place.filled, text, thing, words(sent, "by"))
        case _:
            raise HTTPException(400, "A thing is moved, turned, mirrored, sized or repeated.")
    return await told_by(lambda: {"text": call()})


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
            "seen": rings(lies.seen),
            "stands": rings(lies.stands),
            "picture": trace.picture_of(path, text, thing),
        }

    return await told_by(told)


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

    return await told_by(told)


async def retrace(request: Request) -> Response:
    """Answer with a text in which an inlay's picture, and all of it, is traced anew."""
    sent = await body_of(request)
    path, text, thing = desk_of(request).path, words(sent, "text"), words(sent, "thing")
    wanted, inch = _settings(sent), sent.get("units") == "inch"
    return await told_by(lambda: asdict(trace.with_picture(path, text, thing, wanted, inch=inch)))


async def picture(request: Request) -> Response:
    """Answer with a picture beside the job, small."""
    name = request.query_params.get("file", "")[:200]
    try:
        data = await run_in_threadpool(take_in.small_picture, desk_of(request).path, name)
    except FlushworkError as error:
        raise HTTPException(404, sentence(str(error))) from None
    return Response(data, media_type="image/png")


def _settings(sent: dict[str, Any]) -> trace.Settings:
    return trace.Settings(
        max(2, min(12, int(number_in(sent, "colours")))),
        max(0.0, min(20.0, number_in(sent, "speck"))),
        max(0.0, min(5.0, number_in(sent, "smooth"))),
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

    return await told_by(mixed)


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

    return await told_by(told)


ROUTES = [
    Route("/at-hand", at_hand, methods=["POST"]),
    Route("/begin", begin, methods=["POST"]),
    Route("/file", file, methods=["POST"]),
    Route("/put", put, methods=["POST"]),
    Route("/measures", measures, methods=["POST"]),
    Route("/lie", lie, methods=["POST"]),
    Route("/with", along, methods=["POST"]),
    Route("/mix", mix, methods=["POST"]),
    Route("/trace", traced, methods=["POST"]),
    Route("/retrace", retrace, methods=["POST"]),
    Route("/picture", picture),
    Route("/write", written, methods=["POST"]),
    *laying_routes.ROUTES,
]
