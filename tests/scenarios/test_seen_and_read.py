"""Engraving that sands away, colours that cannot be read, bad drawings, and one-liners."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scenarios.expected import Scene, Told, hold
from tests.scenarios.texts import job


def stroke(name: str, width: float, angle: int, tip: float, sand: float, *told: Told,
           silent: tuple[str, ...] = (), more: str = "") -> Scene:  # fmt: skip
    text = job(
        f"sealer: none\nallowances: {{sand: {sand} mm}}\n"
        "front: {inlays: [{name: stroke, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
        f"width: {width} mm, engrave: yes, depth: 2 mm, fill: navy, bits: [v]{more}}}]}}\n"
    ).replace("cell: 0.2 mm", "cell: 0.025 mm")
    shop = (
        "bits: [3.175 mm flat, 25 mm facing bit, "
        f"{{name: v, like: 60 deg V-bit, angle: {angle} deg, tip: {tip} mm}}]\n"
    )
    return Scene(name, text, told, silent, shop)


# cut from the face as it then stands, and 0.3 mm sanded off it later
STANDING = ", measured from: face as it stands"
ENGRAVED_AS_IT_STANDS = [
    # (0.35 - 0.2) / (2 tan 30) = 0.13 mm deep: gone; 0.35 + 0.6 tan 30 = 0.70 to draw
    stroke("60 degrees, then sanded", 0.35, 60, 0.2, 0.3,
           Told("sanded-away", "must fix", "stroke", 0.0, 1.0,
                words=("0.35 mm 0.13 mm deep", "draw them 0.70 mm")),
           silent=("engraving-shallow",), more=STANDING),
    # (0.35 - 0.1) / (2 tan 15) = 0.47 mm deep, 0.17 left; 0.35 - 0.6 tan 15 = 0.19 mm, 54 %
    stroke("30 degrees, then sanded", 0.35, 30, 0.1, 0.3,
           Told("thinned-by-sanding", "warning", "stroke", 54.0, 7.0, words=("0.47 mm deep",)),
           silent=("engraving-shallow",), more=STANDING),
    # for 0.5 mm left draw 0.85 mm at 60 degrees, 0.66 mm at 30
    stroke("0.5 mm at 60 degrees, then sanded", 0.5, 60, 0.2, 0.3,
           Told("sanded-away", "must fix", "stroke", words=("draw them 0.85 mm",)), more=STANDING),
    stroke("0.5 mm at 30 degrees, then sanded", 0.5, 30, 0.1, 0.3,
           Told("thinned-by-sanding", "warning", "stroke", 68.0, 7.0,
                words=("draw them 0.66 mm",)), more=STANDING),
    # 0.85 - 0.35 = 0.5 left of 0.85, 59 %, as it was drawn for
    stroke("0.85 mm at 60 degrees, then sanded", 0.85, 60, 0.2, 0.3,
           Told("thinned-by-sanding", "warning", "stroke", 59.0, 4.0), more=STANDING),
    # 0.66 - 0.1 > 0.5: three quarters are left
    stroke("0.66 mm at 30 degrees, then sanded", 0.66, 30, 0.1, 0.3,
           silent=("thinned-by-sanding", "sanded-away"), more=STANDING),
]  # fmt: skip

# measured from the finished face, V walls meet their outline there; sanding half as much again as
# the 0.3 mm planned leaves w - 2 x 0.15 tan(angle / 2) of a stroke of w
ENGRAVED = [
    *ENGRAVED_AS_IT_STANDS,
    # (0.35 - 0.2) / (2 tan 30) = 0.13 mm deep: gone
    stroke("60 degrees", 0.35, 60, 0.2, 0.3,
           Told("engraving-shallow", "must fix", "stroke", 0.0, 1.0, words=("0.13 mm",))),
    # (0.35 - 0.1) / (2 tan 15) = 0.47 mm deep; 0.35 - 0.08 = 0.27, 77 %
    stroke("30 degrees", 0.35, 30, 0.1, 0.3, silent=("engraving-shallow", "sanded-away")),
    # (0.35 - 0.1) / (2 tan 30) = 0.22 mm deep; 0.35 - 0.173 = 0.177, 51 %
    stroke("60 degrees, a sharper tip", 0.35, 60, 0.1, 0.3,
           Told("engraving-shallow", "warning", "stroke", 51.0, 7.0)),
    # 0.3 mm more of 0.6: for 0.5 mm left draw 0.85 mm, 59 %
    stroke("0.85 mm at 60 degrees, much sanded", 0.85, 60, 0.2, 0.6,
           Told("engraving-shallow", "warning", "stroke", 59.0, 3.0)),
    stroke("0.85 mm at 60 degrees", 0.85, 60, 0.2, 0.3, silent=("engraving-shallow",)),
]  # fmt: skip


def coloured(name: str, colour: str, wood: str, size: float, *told: Told,
             silent: tuple[str, ...] = ()) -> Scene:  # fmt: skip
    text = job(
        "allowances: {sand: 0 mm}\n"
        "front: {inlays: [{name: bars, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]], "
        f"[[-20 mm, 9 mm], [20 mm, 9 mm]]], width: {size} mm, depth: 1.5 mm, fill: ink}}]}}\n",
        wood=wood,
    ).replace(
        "mixes:\n",
        f'mixes:\n  ink: {{resin: coating epoxy, pigments: [black powder], colour: "{colour}"}}\n',
    )
    return Scene(name, text, told, silent)


# grey #5d5d5d has the lightness 39.4, #303030 19.9, #ededed 93.7 (CIE 15); oiled walnut #664631
# 32.6; strokes of 0.9 mm want 30, broad ones 20
READ = [
    coloured("bronze on walnut", "#5d5d5d", "black walnut", 0.9,
             Told("low-contrast", "warning", "bars", 6.8, 0.8, words=("want 30",))),
    coloured("navy on walnut", "#303030", "black walnut", 0.9,
             Told("low-contrast", "warning", "bars", 12.7, 0.8)),
    coloured("pearl on walnut", "#ededed", "black walnut", 0.9, silent=("low-contrast",)),
    # #1478b8 and cherry #b4794c: lightness 48.0 and 55.9 (CIE 15), far apart in colour
    coloured("blue on cherry, fine", "#1478b8", "black cherry", 0.9,
             Told("low-contrast", "warning", "bars", 7.9, 0.8, words=("want 30",))),
    coloured("blue on cherry, broader", "#1478b8", "black cherry", 1.6, silent=("low-contrast",)),
    coloured("bronze on maple", "#5d5d5d", "sugar maple", 0.9, silent=("low-contrast",)),
]  # fmt: skip

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" %s viewBox="0 0 60 40">'
SIZED = HEAD % 'width="60mm" height="40mm"'
DRAWN = job("front: {inlays: [{name: art, svg: a.svg, depth: 2 mm, fill: navy}]}\n")


def drawing(name: str, head: str, body: str, *codes: str, silent: tuple[str, ...] = ()) -> Scene:
    told = tuple(Told(code, "must fix", "") for code in codes)
    return Scene(name, DRAWN, told, silent, drawings={"a_svg": f"{head}{body}</svg>"})


SQUARE = '<path fill="#000" d="M5 5h10v10h-10z"/>'
OPEN = '<path fill="#000" d="M5 5h10v10h-10"/><path fill="#000" d="M30 5h10v10h-10"/>'
CROSSED = '<path fill="#000" d="M40 25l10 10v-10l-10 10z"/>'
WORDS = '<text x="10" y="20">hi</text>'
FILES = [
    drawing("no unit", HEAD % 'width="60" height="40"', SQUARE, "svg-without-size"),
    drawing(
        "two open, one crossed, live text",
        SIZED,
        OPEN + CROSSED + WORDS,
        "svg-outline-open",
        "svg-path-crosses-itself",
        "svg-live-text",
    ),
    drawing("one open", SIZED, OPEN.split("/>", 1)[0] + "/>", "svg-outline-open",
            silent=("svg-live-text",)),
    Scene(
        "one shape twice",
        DRAWN,
        (Told("svg-shape-twice", "warning", ""),),
        drawings={"a_svg": f"{SIZED}{SQUARE}{SQUARE}</svg>"},
    ),
    Scene(
        "a sound drawing",
        DRAWN,
        silent=("svg-shape-twice", "svg-outline-open", "svg-without-size"),
        drawings={"a_svg": f"{SIZED}{SQUARE}</svg>"},
    ),
    Scene(
        "a layer that is not there",
        DRAWN.replace("svg: a.svg,", 'svg: a.svg, layers: ["gold"],'),
        (Told("svg-layer-unknown", "must fix", ""),),
        drawings={"a_svg": f'{SIZED}<g id="gold?">{SQUARE}</g></svg>'},
    ),
]  # fmt: skip


def pegged(hole: str, peg: str, finish: str) -> str:
    return job(
        f"finish: {finish}\nfront: {{holes: [{{name: pegs, grid: {{columns: 2, rows: 2, "
        f"pitch: 12 mm}}, diameter: {hole}, depth: 8 mm, peg: {peg}, bit: 1 mm flat}}]}}\n"
    ).replace("depth: 8 mm", "depth: 3 mm")


POCKETS = (
    "front:\n  inlays:\n"
    "    - {name: a, rectangle: 20 mm x 20 mm, at: [-10.%d mm, 0 mm], depth: %d mm, fill: navy}\n"
    "    - {name: b, rectangle: 20 mm x 20 mm, at: [10 mm, 0 mm], depth: %d mm, fill: navy}\n"
)
LINERS = [
    # 3.05 - 2 x 3 x 0.015 - 0.05 = 2.91 < 3.00
    Scene(
        "a peg of 3.00 in a hole of 3.05",
        pegged("3.05 mm", "3 mm", "{name: wiping varnish, coats: 3}"),
        (Told("peg-tight", "warning", "pegs", -0.09, 0.001, words=("0.05 mm",)),),
    ),
    Scene(
        "a peg of 3.00 in a hole of 3.20",
        pegged("3.2 mm", "3 mm", "{name: wiping varnish, coats: 3}"),
        silent=("peg-tight", "peg-loose"),
    ),
    Scene(
        "holes after the finish",
        pegged("3.05 mm", "3 mm", "{name: wiping varnish, coats: 3, holes: after}"),
        (Told("peg-tight", "warning", "pegs", 0.0, 0.001),),
    ),
    Scene(
        "a peg thicker than its hole",
        pegged("3 mm", "3.1 mm", "none"),
        (Told("peg-tight", "must fix", "pegs", -0.15, 0.001),),
    ),
    Scene("a thin peg", pegged("3.4 mm", "3 mm", "none"), (Told("peg-loose", "warning", "pegs"),)),
    # gaps along the grain: the slivers run across it
    Scene(
        "half a millimetre across the grain, four deep",
        job(POCKETS % (5, 4, 4)),
        (Told("wood-sliver-thin", "must fix", "a", 0.5, words=("snap",)),),
    ),
    Scene(
        "the same along the grain",
        job(POCKETS % (5, 4, 4)).replace("16 mm}", "16 mm, grain: along the width}"),
        (Told("wood-sliver-thin", "warning", "a", 0.5, words=("along the grain",)),),
    ),
    Scene(
        "0.9 mm across, two deep",
        job(POCKETS % (9, 2, 2)),
        (Told("wood-sliver-thin", "warning", "a", 0.9),),
    ),
    Scene(
        "words mirrored for the back",
        job(
            "back: {inlays: [{name: words, text: AB, size: 20 mm, font: sans bold, "
            "mirror: left-right, depth: 2 mm, fill: navy}]}\n"
        ),
        (Told("text-reversed", "must fix", "words"),),
    ),
    Scene(
        "water-based finish over dye in bare walls",
        job(
            "sealer: none\nfinish: {name: water-based varnish, coats: 3}\n"
            "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: dyed}]}\n"
        ).replace("mixes:\n", "mixes:\n  dyed: {resin: coating epoxy, pigments: [blue dye]}\n"),
        (Told("finish-over-dye", "warning", "dyed", words=("barrier",)),),
    ),
    Scene(
        "two inlays of one name",
        job(
            "front:\n  inlays:\n"
            "    - {name: a, circle: 9 mm, depth: 2 mm, fill: navy}\n"
            "    - {name: a, circle: 9 mm, at: [20 mm, 0 mm], depth: 2 mm, fill: navy}\n"
        ),
        (Told("name-twice", "must fix", ""),),
    ),
    Scene(
        "a depth below nothing",
        job("front: {inlays: [{name: a, circle: 9 mm, depth: -2 mm, fill: navy}]}\n"),
        (Told("value-out-of-range", "must fix", ""),),
    ),
]  # fmt: skip


@pytest.mark.parametrize("scene", [*ENGRAVED, *READ, *FILES, *LINERS], ids=lambda scene: scene.name)
def test_it_is_told(tmp_path: Path, scene: Scene) -> None:
    hold(tmp_path, scene)
