"""A job in which every name would be a script if it were let loose."""

from __future__ import annotations

from pathlib import Path

RUNS = "<img src=x onerror=window.ran=1>"
"""Runs where it gets into a page as HTML; without a slash, so that a file may be called so."""


def odd(what: str) -> str:
    """Return a name with two scripts in it, and with quotes that end an attribute."""
    return f'{what} "><script>window.ran=1</script>{RUNS}'


ART = f"rose {RUNS}.svg"
NAMES = {
    name: odd(name)
    for name in (
        "title", "shop", "router", "holding", "bit", "wood", "resin", "pigment", "sealer",
        "finish", "scale", "mix", "inlay", "holes", "part", "reason", "layer",
    )
}  # fmt: skip


def quoted(name: str) -> str:
    """Return a name as YAML in single quotes."""
    return "'" + NAMES[name].replace("'", "''") + "'"


SHOP = f"""\
flushwork shop: 2
name: {quoted("shop")}
machine: {{name: {quoted("router")}, travel: [600 mm, 400 mm, 80 mm]}}
holding:
  - name: {quoted("holding")}
    how: {quoted("holding")}
    locates by: {quoted("holding")}
    repeatability: 0.05 mm
bits: [{{name: {quoted("bit")}, like: 3.175 mm flat}}, 25 mm facing bit]
woods: [{{name: {quoted("wood")}, like: sugar maple}}]
resins: [{{name: {quoted("resin")}, like: coating epoxy}}]
pigments: [{{name: {quoted("pigment")}, like: deep teal flake}}]
sealers: [{{name: {quoted("sealer")}, like: shellac}}]
finishes: [{{name: {quoted("finish")}, like: wiping varnish}}]
measuring tools:
  - {{name: {quoted("scale")}, kind: scale, step: 0.1 g, capacity: 500 g, drop: 0.1 g}}
"""

JOB = f"""\
flushwork: 2
title: {quoted("title")}
shop: shop.yaml
holding: {quoted("holding")}
pieces: 2
begin: 2027-03-01
blank: {{wood: {quoted("wood")}, length: 90 mm, width: 70 mm, thickness: 12 mm}}
trim line: {{rectangle: 76 mm x 56 mm, round: 4 mm}}
sealer: {quoted("sealer")}
finish: {{name: {quoted("finish")}, coats: 2}}
mixes:
  {quoted("mix")}:
    resin: {quoted("resin")}
    pigments: [{{name: {quoted("pigment")}, share: 3 %}}]
front:
  inlays:
    - name: {quoted("inlay")}
      svg: '{ART}'
      layers: [{quoted("layer")}]
      width: 30 mm
      depth: 2 mm
      fill: {quoted("mix")}
  holes:
    - name: {quoted("holes")}
      points: [[-30 mm, 0 mm], [30 mm, 0 mm]]
      diameter: 3.175 mm
      depth: 6 mm
loose parts:
  - {{name: {quoted("part")}, wood: {quoted("wood")}, match: {quoted("mix")}, count: 4}}
accept:
  - {{finding: wood-between-too-thin, because: {quoted("reason")}}}
"""

LAYER = NAMES["layer"].replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")
SVG = f"""\
<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="20mm" viewBox="0 0 30 20" \
onload="window.ran=1">
  <script>window.ran=1</script>
  <title>{LAYER}</title>
  <g id="{LAYER}"><path d="M1 1H29V19H1Z" onclick="window.ran=1"/></g>
</svg>
"""


def odd_job(folder: Path) -> Path:
    """Write the job with its shop and its artwork, and return its path."""
    (folder / ART).write_text(SVG, encoding="utf-8")
    (folder / "shop.yaml").write_text(SHOP, encoding="utf-8")
    path = folder / f"job {RUNS}.yaml"
    path.write_text(JOB, encoding="utf-8")
    return path
