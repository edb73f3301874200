"""Faults that ruin boards or hurt people, seeded by somebody who knows only the documents.

Each fault is a change of text in a job that is sound. Either the job is refused at the line that
was changed, or the check tells of it by a must fix or warning that the sound job does not have.
"""

from __future__ import annotations

import re
import tempfile
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.pipeline import build

PLATE = """\
flushwork: 2
title: Plate
shop: shop.yaml
cell: 0.3 mm
blank: {wood: black cherry, length: 100 mm, width: 90 mm, thickness: 14 mm}
trim line: {rectangle: 60 mm x 50 mm}
mixes:
  ivory: {resin: coating epoxy, pigments: [{name: ivory powder, share: 4 %}]}
front:
  inlays:
    - {name: disc, circle: 24 mm, depth: 2 mm, fill: ivory}
  holes:
    - {name: pegs, points: [[-22 mm, -18 mm], [22 mm, -18 mm], [22 mm, 18 mm]], diameter: 4 mm,
       depth: 6 mm}
"""
BUSHINGS = """\
holding: [{name: bushings, how: double-sided tape, repeatability: 0.05 mm,
  locates by: two dowels in bushings on the centre line}]"""
SHOP = (
    """\
flushwork shop: 2
name: Attic shop
bits: [1 mm flat, 3.175 mm flat, 6.35 mm flat, 25 mm facing bit]
"""
    + BUSHINGS
    + """
resins: [coating epoxy]
pigments: [ivory powder, pearl flake, black powder, fine gold, red dye]
sealers: [shellac]
finishes: [wiping varnish]
thinners: [ethanol]
measuring tools: [fine scale, 12 cm3 syringe]
machine: {travel: [400 mm, 300 mm, 90 mm]}
air: {day temperature: 20 degC, night temperature: 16 degC}
"""
)
BOTH = (
    PLATE.replace(
        "front:", "  black: {resin: coating epoxy, pigments: [black powder]}\nfront:"
    ).replace(
        "  holes:",
        "    - {name: eye, circle: 8 mm, depth: 1 mm, fill: black, second pass of: disc}\n  holes:",
    )
    + "back:\n  inlays:\n    - {name: moon, circle: 20 mm, depth: 2 mm, fill: ivory}\n"
)
INCH = """\
flushwork: 2
title: Inch tile
shop: shop.yaml
cell: 0.3 mm
pieces: 4
on the bed: {pieces: 2, step: [0 in, 4 in]}
blank: {wood: white ash, length: 4 in, width: 3 1/2 in, thickness: 1/2 in}
trim line: {rectangle: 2 1/2 in x 2 in, round: 1/4 in}
mixes: {ivory: {resin: coating epoxy, pigments: [{name: ivory powder, share: 4 %}]}}
front:
  inlays:
    - {name: star, polygon: {sides: 5, diameter: 1 1/4 in, inner: 3/4 in},
       depth: 3/32 in, fill: ivory}
"""
SEAM = """\
flushwork: 2
title: Seamed board
shop: shop.yaml
cell: 0.3 mm
blank: {wood: black walnut, length: 220 mm, width: 160 mm, thickness: 14 mm}
trim line: {rectangle: 160 mm x 110 mm}
mixes:
  ivory: {resin: coating epoxy, pigments: [{name: ivory powder, share: 4 %}]}
  gold: {resin: coating epoxy, pigments: [fine gold]}
front:
  inlays:
    - {name: disc, circle: 70 mm, depth: 2.4 mm, fill: ivory}
    - {name: edge, seam line: {along: disc, width: 1.4 mm}, depth: 2 mm, fill: gold,
       how: scraped flush and capped}
registration marks:
  - {at: [10 mm, 10 mm], read: [0.04 mm, 0.03 mm]}
  - {at: [210 mm, 10 mm], read: [0.04 mm, 0.03 mm]}
  - {at: [210 mm, 150 mm], read: [0.05 mm, 0.03 mm]}
  - {at: [10 mm, 150 mm], read: [0.05 mm, 0.03 mm]}
"""
DRAWN = (
    PLATE.replace(
        "{name: disc, circle: 24 mm,", "{name: disc, svg: a.svg, layers: dark, as drawn: yes,"
    )
    .replace("front:", "  dusk: {resin: coating epoxy, pigments: [black powder]}\nfront:")
    .replace(
        "  holes:",
        "    - {name: leaf, svg: a.svg, layers: light, as drawn: yes, depth: 2 mm, fill: dusk}\n"
        "  holes:",
    )
)
DRAWING = """\
<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<g id="dark"><rect x="4" y="4" width="14" height="20" fill="#203040"/></g>
<g id="light"><path d="M 22 5 L 34 5 L 34 16 L 22 16 Z" fill="#e0c080"/></g>
</svg>
"""
WORDS = PLATE.replace("circle: 24 mm", "text: OAK, font: sans bold, size: 14 mm")
BASES = {
    "plate": {"job.yaml": PLATE, "shop.yaml": SHOP},
    "both": {"job.yaml": BOTH, "shop.yaml": SHOP},
    "inch": {
        "job.yaml": INCH,
        "shop.yaml": SHOP.replace(
            "[400 mm, 300 mm, 90 mm]", "[20 in, 16 in, 3 1/2 in], gcode files: {units: inch}"
        ),
    },
    "seam": {"job.yaml": SEAM, "shop.yaml": SHOP},
    "drawn": {"job.yaml": DRAWN, "shop.yaml": SHOP, "a.svg": DRAWING},
    "words": {"job.yaml": WORDS, "shop.yaml": SHOP},
}
TAKEN = """\
imported files:
  - step: cut disc
    files: [{file: a.nc, bit: 6.35 mm flat}]
  - step: drill pegs
    files: [{file: b.nc, bit: 3.175 mm flat}]
  - step: trim
    files: [{file: c.nc, bit: 3.175 mm flat}]
"""
MIX = "share: 4 %}]"


@dataclass(frozen=True, slots=True)
class Fault:
    """One change of text, and the code that tells of it."""

    name: str
    base: str
    file: str
    old: str
    new: str
    code: str
    refused: bool = False


def _job(name: str, base: str, old: str, new: str, code: str, refused: bool = False) -> Fault:
    return Fault(name, base, "job.yaml", old, new, code, refused)


def _shop(name: str, base: str, old: str, new: str, code: str, refused: bool = False) -> Fault:
    return Fault(name, base, "shop.yaml", old, new, code, refused)


def _resin(name: str, keys: str, code: str, refused: bool = False) -> Fault:
    new = f"resins: [{{name: coating epoxy, like: coating epoxy, {keys}}}]"
    return _shop(name, "plate", "resins: [coating epoxy]", new, code, refused)


SLAB = "{{name: slab bit, like: 25 mm facing bit, diameter: {}}}]"
READ = re.compile(r"read: \[.*?\]")
CORNERS = SEAM[SEAM.index("  - {at: [10 mm, 10 mm]") :]


def _reads(*told: str) -> str:
    """Return the four marks with other readings."""
    left = iter(told)
    return READ.sub(lambda _: f"read: [{next(left)}]", CORNERS)


READING = "{at: [210 mm, 150 mm], read: [0.05 mm, 0.03 mm]}"
DANGER = (
    _job(
        "hot air soon after shellac", "plate", MIX, MIX + ", bubbles: hot air", "flame-near-solvent"
    ),
    _job(
        "heat lamp over shellac", "plate", MIX, MIX + ", heated by: heat lamp", "flame-near-solvent"
    ),
    _job(
        "thinner on warmed wood",
        "plate",
        MIX,
        MIX + ", thinner: {name: ethanol, share: 6 %}, heated by: hot wood",
        "flame-near-solvent",
    ),
    _shop(
        "broad bit marked slow on a fast machine",
        "plate",
        "25 mm facing bit]\nholding",
        SLAB.format("50 mm, greatest speed: 7000 rpm") + "\nholding",
        "bit-over-speed",
    ),
    _shop(
        "no tape worth the name",
        "plate",
        BUSHINGS,
        "holding: [{name: t, how: double-sided tape, locates by: pencil lines, "
        "repeatability: 0.3 mm, tape: 2 %}]",
        "held-too-weakly",
    ),
    _shop(
        "vacuum of unknown grip",
        "plate",
        BUSHINGS,
        "holding: [{name: v, how: vacuum table, locates by: two dowels, repeatability: 0.05 mm}]",
        "grip-unsaid",
    ),
    _job(
        "cut ten hours after the pour",
        "plate",
        "title: Plate",
        "title: Plate\ncure wait: 10 h",
        "cure-cut-short",
    ),
    _job(
        "clamp on the disc",
        "plate",
        "title: Plate",
        "title: Plate\nkeep clear of: [{name: bar, size: [20 mm, 20 mm], at: [50 mm, 45 mm], "
        "height: 15 mm}]",
        "clamp-hit",
    ),
    _job(
        "accepting what nobody may accept",
        "plate",
        "title: Plate",
        "title: Plate\ncure wait: 10 h\naccept: [{finding: cure-cut-short, because: I am late}]",
        "acceptance-refused",
    ),
    _shop(
        "rapids that skim the wood",
        "plate",
        "90 mm]}",
        "90 mm], clear height: 0.2 mm}",
        "travels-low",
    ),
)
RESIN = (
    _job(
        "weight taken for volume, upside down",
        "plate",
        "coating epoxy, pig",
        "coating epoxy, ratio: 44:100 by weight, pig",
        "ratio-off",
    ),
    _shop(
        "kitchen scale",
        "plate",
        "[fine scale, 12 cm3 syringe]",
        "[{name: kitchen scale, kind: scale, step: 1 g, capacity: 5000 g, drop: 1 g}]",
        "cup-runs-away",
    ),
    _shop(
        "scale that cannot bear the cup",
        "plate",
        "[fine scale, 12 cm3 syringe]",
        "[{name: pocket scale, kind: scale, step: 0.01 g, capacity: 11 g, drop: 0.03 g}]",
        "batch-cannot-be-measured",
    ),
    _shop(
        "frost at night",
        "plate",
        "night temperature: 16 degC",
        "night temperature: 4 degC",
        "shop-too-cold",
    ),
    _shop(
        "degF for degC",
        "plate",
        "day temperature: 20 degC",
        "day temperature: 20 degF",
        "shop-too-cold",
    ),
    _shop(
        "cellar that never warms",
        "plate",
        "20 degC, night temperature: 16 degC",
        "12 degC, night temperature: 10 degC",
        "cure-never",
    ),
    _resin("set before it is poured", "pot life: 30 s", "pot-life-over"),
    _resin(
        "window that closes before it opens",
        "recoat from: 20 h, recoat until: 8 h",
        "value-out-of-range",
        refused=True,
    ),
    _resin(
        "hard before the next pour may come",
        "sandable after: 1 h, pot life: 20 min",
        "value-out-of-range",
        refused=True,
    ),
    _resin("resin that harms nobody", "hazards: none", "value-out-of-range", refused=True),
    _resin("ratio upside down", "ratio: '44:100 by weight'", "value-odd"),
    _resin("slipped point in a density", "resin density: 11.5 g/cm3", "value-odd"),
    _resin("tolerance of a cook", "ratio tolerance: 60 %", "value-odd"),
    _shop(
        "oxidiser in resin",
        "plate",
        "[ivory powder,",
        "[{name: ivory powder, like: ivory powder, hazards: [oxidiser]},",
        "oxidiser-in-mix",
    ),
    _shop(
        "shellac dry at once",
        "plate",
        "sealers: [shellac]",
        "sealers: [{name: shellac, like: shellac, dry after: 0 h}]",
        "value-odd",
    ),
    _resin("label of three grams in a cup", "in one cup: 3 g", "cup-runs-away"),
    _resin("times of a hot oven", "at: 77 degC", "cure-too-slow"),
    _job("pigment for paint", "plate", "share: 4 %", "share: 40 %", "pigment-too-much"),
    _job(
        "filled before its seal",
        "plate",
        "title: Plate",
        "title: Plate\norder: [{do: fill disc, before: seal disc}]",
        "fill-before-seal",
    ),
)
DEPTH = (
    _job(
        "a slipped decimal in a hole", "plate", "depth: 6 mm", "depth: 60 mm", "deeper-than-blank"
    ),
    _job(
        "hole through the finished board", "plate", "depth: 6 mm", "depth: 13.2 mm", "floor-through"
    ),
    _job(
        "deep moon behind the disc",
        "both",
        "20 mm, depth: 2 mm",
        "20 mm, depth: 8.6 mm, in layers: yes",
        "wood-between-too-thin",
    ),
    _job(
        "second pass into wood",
        "both",
        "8 mm, depth: 1 mm",
        "8 mm, depth: 2.4 mm",
        "second-pass-through",
    ),
    _job(
        "second pass on a film of colour",
        "both",
        "8 mm, depth: 1 mm",
        "8 mm, depth: 1.8 mm",
        "second-pass-floor-thin",
    ),
    _job("second pass not said", "both", ", second pass of: disc", "", "inlays-overlap"),
    _job(
        "hole into the back's inlay",
        "both",
        "[-22 mm, -18 mm]",
        "[-6 mm, 0 mm], [-8 mm, 0 mm]",
        "hole-in-inlay",
    ),
    _job(
        "hole right through its own disc",
        "plate",
        "[-22 mm, -18 mm], [22 mm, -18 mm], [22 mm, 18 mm]], diameter: 4 mm,\n       depth: 6 mm",
        "[-6 mm, 0 mm], [22 mm, -18 mm], [22 mm, 18 mm]], diameter: 4 mm,\n       depth: through",
        "hole-in-inlay",
    ),
    _job(
        "hole right through into the back's inlay",
        "both",
        "[-22 mm, -18 mm], [22 mm, -18 mm], [22 mm, 18 mm]], diameter: 4 mm,\n       depth: 6 mm",
        "[-6 mm, 0 mm], [22 mm, -18 mm], [22 mm, 18 mm]], diameter: 4 mm,\n       depth: through",
        "hole-meets-inlay",
    ),
    _job("hole that leaves a film", "plate", "depth: 6 mm", "depth: 12.4 mm", "floor-through"),
    _job(
        "surfaced to nothing",
        "plate",
        "title: Plate",
        "title: Plate\nallowances: {surface: 6 mm}",
        "floor-through",
    ),
    _job(
        "all that is left proud left to the hand",
        "plate",
        "title: Plate",
        "title: Plate\nallowances: {left proud: 2.5 mm}",
        "value-odd",
    ),
    _job(
        "inch star nearly through",
        "inch",
        "depth: 3/32 in",
        "depth: 7/16 in, in layers: yes",
        "floor-through",
    ),
)
ART = (
    _job(
        "one of two layers at another scale",
        "drawn",
        "layers: light, as drawn: yes",
        "layers: light, as drawn: yes, scale: 1.1",
        "svg-layers-apart",
    ),
    _job(
        "one of two layers as wide as the drawing",
        "drawn",
        "layers: light, as drawn: yes",
        "layers: light, width: 40 mm",
        "svg-layers-apart",
    ),
    Fault(
        "drawing without a size",
        "drawn",
        "a.svg",
        ' width="40mm" height="30mm"',
        "",
        "svg-without-size",
        refused=True,
    ),
    Fault(
        "drawing in px",
        "drawn",
        "a.svg",
        'width="40mm" height="30mm"',
        'width="160px" height="120px"',
        "svg-scale-unsure",
    ),
    Fault(
        "one shape on its twin",
        "drawn",
        "a.svg",
        "</g>\n<g",
        '<rect x="4" y="4" width="14" height="20" fill="#203040"/></g>\n<g',
        "svg-shape-twice",
    ),
    Fault(
        "outline left open",
        "drawn",
        "a.svg",
        " L 22 16 Z",
        " L 22 16",
        "svg-outline-open",
        refused=True,
    ),
    Fault(
        "white spot painted on it",
        "drawn",
        "a.svg",
        "</g>\n<g",
        '<circle cx="11" cy="14" r="4" fill="#ffffff"/></g>\n<g',
        "svg-white-left-out",
    ),
    Fault(
        "light painted over dark",
        "drawn",
        "a.svg",
        "M 22 5 L 34 5 L 34 16 L 22 16",
        "M 15 5 L 34 5 L 34 16 L 15 16",
        "inlays-overlap",
    ),
    _job(
        "layer of another name",
        "drawn",
        "layers: light",
        "layers: lihgt",
        "svg-layer-unknown",
        refused=True,
    ),
    _job(
        "words in the mirror",
        "words",
        "size: 14 mm",
        "size: 14 mm, mirror: left-right",
        "text-reversed",
    ),
)
PLACE = (
    _job(
        "sign slip in a mark",
        "seam",
        READING,
        READING.replace("0.05", "-0.15"),
        "registration-mark-disagrees",
    ),
    _job(
        "all marks far off",
        "seam",
        CORNERS,
        _reads(*["4 mm, 3 mm"] * 4),
        "registration-marks-unlikely",
    ),
    _job(
        "readings in inches",
        "seam",
        CORNERS,
        _reads(*["0.04 in, 0.03 in"] * 4),
        "registration-marks-unlikely",
    ),
    _job(
        "two millimetres of stretch",
        "seam",
        CORNERS,
        _reads("0 mm, 0 mm", "0 mm, 0 mm", "0 mm, 2 mm", "0 mm, 2 mm"),
        "registration-marks-unlikely",
    ),
    _job("mark off the board", "seam", "at: [210 mm, 150 mm]", "at: [410 mm, 150 mm]", "value-odd"),
    _job(
        "two marks in one place", "seam", "at: [210 mm, 150 mm]", "at: [210 mm, 10 mm]", "value-odd"
    ),
    _job("three marks", "seam", f"  - {READING}\n", "", "registration-marks-too-few"),
    _job(
        "reading without a unit",
        "seam",
        READING,
        READING.replace("0.05 mm", "0.05"),
        "unit-missing",
        refused=True,
    ),
    _job(
        "comma in a reading",
        "seam",
        READING,
        READING.replace("0.05 mm", "'0,05 mm'"),
        "decimal-comma",
        refused=True,
    ),
    _job(
        "board back from a damp room",
        "seam",
        "title: Seamed board",
        "title: Seamed board\nmoisture log: [{when cutting: edge, humidity: 90 %}]",
        "seam-not-covered",
    ),
    _shop(
        "inches for mm in the pins",
        "seam",
        BUSHINGS,
        BUSHINGS.replace("0.05 mm", "0.05 in"),
        "seam-not-covered",
    ),
    _job(
        "depth without a unit",
        "inch",
        "depth: 3/32 in",
        "depth: 3/32",
        "unit-missing",
        refused=True,
    ),
    _job(
        "bed step of one blank too little",
        "inch",
        "step: [0 in, 4 in]",
        "step: [0 in, 3 in]",
        "bed-pieces-overlap",
    ),
)
TYPED = (*DANGER, *RESIN, *DEPTH, *ART, *PLACE)


def _built(files: dict[str, str]) -> tuple[tuple[Finding, ...], dict[str, str]]:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in files.items():
            (folder / file).write_text(text, "utf-8")
        made = build(folder / "job.yaml")
    return made.findings, {file.file_name: file.text for file in made.gcode_files}


@cache
def _sound(base: str) -> frozenset[tuple[str, str]]:
    findings, _ = _built(BASES[base])
    assert not [item.code for item in findings if item.severity is Severity.MUST_FIX]
    return frozenset((item.code, item.subject) for item in findings)


@pytest.mark.parametrize("fault", TYPED, ids=lambda fault: fault.name)
def test_a_typed_fault_is_told(fault: Fault) -> None:
    files = dict(BASES[fault.base])
    assert files[fault.file].count(fault.old) == 1, fault.name
    files[fault.file] = files[fault.file].replace(fault.old, fault.new)
    if fault.refused:
        with pytest.raises(JobRefusedError) as refused:
            _built(files)
        lines = {i.source.line for i in refused.value.findings if i.code == fault.code and i.source}
        before = BASES[fault.base][fault.file].split(fault.old)[0]
        assert lines
        assert fault.file == "a.svg" or before.count("\n") + 1 in lines
        return
    findings, _ = _built(files)
    new = {item.code for item in findings if (item.code, item.subject) not in _sound(fault.base)}
    assert fault.code in new
    assert all(i.severity is not Severity.NOTE for i in findings if i.code == fault.code)


def test_a_hole_through_an_inlay_is_not_told_as_a_shift_of_it() -> None:
    fault = next(i for i in TYPED if i.name == "hole right through into the back's inlay")
    text = BASES["both"]["job.yaml"].replace(fault.old, fault.new)
    told = {item.code for item in _built({**BASES["both"], "job.yaml": text})[0]}
    assert not told & {"cut-misses-artwork", "cut-shifted", "cut-beyond-artwork"}


@dataclass(frozen=True, slots=True)
class Slip:
    """One change in a G-code file of ours that is taken in as if from elsewhere."""

    name: str
    file: str
    pattern: str
    put: str
    code: str
    at_most: int = 0


def _moved(text: str, axis: str, by_mm: float) -> str:
    head, start, body = text.partition("G4 P3.0\n")
    return (
        head
        + start
        + re.sub(axis + r"(-?\d+\.\d+)", lambda hit: f"{axis}{float(hit[1]) + by_mm:.3f}", body)
    )


SLIPS = (
    Slip("pocket 0.05 mm to the right", "a.nc", "X", "0.05", "path-off-outline"),
    Slip("trim 0.05 mm nearer", "c.nc", "Y", "-0.05", "path-off-outline"),
    Slip("holes 0.1 mm off", "b.nc", "X", "0.1", "hole-off-place"),
    Slip("pocket just 0.1 mm too deep", "a.nc", r"Z-2\.200", "Z-2.300", "cut-depth-off"),
    Slip("pocket just 0.1 mm too shallow", "a.nc", r"Z-2\.200", "Z-2.100", "cut-depth-off"),
    Slip("pocket 0.15 mm too deep", "a.nc", r"Z-2\.200", "Z-2.350", "cut-depth-off"),
    Slip(
        "one hole 0.1 mm shallow",
        "b.nc",
        r"(\S+ \S+) Z-6\.000(.*)\n(.*)\n",
        r"\1 Z-5.900\2\n\3\n",
        "holes-not-as-asked",
        1,
    ),
    Slip("tabs cut away", "c.nc", r"Z-11\.600", "Z-13.100", "tabs-missing"),
    Slip(
        "over to the corner in the wood",
        "a.nc",
        r"G0 Z5\.000\nM5",
        r"G0 X20.000 Y20.000\nG0 Z5.000\nM5",
        "rapid-through-material",
    ),
    Slip(
        "goes to its first place in the wood",
        "a.nc",
        r"G0 Z5\.000",
        "G0 Z-1.000",
        "rapid-through-material",
        1,
    ),
    Slip(
        "plunge of 2 m a minute",
        "b.nc",
        r"G1 Z0\.000 F420\.0",
        "G1 Z-0.500 F2000.0",
        "plunge-too-fast",
        1,
    ),
    Slip(
        "spindle stops between holes",
        "b.nc",
        r"G0 Z5\.000\nX",
        r"G0 Z5.000\nM5\nX",
        "feed-without-spindle",
        1,
    ),
    Slip(
        "inches in the middle", "c.nc", r"\nX20\.000 Z", r"\nG20\nX20.000 Z", "outside-machine", 1
    ),
    Slip("ends in the wood", "a.nc", r"G0 Z5\.000\nM5", "M5", "ends-in-wood"),
    Slip(
        "milliseconds of dwell",
        "a.nc",
        r"G0 Z5\.000\nM5",
        r"G4 P3000\nG0 Z5.000\nM5",
        "dwell-in-cut",
    ),
    Slip(
        "a hole bored in one turn",
        "b.nc",
        r"Z-1\.500 (I-0\.412 J0\.000 F838\.5)\n(?:X28[^\n]*\n){3}",
        r"Z-6.000 \1\n",
        "pass-too-deep",
        1,
    ),
    Slip(
        "a hole plunged to its floor at once",
        "b.nc",
        r"G1 Z0\.000 F420\.0\nG3 X28",
        r"G1 Z-6.000 F420.0\nG3 X28",
        "pass-too-deep",
        1,
    ),
    Slip(
        "a wider bit than it was made for",
        "job.yaml",
        r"c\.nc, bit: 3\.175",
        "c.nc, bit: 6.35",
        "path-off-outline",
    ),
)


@cache
def _taken() -> tuple[dict[str, str], frozenset[tuple[str, str]]]:
    _, texts = _built(BASES["plate"])
    pocket, _, bored, trim = (texts[name] for name in sorted(texts))
    files = {
        "job.yaml": PLATE + TAKEN,
        "shop.yaml": SHOP,
        "a.nc": pocket,
        "b.nc": bored,
        "c.nc": trim,
    }
    findings, _ = _built(files)
    assert not [item.code for item in findings if item.severity is Severity.MUST_FIX]
    return files, frozenset((item.code, item.subject) for item in findings)


@pytest.mark.parametrize("slip", SLIPS, ids=lambda slip: slip.name)
def test_a_slip_in_a_gcode_file_is_told(slip: Slip) -> None:
    files, sound = _taken()
    old = files[slip.file]
    if slip.pattern in ("X", "Y"):
        new = _moved(old, slip.pattern, float(slip.put))
    else:
        new = re.sub(slip.pattern, slip.put, old, count=slip.at_most)
    assert new != old
    findings, _ = _built({**files, slip.file: new})
    told = {item.code for item in findings if (item.code, item.subject) not in sound}
    assert slip.code in told
    assert all(i.severity is not Severity.NOTE for i in findings if i.code == slip.code)


ORDERED = (
    ("do: finish, before: sand front", "finish-worked-off"),
    ("do: finish, before: drill pegs", "finish-worked-off"),
    ("do: trim, before: fill disc", "freed-then-set-up"),
    ("do: trim, before: seal disc", "freed-then-set-up"),
    ("do: drill pegs, before: fill disc", "holes-before-pour"),
)


@pytest.mark.parametrize(("order", "code"), ORDERED)
def test_an_order_that_ruins_is_told_and_its_files_are_sound(order: str, code: str) -> None:
    text = PLATE.replace("title: Plate", f"title: Plate\norder: [{{{order}}}]")
    findings, _ = _built({"job.yaml": text, "shop.yaml": SHOP})
    new = {item.code: item for item in findings if (item.code, item.subject) not in _sound("plate")}
    stops = {item.code for item in new.values() if item.severity is Severity.MUST_FIX}
    assert stops <= {"finish-worked-off", "freed-then-set-up"}
    assert new[code].severity is not Severity.NOTE
    if code != "holes-before-pour":
        source = new[code].source
        assert source is not None
        assert source.line == 3


def test_a_step_named_twice_is_told_at_its_second_line() -> None:
    files, _ = _taken()
    again = "  - step: cut disc\n    files: [{file: a.nc, bit: 6.35 mm flat}]\n"
    findings, _ = _built({**files, "job.yaml": files["job.yaml"] + again})
    (told,) = [item for item in findings if item.code == "gcode-file-step-twice"]
    assert told.severity is Severity.MUST_FIX
    assert told.source is not None
    assert told.source.line == files["job.yaml"].count("\n") + 1


@pytest.mark.parametrize("group", ['<g id="dawn">', "<g>"])
def test_a_layer_that_no_inlay_picks_is_told(group: str) -> None:
    third = f'{group}<circle cx="36" cy="24" r="2" fill="#a03020"/></g>\n</svg>'
    drawing = DRAWING.replace("</svg>", third)
    findings, _ = _built({**BASES["drawn"], "a.svg": drawing})
    (told,) = [item for item in findings if item.code == "svg-layer-unpicked"]
    assert told.severity is Severity.NOTE
    assert ("dawn" if "dawn" in group else "no layer") in told.message
    assert "svg-layer-unpicked" not in {code for code, _ in _sound("drawn")}


CLAMP = "keep clear of: [{name: bar, size: [3 mm, 3 mm], at: [1.5 mm, 1.5 mm], height: 6 mm}]"


@pytest.mark.parametrize(
    ("begins", "told"),
    [
        ("G0 Z5.000", True),
        ("G0 Z12.500", False),
        ("G0 Z20.000\nG0 Z5.000", True),
        ("G0 Z5.000\nG0 Z20.000", False),
        ("G0 X50.000 Y45.000 Z5.000", True),
        ("G0 Z4.000\nX0", True),
    ],
)
def test_a_first_way_below_the_top_of_a_clamp_is_told(begins: str, told: bool) -> None:
    files, _ = _taken()
    job = files["job.yaml"].replace("title: Plate", f"title: Plate\n{CLAMP}")
    low = {name: text for name, text in files.items() if name.endswith(".nc")}
    lifted = {name: text.replace("G0 Z5.000", "G0 Z13.000", 1) for name, text in low.items()}
    changed = {"a.nc": low["a.nc"].replace("G0 Z5.000", begins, 1)}
    findings, _ = _built({**files, **lifted, **changed, "job.yaml": job})
    found = [item for item in findings if item.code == "first-way-low"]
    assert [item.subject for item in found] == (["a.nc"] if told else [])
    for item in found:
        assert item.severity is Severity.WARNING
        assert item.source is not None
        line = low["a.nc"].replace("G0 Z5.000", begins, 1).splitlines()[item.source.line - 1]
        assert "X" in line
    assert "clamp-hit" not in {item.code for item in findings}


def test_files_of_ours_go_over_every_clamp_to_their_first_place() -> None:
    text = PLATE.replace("title: Plate", f"title: Plate\n{CLAMP}")
    findings, _ = _built({**BASES["plate"], "job.yaml": text})
    assert not {"first-way-low", "clamp-hit"} & {item.code for item in findings}
