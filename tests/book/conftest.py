"""A small two-faced build made by hand: records only, no other room at work."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image
from shapely import MultiLineString, MultiPolygon, Point, Polygon, box

from flushwork.art.drawn import DrawnFace, DrawnHoles, DrawnInlay, Hole
from flushwork.built import Build
from flushwork.core.findings import Finding, Measure, Place, Severity, Source, Subject
from flushwork.fit.reach import Fit
from flushwork.job.records import (
    Allowances,
    Artwork,
    Blank,
    Face,
    FaceName,
    FinishPlan,
    GridHoles,
    Holes,
    Inlay,
    Job,
    Manner,
    MeasuredFrom,
    Mix,
    MixPigment,
    Outline,
    Placement,
    RectangleArt,
    Seam,
)
from flushwork.process.rounds import planes_of
from flushwork.process.stages import Plan, Setup, Stage, StageKind
from flushwork.resin.pours import Part, Pour, Served
from flushwork.shelf.items import (
    Air,
    Bit,
    BitKind,
    Dialect,
    Finish,
    Holding,
    Machine,
    MeasuringTool,
    Pigment,
    PigmentKind,
    Resin,
    Sealer,
    Shop,
    Thinner,
    ToolKind,
    Wood,
)
from flushwork.strata.palette import palette_of
from flushwork.strata.steps import BoardSpec
from flushwork.strata.surfaces import Replay, ThicknessRow
from flushwork.toolpaths.moves import Move, MoveKind, Program
from flushwork.toolpaths.orders import (
    CutOrder,
    DrillCut,
    EngraveCut,
    GcodeFile,
    LevelCut,
    LineCut,
    Operation,
    PocketCut,
    TrimCut,
)
from flushwork.views.context import ViewContext
from flushwork.views.drawing.pictures import finished_name

LENGTH, WIDTH = 340.0, 190.0
NOWHERE = Source("kingfisher.yaml", 41, 5, "front.inlays[0].depth")
ART = Artwork(RectangleArt(60.0, 40.0, 0.0, 0.0), Placement(), NOWHERE)
NONE = MultiPolygon()
NO_LINES = MultiLineString()

FLAT = Bit("1/8 inch flat end mill", BitKind.FLAT, 3.175, 1)
FINE = Bit("0.8 mm flat end mill", BitKind.FLAT, 0.8, 2, flute_mm=3.0, reach_mm=16.0)
V_BIT = Bit("30 degree engraver", BitKind.V_BIT, 6.35, 3, angle_rad=math.radians(30))
MACHINE = Machine("bench router", 400, 400, 80, 3000, 900, 4000, 8000, 24000, 200, 5, Dialect())
PINS = Holding("tape and pins", "double-sided tape over the whole face", "two pins on the centre "
               "line", 0.05, "assumed 0.02 to 0.10 mm; the pin test strip replaces it")  # fmt: skip
CHERRY = Wood("black cherry", 0.00126, 0.00248, 0.5, 4200, "semi", "#b67b52", "#8f5838", "")
RESIN = Resin(
    "coating epoxy", "coating", 100, 45, True, 1.12, 0.98, 0.03, 2400, 100, 0.9, 21600, 64800,
    86400, 604800, 25, 15, 6, 0.03, "",
)  # fmt: skip
TEAL = Pigment(
    "teal mica", PigmentKind.FLAKE, "#0b6a72", 2.9, 0.35, 0.01, 0.05, 0.04, 0.6, False, ""
)
GOLD = Pigment("bronze powder", PigmentKind.POWDER, "#b08d3c", 8.4, 2.5, 0.02, 0.5, 0.02, 0.3,
               False, "")  # fmt: skip
ETHANOL = Thinner("ethanol", 0.789, 0.95, True, 17, "")
SCALE = MeasuringTool("0.1 g scale", ToolKind.SCALE, 0.1, 500, 0.03)
SYRINGE = MeasuringTool("5 cm3 syringe", ToolKind.SYRINGE, 0.2, 5, 0.05)
SPOON = MeasuringTool("1 cm3 spoon", ToolKind.SPOON, 1.0, 1.0, 1.0)
SHELLAC = Sealer("shellac", 0.03, 3600, True, "")
VARNISH = Finish("wiping varnish", 0.02, 28800, True, "")
SHOP = Shop(MACHINE, (PINS,), (FLAT, FINE, V_BIT), (CHERRY,), (RESIN,), (ETHANOL,),
            (TEAL, GOLD), (SCALE, SYRINGE), (SHELLAC,), (VARNISH,), Air(18, 12, 8, 18, 0.5),
            (0, 1, 2, 3, 4), name="lakeside")  # fmt: skip


def mix(name: str, colour: str, *pigments: MixPigment, thinner: bool = False) -> Mix:
    return Mix(
        name, RESIN, 100, 45, True, ETHANOL if thinner else None, 0.08 if thinner else 0.0,
        pigments, colour, 0.9, "", NOWHERE,
    )  # fmt: skip


DEEP = mix("deep teal", "#0b6a72", MixPigment(TEAL, 0.03))
SAND = mix("sand", "#d9c08c", MixPigment(TEAL, 0.02))
LINE = mix("gold line", "#c9a13b", MixPigment(GOLD, 0.2), thinner=True)
RED = mix("madder red", "#a5382e", MixPigment(TEAL, 0.04))
CLEAR = mix("clear", "#f3ead8")


def inlay(name: str, face: FaceName, fill: Mix, depth: float = 2.5, **more: object) -> Inlay:
    base = Inlay(
        name=name, face=face, artwork=(ART,), seam=None, depth_mm=depth,
        measured_from=MeasuredFrom.FINISHED, mix=fill, manner=Manner.OVERFILLED, cap=None,
        cap_mm=0.0,
        second_pass_of=(), after=(), v_bit=False, bits=(), sealed=True, source=NOWHERE,
        depth_source=NOWHERE,
    )  # fmt: skip
    return replace(base, **more)  # type: ignore[arg-type]


def many(*parts: Polygon) -> MultiPolygon:
    return MultiPolygon(list(parts))


def rose(x: float, y: float, shift: float) -> MultiPolygon:
    points = []
    for at in range(8):
        angle = math.pi / 4 * at
        turn = math.pi / 8 * (1 if shift > 0 else -1)
        points.append(
            Polygon(
                [
                    (x, y),
                    (x + 12 * math.cos(angle + turn), y + 12 * math.sin(angle + turn)),
                    (x + 52 * math.cos(angle), y + 52 * math.sin(angle)),
                ]
            ).buffer(-0.2)
        )
    return many(*points)


def letters_at(x: float, y: float) -> MultiPolygon:
    bars = []
    for at in range(7):
        left = x + at * 8.0
        bars += [box(left, y, left + 1.2, y + 9), box(left + 3.6, y, left + 4.8, y + 9),
                 box(left + 1.2, y + 4, left + 3.6, y + 5)]  # fmt: skip
    return MultiPolygon(list(shapely.get_parts(shapely.union_all(bars)).tolist()))


def hole_grid(name: str, face: FaceName, size: tuple[int, int], corner: tuple[float, float],
              through: bool = False) -> DrawnHoles:  # fmt: skip
    columns, rows = size
    holes = Holes(name, face, GridHoles(columns, rows, 12, 12, ()), Placement(), 3.175, 8.0,
                  through, True, None, NOWHERE, NOWHERE)  # fmt: skip
    places = tuple(
        Hole(1 + i + j * columns, corner[0] + 12.0 * i, corner[1] + 12.0 * j)
        for j in range(rows)
        for i in range(columns)
    )
    return DrawnHoles(holes, places)


def picture(colour: tuple[int, int, int]) -> bytes:
    grid = np.zeros((190, 340, 3), np.uint8)
    grid[:] = colour
    grid[::7] = np.array(colour, np.uint8) // 2 + 60
    out = io.BytesIO()
    Image.fromarray(grid).save(out, "PNG")
    return out.getvalue()


def gcode_file(name: str, face: FaceName, setup: int, sequence: int, bit: Bit,
             *operations: Operation) -> GcodeFile:  # fmt: skip
    order = CutOrder(name, "kingfisher", face, setup, sequence, bit, MACHINE, (0.0, 0.0),
                     -0.5, operations)  # fmt: skip
    moves = (
        Move(MoveKind.RAPID, 0, 0, 5),
        Move(MoveKind.RAPID, 42.5, 60.0, 5, spindle_rpm=18000),
        Move(MoveKind.RAPID, 42.5, 60.0, 0.5, spindle_rpm=18000),
        Move(MoveKind.FEED, 42.5, 60.0, -0.5, feed_mm_min=300, spindle_rpm=18000),
        Move(MoveKind.FEED, 290.0, 160.0, -2.5, feed_mm_min=900, spindle_rpm=18000),
        Move(MoveKind.RAPID, 290.0, 160.0, 5),
    )
    return GcodeFile(order, f"{name}.nc", "", Program((0, 0, 20), moves), 754.0)


def faces() -> tuple[DrawnFace, ...]:
    blank = many(box(0, 0, LENGTH, WIDTH))
    trim = many(box(18, 18, 322, 172).buffer(8))
    dark, light = rose(95, 95, 1), rose(95, 95, -1)
    seam_lines = MultiLineString([list(part.exterior.coords) for part in dark.geoms])
    seam = shapely.get_parts(seam_lines.buffer(0.4)).tolist()
    front = DrawnFace(
        "front",
        (
            DrawnInlay(inlay("rose dark", "front", DEEP), dark, NO_LINES),
            DrawnInlay(inlay("rose light", "front", SAND), light, NO_LINES),
            DrawnInlay(
                inlay("bright edge", "front", LINE, 1.2, manner=Manner.CAPPED, cap=CLEAR,
                      cap_mm=0.5, seam=Seam(("rose dark", "rose light"), 0.8, False)),
                MultiPolygon(seam), seam_lines,
            ),
            DrawnInlay(inlay("words", "front", RED, 1.5, v_bit=True), letters_at(200, 30),
            NO_LINES),
            DrawnInlay(
                inlay("morris lines", "front", DEEP, 1.5), NONE,
                MultiLineString([box(190, 60, 290, 160).exterior.coords,
                                 box(205, 75, 275, 145).exterior.coords,
                                 box(220, 90, 260, 130).exterior.coords]),
            ),
        ),
        (hole_grid("men's corners", "front", (3, 3), (228.0, 98.0)),),
        blank, trim, trim,
    )  # fmt: skip
    body = many(Polygon(Point(230, 95).buffer(45).exterior.coords))
    wing = many(Polygon([(215, 80), (262, 100), (225, 118)]))
    back = DrawnFace(
        "back",
        (
            DrawnInlay(inlay("body", "back", DEEP), body, NO_LINES),
            DrawnInlay(inlay("wing", "back", RED, 1.5, second_pass_of=("body",)), wing, NO_LINES),
        ),
        (
            hole_grid("solitaire", "back", (7, 7), (40.0, 60.0)),
            hole_grid("track", "back", (12, 2), (40.0, 30.0), True),
        ),
        blank, trim, many(box(20, 20, 320, 170)),
    )  # fmt: skip
    return front, back


def stage(number: int, kind: StageKind, face: FaceName, title: str, because: str = "it must",
          **more: object) -> Stage:  # fmt: skip
    return replace(Stage(number, kind, face, 1, title, because), **more)  # type: ignore[arg-type]


def plan(job: Job, drawn: tuple[DrawnFace, ...]) -> Plan:
    k = StageKind
    stages = (
        stage(1, k.SURFACE, "front", "Surface the front", "every depth counts from a flat face"),
        stage(2, k.SURFACE, "back", "Surface the back", "taking both alike keeps the blank flat"),
        stage(3, k.CUT, "front", "Cut rose dark, rose light and words", setup=1,
              subjects=("rose dark", "rose light", "words")),
        stage(4, k.SEAL, "front", "Seal the cut walls with shellac",
              "walls just cut into wood drink resin and let colour bleed", lag_s=3600.0),
        stage(5, k.FILL, "front", "Fill rose dark with deep teal", mix="deep teal",
              subjects=("rose dark",)),
        stage(6, k.FILL, "front", "Fill rose light with sand", mix="sand"),
        stage(7, k.CURE, "front", "Let deep teal and sand cure", lag_s=129600.0),
        stage(8, k.MILL_FLUSH, "front", "Level the proud resin", setup=2),
        stage(9, k.SAND, "front", "Sand the front flush", setup=2),
        stage(10, k.CUT, "front", "Cut bright edge", setup=2, subjects=("bright edge",)),
        stage(11, k.FILL, "front", "Fill bright edge with gold line", mix="gold line"),
        stage(12, k.CAP, "front", "Cap bright edge with clear", mix="clear"),
        stage(13, k.DRILL, "back", "Drill solitaire and track", setup=3,
              subjects=("solitaire", "track")),
        stage(14, k.TRIM, "back", "Trim to the final outline", setup=3),
        stage(15, k.FINISH, "front", "Finish with wiping varnish, 3 coats", lag_s=86400.0),
    )  # fmt: skip
    setups = (
        Setup(1, "front", PINS, (3,), (0.0, 0.0), -0.5, 18.0, False),
        Setup(2, "front", PINS, (8, 9, 10), (0.0, 0.0), -0.5, 18.0, False),
        Setup(3, "back", PINS, (13, 14), (0.0, 0.0), -0.5, 17.3, True),
    )
    return Plan(stages, setups, planes_of(job.allowances, drawn))


def gcode_files(drawn: tuple[DrawnFace, ...]) -> tuple[GcodeFile, ...]:
    front, back = drawn
    regions = {each.inlay.name: each.region for face in drawn for each in face.inlays}
    return (
        gcode_file("front-1-1-clear", "front", 1, 1, FLAT,
                 PocketCut("rose dark", FLAT, 0.0, -2.7, regions["rose dark"], NONE),
                 PocketCut("rose light", FLAT, 0.0, -2.7, regions["rose light"], NONE)),
        gcode_file("front-1-2-engrave", "front", 1, 2, V_BIT,
                 EngraveCut("words", V_BIT, 0.0, -1.7, regions["words"], 0.0)),
        gcode_file("front-2-1-level", "front", 2, 1, FLAT,
                 LevelCut("front", FLAT, 0.0, 0.15, front.trim, resin=True)),
        gcode_file("front-2-2-line", "front", 2, 2, FINE,
                 LineCut("bright edge", FINE, 0.0, -1.2, front.inlays[2].strokes, resin=True)),
        gcode_file("back-3-1-drill", "back", 3, 1, FLAT,
                 DrillCut("solitaire", FLAT, 0.0, -8.0,
                          tuple((h.x_mm, h.y_mm) for h in back.holes[0].places), 3.175)),
        gcode_file("back-3-2-trim", "back", 3, 2, FLAT,
                 TrimCut("trim line", FLAT, 0.0, -17.4, back.trim, tabs=4)),
    )  # fmt: skip


def pour(number: int, at: int, fill: Mix, subject: str, volume: float) -> Pour:
    mass = volume * 1.07
    resin = round(mass / 1.45, 1)
    hardener = round(resin * 0.45, 1)
    parts = [
        Part(RESIN.name, "resin", resin / 1.12, resin, SCALE, resin, resin - 0.2,
             resin + 0.2),
    ]  # fmt: skip
    for each in fill.pigments:
        grams = round(resin * each.share, 1)
        parts.append(Part(each.pigment.name, "pigment", grams / 2.9, grams, SCALE, grams,
                          grams - 0.1, grams + 0.1, 1.5, SPOON))  # fmt: skip
    if fill.thinner is not None:
        parts.append(Part("ethanol", "thinner", 0.8, 0.63, SYRINGE, 0.8, 0.7, 0.9))
    parts.append(Part(f"{RESIN.name} hardener", "hardener", hardener / 0.98, hardener, SCALE,
                      hardener, hardener - 0.2, hardener + 0.2))  # fmt: skip
    served = (Served(subject, "front", volume / 6, volume / 40),
              Served("morris lines", "front", volume / 12, volume / 60))  # fmt: skip
    return Pour(number, at, fill, 4, served, volume * 0.8, volume * 0.2, volume, mass,
                tuple(parts), 0.0123, 15.7, mass * 0.05)  # fmt: skip


def findings() -> tuple[Finding, ...]:
    return (
        Finding("wood-between-too-thin", Severity.MUST_FIX, "The wood between body and solitaire "
                                                            "is 1.8 mm.",
                "Make body 2 mm deep, or move the holes clear of it.",
                (Subject("inlay", "body"),), NOWHERE, Place("back", 200.0, 90.0),
                Measure("wood between faces", 1.8, 3.0, "mm"), "tried on a test strip"),
        Finding("detail-lost", Severity.WARNING, "The flat end mill rounds the tips of rose dark.",
                "Choose the 0.8 mm bit for the tips, or accept round ones.",
                (Subject("inlay", "rose dark"),), NOWHERE, Place("front", 147.0, 95.0),
                Measure("deepest gap", 0.42, 0.1, "mm")),
        Finding("long-wait", Severity.NOTE, "The run waits 36 h for the first cure.",
                "Plan other work for that day."),
    )  # fmt: skip


def replay() -> Replay:
    thickness_table = (
        ThicknessRow(1, "front", "surfaced", -0.5, 18.5),
        ThicknessRow(2, "back", "surfaced", -0.5, 18.0),
        ThicknessRow(9, "front", "sanded", -0.7, 17.8),
    )
    return Replay(BoardSpec(LENGTH, WIDTH, 19.0, True, 0.1), (), thickness_table, (), ())


def bits_of(each: Inlay) -> tuple[Bit, ...]:
    if each.v_bit:
        return (V_BIT,)
    return (FLAT, FINE) if each.seam is None else (FINE,)


def make(title: str = "Kingfisher travelling set", turn_about_x: bool = True) -> ViewContext:
    drawn = faces()
    line = Artwork(RectangleArt(320, 170, 8, 0), Placement(), NOWHERE)
    job = Job(
        title=title, file="kingfisher.yaml", folder=".", pieces=3, test_pieces=1,
        blank=Blank(CHERRY, LENGTH, WIDTH, 19.0, True, True, 0.08, turn_about_x, NOWHERE, NOWHERE),
        outline=Outline(line, 0.0, 4, 6.0, 1.5, FLAT, NOWHERE),
        allowances=Allowances(0.5, 0.0, 0.15, 0.2, 0.05, 0.4, 1.0, 3.0),
        faces=tuple(
            Face(face.name, tuple(each.inlay for each in face.inlays),
                 tuple(each.holes for each in face.holes))
            for face in drawn
        ),
        mixes=(DEEP, SAND, LINE, RED, CLEAR), sealer=SHELLAC,
        finish=FinishPlan(VARNISH, 3, True), shop=SHOP, holding=PINS, cell_mm=None, accepted=(),
        source=NOWHERE,
    )  # fmt: skip
    fits = tuple(
        Fit(each, bits_of(each.inlay), FINE, (), "it fits")
        for face in drawn for each in face.inlays
    )  # fmt: skip
    return ViewContext(
        build=Build(
            job=job, faces=drawn, fits=fits, plan=plan(job, drawn),
            gcode_files=gcode_files(drawn), replay=replay(),
            pours=(pour(1, 5, DEEP, "rose dark", 42.0), pour(2, 6, SAND, "rose light", 40.0),
                   pour(3, 11, LINE, "bright edge", 12.0)),
            palette=palette_of(job), findings=findings(),
        ),
        today="25 November 2026",
        colours={each.name: each.colour for each in job.mixes},
        pictures={
            finished_name("front"): picture((170, 110, 70)),
            finished_name("back"): picture((150, 100, 60)),
        },
        causes={"wood-between-too-thin": "Pockets of both faces leave little wood between them."},
        resolved="flushwork: 2\ntitle: Kingfisher travelling set\npieces: 3\n",
    )  # fmt: skip


@pytest.fixture(scope="session")
def context() -> ViewContext:
    return make()


@pytest.fixture(scope="session")
def make_context() -> Callable[..., ViewContext]:
    return make
