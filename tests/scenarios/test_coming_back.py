"""Lines recut after damp days, registration marks, and boards that are not flat."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.scenarios.expected import Scene, Told, hold
from tests.scenarios.texts import job

BUSHINGS = """\
holding: [{name: bushings, how: double-sided tape, repeatability: 0.05 mm,
  locates by: two dowels in bushings on the centre line}]
"""


def recut(
    width: str, moisture: str, *, datum: str, wood: str = "black walnut", more: str = ""
) -> str:
    text = job(
        f"datum: {datum}\nmoisture log: [{{when cutting: line, {moisture}}}]\n"
        "front:\n  inlays:\n"
        "    - {name: field, rectangle: 60 mm x 218 mm, depth: 2 mm, fill: navy}\n"
        f"    - {{name: line, seam line: {{along: [field], width: {width}}}, depth: 1.2 mm,\n"
        "       fill: gold line, how: scraped flush and capped, cap: clear}\n" + more,
        wood=wood,
        length=120,
        width=220,
    )
    return text.replace("cell: 0.2 mm", "cell: 0.4 mm", 1)


# walnut 0.00274 per percent, the far edge 219 mm from the near one: 0.600 mm for one point;
# 0.40 - 0.05 (blur) - 0.05 (dowels) - 0.60 = -0.30
RECUT = [
    Scene(
        "edge datum, one point of moisture",
        recut("0.8 mm", "moisture: 9 %", datum="near edge"),
        (
            Told(
                "seam-not-covered", "must fix", "line", -0.30, 0.005,
                words=("1.00274", "1.6 mm", "0.30 mm, 0.00 mm left", "a line of 1.0 mm"),
            ),
            Told("wood-moves-between-cuts", "note", "moisture log", 0.60),
        ),
    ),
    Scene(
        "pins on the centre line",
        recut("0.8 mm", "moisture: 9 %", datum="centre line"),
        (Told("seam-not-covered", "warning", "line", 0.0, 0.005),),
    ),
    Scene(
        "the wider line",
        recut("1.6 mm", "moisture: 9 %", datum="near edge"),
        silent=("seam-not-covered",),
    ),
    Scene(
        "no change of moisture",
        recut("0.8 mm", "moisture: 8 %", datum="near edge"),
        silent=("seam-not-covered", "wood-moves-between-cuts"),
    ),
    # cherry 0.00248 x 219 x 0.5 = 0.272: 0.3 - 0.272 = 0.028
    Scene(
        "cherry, half a point",
        recut("0.8 mm", "moisture: 8.5 %", datum="near edge", wood="black cherry"),
        (Told("seam-not-covered", "warning", "line", 0.0284, 0.005),),
    ),
    # from the far edge the near one moves just as far; shrinking counts like growing
    Scene(
        "drier, from the far edge",
        recut("0.8 mm", "moisture: 7 %", datum="far edge"),
        (Told("seam-not-covered", "must fix", "line", -0.30, 0.005, words=("shrunk",)),),
    ),
    # 60 % at 20 degrees C settles wood at 11.0 %: 3.0 points, 1.80 mm
    Scene(
        "read by the air",
        recut("0.8 mm", "humidity: 60 %", datum="near edge"),
        (Told("seam-not-covered", "must fix", "line", 0.30 - 1.80, 0.02),),
    ),
]  # fmt: skip


def marks(*read: str) -> str:
    places = ("0 mm, 0 mm", "300 mm, 0 mm", "300 mm, 200 mm", "0 mm, 200 mm")
    told = ", ".join(
        f"{{at: [{at}], read: [{off}]}}" for at, off in zip(places, read, strict=False)
    )
    return job(
        f"registration marks: [{told}]\n"
        "front: {inlays: [{name: dot, circle: 8 mm, depth: 1 mm, fill: navy}]}\n",
        wood="black walnut",
    )


FOUR = (
    "0.12 mm, 0.05 mm",
    "0.12 mm, -0.04 mm",
    "0.18 mm, 0.16 mm",
    "0.18 mm, 0.25 mm",
)
REGISTRATION = [
    Scene(
        "four marks that agree",
        marks(*FOUR),
        (
            Told(
                "registration-marks-read", "note", "registration marks", 0.10, 0.001,
                words=("+0.12, +0.05", "-0.30 mrad", "+0.4 points"),
            ),
        ),
        silent=("registration-mark-disagrees",),
    ),
    Scene(
        "a slip of a sign in the third",
        marks(FOUR[0], FOUR[1], "-0.18 mm, 0.16 mm", FOUR[3]),
        (
            Told(
                "registration-mark-disagrees", "must fix", "registration marks", 0.24, 0.01,
                words=("Mark 3", "sign", "Read mark 3 again"),
            ),
        ),
        silent=("registration-marks-read",),
    ),
    Scene(
        "a decimal slip in the first",
        marks("1.2 mm, 0.05 mm", *FOUR[1:]),
        (Told("registration-mark-disagrees", "must fix", "registration "
                                                         "marks", words=("Mark 1", "1.08 mm")),),
    ),
    Scene(
        "three marks",
        marks(*FOUR[:3]),
        (Told("registration-marks-too-few", "warning", "registration marks", 3.0),),
        silent=("registration-marks-read",),
    ),
    # nothing but a shift
    Scene(
        "shifted only",
        marks(*(["0.20 mm, -0.10 mm"] * 4)),
        (Told("registration-marks-read", "note", "registration "
                                                 "marks", 0.0, 1e-6, words=("+0.20, -0.10",)),),
    ),
]  # fmt: skip


def border(angle: int, flatness: str, *, engrave: bool = True) -> tuple[str, str]:
    text = job(
        "front: {inlays: [{name: border, rectangle: 60 mm x 40 mm, line: 1 mm, "
        + ("engrave: yes, bits: [v], " if engrave else "")
        + "depth: 2 mm, fill: navy}]}\n"
    ).replace("thickness: 16 mm", f"thickness: 16 mm, flatness: {flatness}")
    shop = (
        "bits: [1 mm flat, 3.175 mm flat, 25 mm facing bit, "
        f"{{name: v, like: 60 deg V-bit, angle: {angle} deg, tip: 0.1 mm}}]\n"
    )
    return text, shop


def flat(name: str, made: tuple[str, str], *told: Told, silent: tuple[str, ...] = ()) -> Scene:
    return Scene(name, made[0], told, silent, made[1])


FLAT = [
    # 2 x 0.35 x tan 45 = 0.70: 1.0 down to 0.3
    flat(
        "90 degrees, 0.35 mm out",
        border(90, "0.35 mm"),
        Told("board-not-flat", "must fix", "border", 0.70, words=("from 1.0 down to 0.3 mm",)),
    ),
    # 2 x 0.35 x tan 30 = 0.404
    flat(
        "60 degrees, 0.35 mm out",
        border(60, "0.35 mm"),
        Told("board-not-flat", "must fix", "border", 0.404, 0.001, words=("1.0 down to 0.6 mm",)),
    ),
    # 2 x 0.10 x tan 45 = 0.20, below three tenths
    flat(
        "90 degrees, 0.1 mm out",
        border(90, "0.1 mm"),
        Told("board-not-flat", "warning", "border", 0.20),
    ),
    # 2 x 0.05 x tan 15 = 0.027
    flat("30 degrees, 0.05 mm out", border(30, "0.05 mm"), silent=("board-not-flat",)),
    flat("straight walls", border(60, "0.35 mm", engrave=False), silent=("board-not-flat",)),
]


@pytest.mark.parametrize("scene", [*RECUT, *REGISTRATION, *FLAT], ids=lambda scene: scene.name)
def test_it_is_told(tmp_path: Path, scene: Scene) -> None:
    hold(tmp_path, scene if scene.shop else replace(scene, shop=BUSHINGS))
