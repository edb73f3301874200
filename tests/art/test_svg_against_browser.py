"""Random drawings of all that SVG has for outlines: areas as a browser paints them."""

from __future__ import annotations

import math
import random
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import sync_playwright
from shapely import box
from shapely.affinity import rotate

from flushwork.art.draw import draw_faces
from tests.art.face_jobs import svg_job
from tests.bench.conftest import CHROMIUM, FLAGS
from tests.many import examples

TILE = 480
"""Dots a drawing is painted in, each side."""
ACROSS = 6
BOUND = 0.005
"""What the areas may differ by, as a share."""
EDGE = 1e-4
"""What the browser's own shading of edges comes to: a square millimetre of the page."""


class Drawing:
    """One random drawing: definitions, rules of style and shapes, in a page of 100 by 100."""

    def __init__(self, seed: int) -> None:
        self.random = random.Random(seed)  # noqa: S311  (a drawing, no secret)
        self.held: list[str] = []
        self.rules: list[str] = []
        self.count = 0

    def of(self, *each: str) -> str:
        return self.random.choice(each)

    def number(self, least: float, most: float) -> float:
        return round(self.random.uniform(least, most), 3)

    def name(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def outline(self, size: float) -> str:
        """Return a closed shape about zero."""
        n = self.number
        if self.random.random() < 0.5:
            return self.path(size)
        kind = self.of("rect", "circle", "ellipse")
        if kind == "rect":
            wide, high = n(0.6, 1) * size, n(0.4, 1) * size
            place = f'x="{-wide / 2}" y="{-high / 2}" width="{wide}" height="{high}"'
            return f'<rect {place} rx="{n(0, 3)}"'
        if kind == "circle":
            return f'<circle r="{n(0.3, 0.5) * size}"'
        return f'<ellipse rx="{n(0.3, 0.5) * size}" ry="{n(0.2, 0.5) * size}"'

    def path(self, size: float) -> str:
        n = self.number
        kind = self.of("polygon", "path", "curve", "ring")
        count = self.random.randint(3, 7)
        places = [(n(0.3, 0.5) * size, 2 * math.pi * k / count) for k in range(count)]
        points = [(r * math.cos(t), r * math.sin(t)) for r, t in places]
        if kind == "polygon":
            return f'<polygon points="{" ".join(f"{x:.3f},{y:.3f}" for x, y in points)}"'
        (x, y), *rest = points
        if kind == "path":
            return f'<path d="M{x} {y}{"".join(f"L{a} {b}" for a, b in rest)}Z"'
        r = n(0.25, 0.45) * size
        if kind == "curve":
            return f'<path d="M{-r} 0A{r} {r} 0 1 1 {r} 0Q{r} {r} 0 {r}T{-r} 0Z"'
        hole = 0.2 * size
        inner = f"M{-hole} {-hole}v{2 * hole}h{2 * hole}v{-2 * hole}z"
        rule = self.of("evenodd", "nonzero")
        return f'<path fill-rule="{rule}" d="M{-r} {-r}h{2 * r}v{2 * r}h{-2 * r}z{inner}"'

    def line(self, size: float) -> str:
        n = self.number
        half = size / 2
        return self.of(
            f'<line x1="{-half}" y1="{n(-5, 5)}" x2="{half}" y2="{n(-5, 5)}"',
            f'<path d="M{-half} 0C{-half} {half} {half} {-half} {half} 0"',
            f'<polyline points="{-half},0 0,{n(5, 15)} {half},0 {half},-15"',
            f'<path d="M{-half} 0h{half}v{half}a{half} {half} 0 0 0 {half} {-half}"',
        )

    def transform(self) -> str:
        n = self.number
        return self.of(
            f'transform="rotate({n(-80, 80)})"',
            f'transform="scale({n(0.7, 1.2)} {n(0.7, 1.2)})"',
            f'transform="skewX({n(-25, 25)}) translate({n(-4, 4)},{n(-4, 4)})"',
            f'style="transform: rotate({n(-1, 1)}rad) translateX({n(-4, 4)}px)"',
            f'transform="matrix({n(0.8, 1.1)} {n(-0.3, 0.3)} {n(-0.3, 0.3)} {n(0.8, 1.1)} 1 -2)"',
        )

    def stroke(self, *, marked: bool) -> str:
        n = self.number
        width = self.of(f"{n(1, 4)}", f"{n(1, 3)}%", f"{n(0.3, 1)}mm")
        parts = [
            'stroke="black"',
            f'stroke-width="{width}"',
            f'stroke-linecap="{self.of("butt", "round", "square")}"',
            f'stroke-linejoin="{self.of("miter", "round", "bevel")}"',
        ]
        if self.random.random() < 0.5:
            dashes = self.of("7 3", "9,4,3,4", "6", "10% 4%")
            parts.append(f'stroke-dasharray="{dashes}" stroke-dashoffset="{n(-9, 9)}"')
        if marked and self.random.random() < 0.7:
            parts.append(self.marker())
        return " ".join(parts)

    def marker(self) -> str:
        name, n = self.name(), self.number
        orient = self.of("auto", "auto-start-reverse", "0", "35")
        units = self.of('markerUnits="userSpaceOnUse" markerWidth="9" markerHeight="9"', "")
        box = self.of(
            'viewBox="0 0 10 10" refX="5" refY="5"', 'viewBox="0 0 8 10" refX="2" refY="6"'
        )
        self.held.append(
            f'<marker id="{name}" orient="{orient}" {units} {box}>'
            f'<path d="M{n(-2, 1)} 0L10 5L0 10z"/></marker>'
        )
        where = self.of("start", "mid", "end")
        return self.of(f'marker-{where}="url(#{name})"', f'style="marker: url(#{name})"')

    def veil(self) -> str:
        name, n = self.name(), self.number
        if self.random.random() < 0.5:
            unit = self.random.random() < 0.4
            inner = (
                '<circle cx=".5" cy=".4" r=".45"/>'
                if unit
                else f'{self.outline(24)} {self.transform()} clip-rule="evenodd"/>'
            )
            units = ' clipPathUnits="objectBoundingBox"' if unit else ""
            self.held.append(f'<clipPath id="{name}"{units}>{inner}</clipPath>')
            return f'clip-path="url(#{name})"'
        inner = f'{self.outline(26)} fill="white"/><circle r="{n(2, 5)}" fill="black"/>'
        kind = ""
        if self.random.random() < 0.3:
            inner, kind = f'{self.outline(26)} fill="#444"/>', ' style="mask-type:alpha"'
        box = 'maskUnits="userSpaceOnUse" x="-90" y="-90" width="190" height="190"'
        self.held.append(f'<mask id="{name}" {box}{kind}>{inner}</mask>')
        return f'mask="url(#{name})"'

    def motif(self) -> str:
        """Return one thing about zero, some 30 across."""
        chance = self.random.random()
        if chance < 0.3:
            return f'{self.line(28)} fill="none" {self.stroke(marked=True)}/>'
        if chance < 0.45:
            name, n = self.name(), self.number
            visible = self.of("", 'overflow="visible"')
            self.held.append(
                f'<symbol id="{name}" viewBox="-15 -15 30 30" {visible}>'
                f"{self.outline(36)}/></symbol>"
            )
            return f'<use href="#{name}" x="-14" y="-12" width="{n(20, 30)}" height="{n(18, 26)}"/>'
        if chance < 0.55:
            return (
                '<svg x="-14" y="-14" width="26" height="26" viewBox="0 0 50 40" '
                f'preserveAspectRatio="{self.of("none", "xMinYMax", "xMidYMid slice")}">'
                '<rect x="10%" y="5%" width="70%" height="50%"/><circle cx="60%" cy="70%" r="25%"/>'
                "</svg>"
            )
        if chance < 0.7:
            name, parent = self.name(), self.name()
            rule = self.of(f".{name}", f".{parent} > .{name}", f"g .{name}", f"[class={name}]")
            self.rules.append(f"{rule} {{ fill: none; stroke: black; stroke-width: 3 }}")
            return f'<g class="{parent}">{self.outline(24)} class="{name}"/></g>'
        if chance < 0.85:
            return f"{self.outline(28)} {self.veil()}/>"
        return f"{self.outline(26)} {self.of('', self.stroke(marked=False))}/>"

    def text(self) -> str:
        shapes = []
        for x, y in ((25, 25), (75, 25), (25, 75), (75, 75)):
            inner = self.motif()
            if self.random.random() < 0.6:
                inner = f"<g {self.transform()}>{inner}</g>"
            shapes.append(f'<g transform="translate({x} {y})">{inner}</g>')
        if self.random.random() < 0.4:
            shapes.append(f'<circle cx="50%" cy="50%" r="{self.number(5, 12)}%" fill="white"/>')
        style = f"<style>{' '.join(self.rules)}</style>" if self.rules else ""
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
            f'viewBox="0 0 100 100">{style}<defs>{"".join(self.held)}</defs>{"".join(shapes)}</svg>'
        )


def painted_shares(texts: list[str]) -> list[float]:
    """Return what share of each drawing a browser paints dark; each is a picture of its own."""
    sheet = "".join(
        f'<img width="{TILE}" height="{TILE}" src="data:image/svg+xml;utf8,{_quoted(text)}">'
        for text in texts
    )
    style = "body{margin:0;background:white;line-height:0}img{display:inline-block}"
    with sync_playwright() as tools:
        browser = tools.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        try:
            rows = -(-len(texts) // ACROSS)
            page = browser.new_page(viewport={"width": ACROSS * TILE, "height": rows * TILE})
            page.set_content(f"<style>{style}</style>{sheet}", wait_until="load")
            shown = np.asarray(Image.open(BytesIO(page.screenshot())).convert("L"), dtype=float)
        finally:
            browser.close()
    shares = []
    for index in range(len(texts)):
        row, column = divmod(index, ACROSS)
        tile = shown[row * TILE : (row + 1) * TILE, column * TILE : (column + 1) * TILE]
        shares.append(float(1.0 - tile.mean() / 255.0))
    return shares


def _quoted(text: str) -> str:
    return text.replace("%", "%25").replace("#", "%23").replace('"', "'")


@pytest.mark.skipif(CHROMIUM is None, reason="no chromium here")
def test_areas_are_those_that_a_browser_paints(tmp_path: Path) -> None:
    texts = [Drawing(seed).text() for seed in range(examples(30))]
    for name in ("<symbol", "<marker", "<clipPath", "<mask", "stroke-dasharray", "<style", "%"):
        assert any(name in text for text in texts), name
    for text, share in zip(texts, painted_shares(texts), strict=True):
        face = draw_faces(svg_job(tmp_path, text))[0]
        # what reaches over the page is not shown there
        region = face.inlays[0].region
        area = region.intersection(box(0, 0, 100, 100)).area
        assert abs(area / 10_000.0 - share) <= BOUND * share + EDGE, text


def test_a_clip_path_of_several_shapes_is_all_of_them_exactly(tmp_path: Path) -> None:
    """Browsers err by a hundredth where such shapes overlap."""
    body = (
        '<clipPath id="c"><path d="M-10 -10h20v20h-20zM-5 -5v10h10v-10z" '
        'transform="rotate(-20)"/><rect x="-4" y="-5" width="8" height="10"/></clipPath>'
        '<g transform="translate(50 50)"><circle r="30" clip-path="url(#c)"/></g>'
    )
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" '
        f'viewBox="0 0 100 100">{body}</svg>'
    )
    ring = rotate(box(-10, -10, 10, 10).difference(box(-5, -5, 5, 5)), 20, origin=(0, 0))
    made = draw_faces(svg_job(tmp_path, text))[0].inlays[0].region
    assert made.area == pytest.approx(ring.union(box(-4, -5, 4, 5)).area, abs=1e-3)
