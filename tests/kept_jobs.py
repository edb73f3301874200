"""Jobs kept as text, to be compared over time: small ones, and twelve that were once drawn."""

from __future__ import annotations

from tests.imported_files import MIDDLE, PLATE, job_with, plate_rings
from tests.small_jobs import PLAIN, changed

SHOP = "flushwork shop: 2\nname: Small shop\nmeasuring tools: [fine scale, bench scale]\n"
PRICED = f"{SHOP}prices: {{currency: crowns, hour of work: 30, hour of machine: 3, sundries: 2}}\n"
INCHES = (
    f"{SHOP}machine: {{clear height: 1/4 in, "
    "gcode files: {units: inch, arcs: no, line numbers: yes}}\n"
)
MANY = changed("title: Plain lid", "pieces: 4\ntest pieces: 1\ntitle: Plain lid")
LOG = """\
2027-03-02 09:00 stage 1
2027-03-02 09:30 stage 2
2027-03-02 15:00 16 degC
2027-03-02 16:00 stage 3 piece 1
2027-03-03 10:00 now
"""


def _with(key: str, text: str = PLAIN) -> str:
    return changed("title: Plain lid", f"{key}\ntitle: Plain lid", text)


SMALL = {
    "plain": {"job.yaml": PLAIN},
    "flush": {"job.yaml": _with("allowances: {left proud: 0 mm}")},
    "whole face": {"job.yaml": _with("allowances: {mill flush: 0.25 mm}")},
    "six tabs": {"job.yaml": changed("trim line: {", "trim line: {tabs: 6, ")},
    "many": {"job.yaml": MANY, "day.log": LOG},
    "imported": {"job.yaml": job_with("cut plate", PLATE, MIDDLE), "plate.NC": plate_rings()},
    "priced": {"job.yaml": _with("shop: shop.yaml", MANY), "shop.yaml": PRICED},
    "inches": {"job.yaml": _with("shop: shop.yaml", MANY), "shop.yaml": INCHES},
}

DRAWN = (
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 95.00 mm, width: 80.00 mm, thickness: 13.00 mm,
  flipped: top to bottom}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, circle: 8.000 mm, at: [0.000 mm, 0.000 mm], turn: 0 deg,
       depth: 1.00 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 3 mm, gcode files: {units: metric, arcs: yes, drilling cycles: yes,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 154.18 mm, width: 80.00 mm, thickness: 13.00 mm,
  flipped: top to bottom}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, circle: 8.000 mm, at: [0.000 mm, 0.000 mm], turn: 0 deg,
       depth: 1.00 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 3 mm, gcode files: {units: metric, arcs: yes, drilling cycles: yes,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 154.18 mm, width: 123.54 mm, thickness: 13.53 mm,
  flipped: side to side}
trim line: {circle: 92.469 mm}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, polygon: {sides: 5, diameter: 50.330 mm}, at: [0.000 mm, -0.000 mm],
       turn: 5 deg, depth: 1.35 mm, fill: dark}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 1, pitch: 9 mm}, at: [0 mm, 33.29 mm],
       diameter: 3.175 mm, depth: 6 mm}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 12.5 mm, gcode files: {units: metric, arcs: yes, drilling cycles: yes,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 172.19 mm, width: 102.14 mm, thickness: 15.00 mm,
  flipped: top to bottom}
trim line: {circle: 74.640 mm}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, polygon: {sides: 5, diameter: 21.870 mm}, at: [0.000 mm, -0.000 mm],
       turn: 43 deg, depth: 2.85 mm, fill: dark}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 1, pitch: 9 mm}, at: [0 mm, 26.87 mm],
       diameter: 3.175 mm, depth: 6 mm}
back:
  inlays:
    - {name: back inlay 1, ring: {outside: 9.807 mm, inside: 4.903 mm}, at: [0.000 mm,
       -6.000 mm], turn: 64 deg, depth: 1.46 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 5 mm, gcode files: {units: metric, arcs: no, drilling cycles: no,
  line numbers: yes}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 143.52 mm, width: 116.06 mm, thickness: 16.00 mm,
  flipped: top to bottom}
on the bed: {pieces: 2, step: [183.5 mm, 0 mm]}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, ring: {outside: 17.961 mm, inside: 8.981 mm}, at: [-13.804 mm,
       -0.000 mm], turn: 76 deg, depth: 1.97 mm, fill: dark}
    - {name: front inlay 2, circle: 18.257 mm, at: [13.804 mm, 5.963 mm], turn: 64 deg,
       depth: 2.98 mm, fill: dark}
back:
  inlays:
    - {name: back inlay 1, polygon: {sides: 5, diameter: 31.961 mm}, at: [0.000 mm, 5.461 mm],
       turn: 83 deg, depth: 2.97 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 1/4 in, gcode files: {units: inch, arcs: no, drilling cycles: yes,
  line numbers: yes}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 190.00 mm, width: 90.00 mm, thickness: 14.53 mm,
  flipped: top to bottom}
trim line: {circle: 57.798 mm}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, rectangle: 8.940 mm x 6.258 mm, round: 0.99 mm, at: [-11.945 mm,
       5.200 mm], turn: 9 deg, depth: 2.13 mm, fill: dark}
    - {name: front inlay 2, polygon: {sides: 5, diameter: 8.458 mm}, at: [0.000 mm, -0.000 mm],
       turn: 51 deg, depth: 1.81 mm, fill: dark}
    - {name: front inlay 3, rectangle: 8.517 mm x 5.962 mm, round: 0.95 mm, at: [11.945 mm,
       0.000 mm], turn: 63 deg, depth: 2.28 mm, fill: dark}
  holes:
    - {name: pegs, grid: {columns: 3, rows: 1, pitch: 9 mm}, at: [0 mm, 20.81 mm],
       diameter: 3.175 mm, depth: 6 mm}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 5 mm, gcode files: {units: metric, arcs: yes, drilling cycles: no,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 156.07 mm, width: 128.86 mm, thickness: 19.32 mm,
  flipped: side to side}
trim line: {circle: 99.992 mm}
locating: {by: dowels, diameter: 5 mm, into blank: through}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, polygon: {sides: 5, diameter: 9.204 mm}, at: [-20.665 mm, -5.382 mm],
       turn: 89 deg, depth: 2.88 mm, fill: dark}
    - {name: front inlay 2, rectangle: 12.551 mm x 8.786 mm, round: 1.39 mm, at: [0.000 mm,
       -0.722 mm], turn: 73 deg, depth: 2.71 mm, fill: dark}
    - {name: front inlay 3, polygon: {sides: 5, diameter: 9.623 mm}, at: [20.665 mm, -5.530 mm],
       turn: 0 deg, depth: 2.36 mm, fill: dark}
back:
  inlays:
    - {name: back inlay 1, ring: {outside: 8.398 mm, inside: 4.199 mm}, at: [-15.499 mm,
       0.000 mm], turn: 65 deg, depth: 2.06 mm, fill: dark}
    - {name: back inlay 2, rectangle: 16.275 mm x 11.393 mm, round: 1.81 mm, at: [15.499 mm,
       -5.379 mm], turn: 26 deg, depth: 1.00 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 3 mm, gcode files: {units: inch, arcs: no, drilling cycles: yes,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 110.55 mm, width: 145.96 mm, thickness: 19.01 mm,
  flipped: top to bottom}
trim line: {rectangle: 80.554 mm x 117.965 mm, round: 6 mm}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, ring: {outside: 9.209 mm, inside: 4.604 mm}, at: [-16.235 mm,
       4.617 mm], turn: 30 deg, depth: 2.63 mm, fill: dark}
    - {name: front inlay 2, circle: 8.655 mm, at: [0.000 mm, -4.443 mm], turn: 34 deg,
       depth: 1.01 mm, fill: dark}
    - {name: front inlay 3, rectangle: 8.728 mm x 6.109 mm, round: 0.97 mm, at: [16.235 mm,
       2.939 mm], turn: 84 deg, depth: 1.85 mm, fill: dark}
back:
  inlays:
    - {name: back inlay 1, circle: 10.060 mm, at: [-12.176 mm, -3.335 mm], turn: 86 deg,
       depth: 2.62 mm, fill: dark}
    - {name: back inlay 2, circle: 17.935 mm, at: [12.176 mm, -0.000 mm], turn: 50 deg,
       depth: 1.32 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 12.5 mm, gcode files: {units: inch, arcs: yes, drilling cycles: no,
  line numbers: yes}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 140.96 mm, width: 109.86 mm, thickness: 20.00 mm,
  flipped: top to bottom}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, rectangle: 14.445 mm x 10.111 mm, round: 1.60 mm, at: [-12.402 mm,
       1.377 mm], turn: 84 deg, depth: 1.06 mm, fill: dark}
    - {name: front inlay 2, rectangle: 11.158 mm x 7.810 mm, round: 1.24 mm, at: [12.402 mm,
       0.684 mm], turn: 8 deg, depth: 2.00 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 1/4 in, gcode files: {units: metric, arcs: no, drilling cycles: no,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 160.37 mm, width: 136.38 mm, thickness: 14.73 mm,
  flipped: top to bottom}
trim line: {rectangle: 130.369 mm x 108.376 mm, round: 6 mm}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, ring: {outside: 33.423 mm, inside: 16.712 mm}, at: [0.000 mm,
       -4.403 mm], turn: 62 deg, depth: 1.07 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 12.5 mm, gcode files: {units: metric, arcs: yes, drilling cycles: yes,
  line numbers: yes}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 157.28 mm, width: 140.00 mm, thickness: 16.37 mm,
  flipped: top to bottom}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, ring: {outside: 51.699 mm, inside: 25.849 mm}, at: [0.000 mm,
       0.990 mm], turn: 63 deg, depth: 2.55 mm, fill: dark}
back:
  inlays:
    - {name: back inlay 1, rectangle: 24.684 mm x 17.279 mm, round: 2.74 mm, at: [0.000 mm,
       1.269 mm], turn: 18 deg, depth: 1.10 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 12.5 mm, gcode files: {units: inch, arcs: yes, drilling cycles: yes,
  line numbers: no}}
""",
    ),
    (
        """\
flushwork: 2
shop: shop.yaml
cell: 0.5 mm
title: Random board
blank: {wood: sugar maple, length: 157.28 mm, width: 140.00 mm, thickness: 16.37 mm,
  flipped: top to bottom}
pieces: 3
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
front:
  inlays:
    - {name: front inlay 1, ring: {outside: 51.699 mm, inside: 25.849 mm}, at: [0.000 mm,
       0.990 mm], turn: 63 deg, depth: 2.55 mm, fill: dark}
back:
  inlays:
    - {name: back inlay 1, rectangle: 24.684 mm x 17.279 mm, round: 2.74 mm, at: [0.000 mm,
       1.269 mm], turn: 1 deg, depth: 1.10 mm, fill: dark}
""",
        """\
flushwork shop: 2
name: small shop
measuring tools: [fine scale, bench scale]
machine: {clear height: 12.5 mm, gcode files: {units: inch, arcs: yes, drilling cycles: yes,
  line numbers: no}}
""",
    ),
)
