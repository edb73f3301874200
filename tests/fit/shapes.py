"""Regions and bits for the tests of reach and of toolpaths."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely import MultiLineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from flushwork.art.drawn import DrawnInlay
from flushwork.core.findings import Source
from flushwork.job.records import Inlay, Manner, MeasuredFrom, Mix, Seam
from flushwork.shelf.items import Bit, BitKind, Resin

EIGHTH = Bit("3.175 mm flat", BitKind.FLAT, 3.175, 1, flute_mm=15.0)
SIXTEENTH = Bit("1.588 mm flat", BitKind.FLAT, 1.5875, 2, flute_mm=6.0, chip_mm=0.018)
THIRTYSECOND = Bit("0.794 mm flat", BitKind.FLAT, 0.79375, 3, flute_mm=3.0, chip_mm=0.01)
QUARTER = Bit("6.35 mm flat", BitKind.FLAT, 6.35, 4, flute_mm=22.0, chip_mm=0.08, pass_mm=3)
SIXTY = Bit("60 deg V-bit", BitKind.V_BIT, 6.35, 5, tip_mm=0.1, angle_rad=math.radians(60))
THIRTY = Bit("30 deg V-bit", BitKind.V_BIT, 6.35, 6, tip_mm=0.1, angle_rad=math.radians(30))
HERE = Source("job.yaml", 1, 1, "")


def many(shape: BaseGeometry) -> MultiPolygon:
    """Return an area as the rooms hand it on."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon)]
    return MultiPolygon(parts)


def box(x0: float, y0: float, x1: float, y1: float) -> MultiPolygon:
    return many(shapely.box(x0, y0, x1, y1))


def disc(radius: float, x: float = 0.0, y: float = 0.0, segments: int = 40) -> MultiPolygon:
    return many(shapely.buffer(shapely.Point(x, y), radius, quad_segs=segments))


def star(points: int, outer: float, inner: float) -> MultiPolygon:
    return many(
        Polygon(
            [
                (
                    (outer, inner)[k % 2] * math.cos(k * math.pi / points),
                    (outer, inner)[k % 2] * math.sin(k * math.pi / points),
                )
                for k in range(2 * points)
            ]
        )
    )


def slot(points: Sequence[tuple[float, float]], width: float) -> MultiPolygon:
    """Return a slot of one width along a polyline, mitred at its bends and square at its ends."""
    line = shapely.LineString(points)
    return many(shapely.buffer(line, width / 2.0, cap_style="square", join_style="mitre"))


BEND = ((0.0, 0.0), (30.0, 0.0), (30.0, 20.0), (45.0, 28.0))

RESIN = Resin(
    name="coating epoxy",
    kind="epoxy",
    ratio_resin=100,
    ratio_hardener=45,
    by_weight=True,
    density_resin_g_cm3=1.1,
    density_hardener_g_cm3=1.0,
    tolerance=0.03,
    pot_life_s=1800,
    pot_mass_g=100,
    viscosity_pa_s=0.8,
    recoat_from_s=10800,
    recoat_until_s=43200,
    sandable_s=86400,
    cure_s=604800,
    at_c=23,
    floor_c=15,
    layer_mm=6,
    shrinkage=0.02,
    source="test",
)
MIX = Mix("soot", RESIN, 100, 45, True, None, 0.0, (), "#111111", 1.0, "", HERE)


def inlay(
    region: MultiPolygon,
    *,
    depth: float = 2.0,
    v_bit: bool = False,
    bits: tuple[Bit, ...] = (),
    strokes: MultiLineString | None = None,
    seam_width: float = 0.0,
    name: str = "leaf",
) -> DrawnInlay:
    record = Inlay(
        name=name,
        face="front",
        artwork=(),
        seam=Seam(("body",), seam_width, False) if seam_width else None,
        depth_mm=depth,
        measured_from=MeasuredFrom.FINISHED,
        mix=MIX,
        manner=Manner.OVERFILLED,
        cap=None,
        cap_mm=0.0,
        second_pass_of=(),
        after=(),
        v_bit=v_bit,
        bits=bits,
        sealed=True,
        source=HERE,
        depth_source=HERE,
    )
    return DrawnInlay(record, region, MultiLineString() if strokes is None else strokes)
