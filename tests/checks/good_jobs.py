"""Sound jobs of many kinds, in which nothing is wrong."""

from __future__ import annotations

HEAD = "flushwork: 2\ncell: 0.25 mm\ntitle: {title}\n"
DARK = "  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}\n"
MIXES = (
    "mixes:\n" + DARK + "  ivory: {resin: coating epoxy, pigments: [ivory powder]}\n"
    "  bright: {resin: coating epoxy, thinner: {name: ethanol, share: 12 %},\n"
    "    pigments: [{name: silver flake, share: 4 %}], bubbles: pick}\n"
    "  clear: {resin: coating epoxy}\n"
)


def job(title: str, blank: str, body: str, mixes: str = MIXES) -> str:
    return f"{HEAD.format(title=title)}blank: {{{blank}}}\n{mixes}{body}"


CHERRY = "wood: black cherry, length: 120 mm, width: 70 mm, thickness: 16 mm"
MAPLE = CHERRY.replace("black cherry", "sugar maple")
GOOD_JOBS = {
    "one disc": job(
        "Disc", MAPLE, "front: {inlays: [{name: sun, circle: 30 mm, depth: 2 mm, fill: dark}]}\n"
    ),
    "trimmed": job(
        "Coaster",
        "wood: black walnut, length: 120 mm, width: 100 mm, thickness: 12 mm",
        "trim line: {circle: 90 mm}\npieces: 6\n"
        "front: {inlays: [{name: ring, ring: {outside: 70 mm, inside: 64 mm}, depth: 2 mm, "
        "fill: ivory}]}\n",
    ),
    "two colours with wood between": job(
        "Pair",
        CHERRY,
        "front:\n  inlays:\n"
        "    - {name: left, rectangle: 30 mm x 20 mm, at: [-18 mm, 0 mm], depth: 2 mm, "
        "fill: dark}\n"
        "    - {name: right, rectangle: 30 mm x 20 mm, at: [18 mm, 0 mm], depth: 2 mm, "
        "fill: ivory}\n",
    ),
    "two colours that meet under a line": job(
        "Joint",
        MAPLE,
        "front:\n  inlays:\n"
        "    - {name: left, rectangle: 30 mm x 20 mm, at: [-15 mm, 0 mm], depth: 2 mm, "
        "fill: dark}\n"
        "    - {name: right, rectangle: 30 mm x 20 mm, at: [15 mm, 0 mm], after: [left], "
        "depth: 2 mm, fill: dark two}\n"
        "    - {name: line, seam line: {along: [left, right], width: 1.6 mm}, depth: 2 mm, "
        "fill: bright,\n       how: scraped flush and capped, cap: clear}\n",
        MIXES.replace("  ivory:", DARK.replace("dark", "dark two") + "  ivory:"),
    ),
    "second pass": job(
        "Bird",
        MAPLE,
        "front:\n  inlays:\n"
        "    - {name: body, rectangle: 50 mm x 30 mm, round: 8 mm, depth: 2.6 mm, fill: dark}\n"
        "    - {name: wing, circle: 18 mm, second pass of: [body], depth: 1.4 mm, fill: ivory}\n",
    ),
    "engraved words": job(
        "Words",
        CHERRY,
        "sealer: shellac\nfront: {inlays: [{name: words, text: OAK, font: sans bold, size: 18 mm, "
        "engrave: yes, bits: [60 deg V-bit], depth: 1.5 mm, fill: ivory}]}\n",
    ).replace("cell: 0.25 mm", "cell: 0.1 mm"),
    "peg holes": job(
        "Pegs",
        MAPLE,
        "front: {holes: [{name: pegs, grid: {columns: 8, rows: 4, pitch: 10 mm}, "
        "diameter: 3.175 mm, depth: 8 mm, peg: 2.95 mm}]}\n",
    ),
    "both faces": job(
        "Two sides",
        MAPLE,
        "front: {inlays: [{name: sun, circle: 30 mm, depth: 2 mm, fill: dark}]}\n"
        "back: {inlays: [{name: moon, circle: 24 mm, depth: 2 mm, fill: dark}]}\n",
    ),
    "casting resin, deep": job(
        "Pool",
        "wood: sugar maple, length: 150 mm, width: 110 mm, thickness: 26 mm",
        "front: {inlays: [{name: pool, rectangle: 30 mm x 20 mm, round: 4 mm, depth: 8 mm, "
        "fill: sea}]}\n",
        "mixes:\n  sea: {resin: casting epoxy, pigments: [{name: ultramarine powder, "
        "share: 3 %}]}\n",
    ),
    "quarter-sawn oak, grain across": job(
        "Oak",
        "wood: white oak, length: 120 mm, width: 80 mm, thickness: 15 mm, sawn: quarter, "
        "grain: along the width, flipped: side to side",
        "front: {inlays: [{name: band, rectangle: 60 mm x 12 mm, depth: 2 mm, fill: dark}]}\n"
        "back: {inlays: [{name: bar, rectangle: 50 mm x 12 mm, depth: 2 mm, fill: dark}]}\n",
    ),
    "scraped lines": job(
        "Lines",
        MAPLE,
        "front: {inlays: [{name: stripes, lines: [[[-30 mm, -8 mm], [30 mm, -8 mm]], "
        "[[-30 mm, 8 mm], [30 mm, 8 mm]]], width: 1.6 mm, depth: 1.6 mm, fill: dark, "
        "how: scraped flush}]}\n",
    ),
    "a run of twelve": job(
        "Run",
        MAPLE,
        "pieces: 12\ntest pieces: 1\n"
        "front: {inlays: [{name: sun, circle: 30 mm, depth: 2 mm, fill: ivory two}]}\n",
        MIXES.replace("  ivory:", DARK.replace("dark", "ivory two") + "  ivory:"),
    ),
}
