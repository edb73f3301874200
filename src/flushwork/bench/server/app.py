"""The bench as a web application: routes that turn view records into pages, behind one guard."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import asdict
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, JSONResponse, Response
from starlette.routing import Mount, Route, Router

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.run_log import RunLog
from flushwork.bench.desk.sheets import SAVED
from flushwork.bench.desk.snapshot import CACHED, title_of
from flushwork.bench.film.close_tiles import CloseTiles
from flushwork.bench.server import cached_page_routes, shop_routes, text_routes
from flushwork.bench.server.answers import (
    SAID,
    body_of,
    desk_of,
    page_of,
    units_asked,
    units_of,
)
from flushwork.bench.server.guard import App, Guard, Receive, Scope, Send
from flushwork.bench.server.resources import modules, served, templates
from flushwork.bench.server.shop_net import NetError, ShopNet

if TYPE_CHECKING:
    from flushwork.views.book_records import UnitSystem

LONG_BYTES: Final = 4096
"""Shorter answers fit a few packets as they are."""
PARTS = ("head", "strip", "mixes", "check", "cuts", "pours", "days", "wood")


def bench_app(
    desk: Desk, hosts: frozenset[str], clock: Callable[[], dt.datetime], shop: str = ""
) -> App:
    """Return the application that serves one desk under the Host values ``hosts``.

    ``clock`` tells the time in UTC, for the calendar; ``shop`` is the address of the shop's page,
    empty where the bench was opened by itself.
    """
    app = Starlette(
        routes=[
            Route("/", page),
            Route("/parts", parts),
            Route("/static/{name}", static),
            *cached_page_routes.ROUTES,
            Mount("/board", app=_late("flushwork.bench.server.board_routes")),
            Mount("/doing", app=_late("flushwork.bench.server.work_routes")),
            Mount("/thing", app=_late("flushwork.bench.server.thing_routes")),
            Mount("/asking", app=_late("flushwork.bench.server.ask_routes")),
            Mount("/making", app=_late("flushwork.bench.server.making_routes")),
            Route("/network", network),
            Route("/network", turn_network, methods=["POST"]),
            *text_routes.ROUTES,
            *shop_routes.ROUTES,
        ],
        exception_handlers=SAID,
    )
    app.state.desk = desk
    app.state.log = RunLog(desk.path)
    app.state.clock = clock
    app.state.shop = shop
    app.state.close_tiles = CloseTiles()
    app.state.net = ShopNet(phone_app(desk, app.state.log, clock))
    return Guard(packed(app), hosts)


def packed(app: App) -> App:
    """Return an application whose longer answers travel compressed."""
    return GZipMiddleware(app, minimum_size=LONG_BYTES, compresslevel=1)


def phone_app(desk: Desk, log: RunLog, clock: Callable[[], dt.datetime]) -> App:
    """Return what a phone gets: the machine's page and the log of the run."""
    app = Starlette(
        routes=[Route("/static/{name}", static), *shop_routes.MACHINE_ROUTES],
        exception_handlers=SAID,
    )
    app.state.desk, app.state.log, app.state.clock = desk, log, clock
    app.state.phone = True
    return app


async def network(request: Request) -> Response:
    """Answer with how the door to the shop's network stands."""
    net: ShopNet = request.app.state.net
    return JSONResponse(asdict(net.view()))


async def turn_network(request: Request) -> Response:
    """Open the door to the shop's network with a new key, or shut it."""
    net: ShopNet = request.app.state.net
    sent = await body_of(request)
    try:
        if sent.get("on") is True:
            await net.turn_on()
        else:
            await net.turn_off()
    except NetError as error:
        raise HTTPException(409, f"It stays shut: {error}.") from None
    return JSONResponse(asdict(net.view()))


def _late(module: str) -> App:
    """Return an application of a module's routes that is loaded when first asked for.

    What it draws in takes longer to load than the server may take to answer.
    """
    loaded: list[Router] = []

    async def late(scope: Scope, receive: Receive, send: Send) -> None:
        if not loaded:
            loaded.append(Router(import_module(module).ROUTES))
        await loaded[0](scope, receive, send)

    return late


async def static(request: Request) -> Response:
    """Answer with a script, a style or a font."""
    found = served().get(request.path_params["name"])
    if found is None:
        raise HTTPException(404, "There is no such thing here.")
    data, kind, tag = found
    # asked for again at each load, and sent again only where it is another by now
    told = {"etag": tag, "cache-control": "no-cache"}
    if request.headers.get("if-none-match") == tag:
        return Response(status_code=304, headers=told)
    return Response(data, media_type=kind, headers=told)


async def page(request: Request) -> Response:
    """Answer with the page, as far as anything is known."""
    desk = desk_of(request)
    now = desk.status()
    units = units_of(request, now.text, now.snapshot)
    long = "long" in request.query_params
    return HTMLResponse(
        await run_in_threadpool(_page, desk, units, request.app.state.shop, long=long)
    )


async def parts(request: Request) -> Response:
    """Answer with the parts of the page that follow from the build."""
    desk, units, page = desk_of(request), units_asked(request), page_of(request)
    return JSONResponse(await run_in_threadpool(_parts, desk, units, page))


def _page(desk: Desk, units: UnitSystem, shop: str, *, long: bool) -> str:
    # a page just opened has tried nothing: it shows the saved job
    made = _parts(desk, units, SAVED, whole=True)
    return (
        templates()
        .get_template("bench.html.j2")
        .render(
            parts=made["parts"],
            given={name: each for name, each in made.items() if name != "parts"},
            modules=modules("bench.js"),
            name=desk.path.name,
            units=units,
            long=long,
            shop=shop,
            text=desk.status().text,
        )
    )


def _parts(desk: Desk, units: UnitSystem, page: str, *, whole: bool = False) -> dict[str, Any]:
    snapshot = desk.status(page).snapshot
    if snapshot is None and desk.cached_page is not None:
        return {**desk.cached_page.parts[units], "generation": CACHED}
    if snapshot is None:
        return {"generation": 0, "parts": dict.fromkeys(PARTS, ""), "title": desk.path.stem}
    if snapshot.sketch and not whole:
        # a picture of one changed depth: words and figures follow with the check
        title = title_of(snapshot)
        return {"generation": snapshot.generation, "title": title, "coarse": True, "sketch": True}
    # imported late: these rooms take longer to load than the server may take to answer
    from flushwork.bench.server.rendering import rendered_parts  # noqa: PLC0415

    return rendered_parts(snapshot, units)
