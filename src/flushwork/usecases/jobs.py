"""A job before anything is cut: started, read, drawn, its stages listed.

Nothing heavy is imported with this module: reading can begin while the other rooms still load.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from flushwork.core.findings import FlushworkError
from flushwork.core.keys.words import quoted
from flushwork.core.units import Quantity, System, UnitError, read_quantity
from flushwork.runtime.pool import run_aside

if TYPE_CHECKING:
    from flushwork.art.drawn import Begun
    from flushwork.job.records import Job
    from flushwork.job.text.insert import Value
    from flushwork.process.stages import Plan


def new(folder: Path | str, title: str = "", units: str = "metric") -> tuple[Path, Path]:
    """Write a small complete job file and shop file to change; return both paths.

    ``title`` is what is being made; without one it is the folder's name.  ``units`` is ``metric``
    or ``inch``.  Raises StoreError where one of the two files is there already or the folder cannot
    be written.
    """
    from flushwork.store import write_new  # noqa: PLC0415

    folder, system = Path(folder), System(units)
    job, shop = folder / "job.yaml", folder / "shop.yaml"
    write_new(job, starter_job_text(title or folder.name, shop=shop.name, units=system))
    write_new(shop, starter_shop_text(system))
    return job, shop


@dataclass(frozen=True, slots=True)
class FirstShop:
    """What a first shop may be told to have, all of it packaged; travel by units, as written."""

    bits: tuple[str, ...]
    usual_bits: tuple[str, ...]
    resins: tuple[str, ...]
    scales: tuple[str, ...]
    travel: Mapping[str, tuple[str, str, str]]


def first_choices() -> FirstShop:
    """Return what to choose from where a shop is told of for the first time."""
    from flushwork.shelf.items import ToolKind  # noqa: PLC0415
    from flushwork.shelf.tables import starter_shop  # noqa: PLC0415

    shop = starter_shop()
    bits = tuple(each.name for each in shop.bits)
    scales = tuple(each.name for each in shop.tools if each.kind is ToolKind.SCALE)
    ways = {system.value: _IN_UNITS[system]["travel"].strip("[]").split(", ") for system in System}
    return FirstShop(
        bits=bits,
        usual_bits=tuple(each for each in bits if f"  - {each}\n" in _SHOP),
        resins=tuple(each.name for each in shop.resins),
        scales=scales,
        travel={system: (way[0], way[1], way[2]) for system, way in ways.items()},
    )


def first_shop(
    path: Path | str,
    *,
    units: str,
    travel: Sequence[str],
    bits: Sequence[str],
    resin: str,
    scales: Sequence[str],
) -> None:
    """Write a first shop file from what is in the shop; all else is packaged.

    ``travel`` is right, away, up, as written; bits, resin and scales are packaged things by name.
    Raises StartError where a value cannot be, StoreError where a shop file is there already or
    cannot be written.
    """
    from flushwork.job.text.list_items import with_list  # noqa: PLC0415
    from flushwork.shelf.tables import starter_shop  # noqa: PLC0415
    from flushwork.store import write_new  # noqa: PLC0415
    from flushwork.usecases.shop_file import ShopValueError, with_shop_value  # noqa: PLC0415

    may, tools = first_choices(), [each.name for each in starter_shop().tools]
    if units not in may.travel:
        raise StartError("units are metric or inch")
    for told, known, what in (
        (bits, may.bits, "bit"),
        ([resin], may.resins, "resin"),
        (scales, may.scales, "scale"),
    ):
        strange = next((each for each in told if each not in known), None)
        if strange is not None or not told:
            message = f"there is no packaged {what} called {strange}" if told else f"name a {what}"
            raise StartError(message)
    text = starter_shop_text(System(units))
    own = [each for each in tools if each in scales or each not in may.scales]
    begin, end = text.index("bits:"), text.index("air:")
    text = text[:begin] + text[end:]
    for key, names in (
        ("bits", list(dict.fromkeys(bits))),
        ("resins", [resin]),
        ("measuring tools", own),
    ):
        text = with_list(text, key, names)
    try:
        text = with_shop_value(text, ("machine", "travel"), f"[{', '.join(travel)}]")
    except ShopValueError as error:
        raise StartError(str(error)) from error
    write_new(Path(path), text)


def load(path: Path | str, text: str | None = None) -> Job:
    """Read a job file with its shop file; ``text`` stands in for what the job file holds.

    Every length in the job is in mm, every time in s, every angle in radians.  Raises
    JobRefusedError, with a finding for each slip, where the job cannot be read.
    """
    from flushwork.job.read import read_job  # noqa: PLC0415

    return read_job(Path(path), text)


def preread(path: Path | str, text: str | None = None) -> Begun:
    """Read a job and draw its artwork: what every build begins with.

    Raises JobRefusedError, with the findings of all that is wrong in either.
    """
    from flushwork.art.draw import begin  # noqa: PLC0415

    return begin(Path(path), text)


def background_read(path: Path) -> AbstractContextManager[Callable[[], Begun]]:
    """Have ``preread`` done by a copy of this process during the ``with`` block.

    Enter it before any heavy room is loaded: reading and the rest need different libraries, and
    loading them takes longer than reading.  What the block is handed waits for the result, and
    raises what ``preread`` raises.
    """
    return run_aside(lambda: preread(path))


def stages(path: Path | str, part: str = "") -> Plan:
    """Return the stages of a job in working order, each with the reason for its place.

    ``part`` is which of several parts, the first where it is empty.  Nothing is cut or checked for
    it.  Raises JobRefusedError where the job cannot be read, PartError where it has no such part.
    """
    from flushwork.process.infer_stages import infer_plan  # noqa: PLC0415

    job, faces = preread(path)
    if part not in ("", job.part):
        from flushwork.pipeline import part_drawn, planned  # noqa: PLC0415
        from flushwork.usecases.check import no_part  # noqa: PLC0415

        own = next((each for each in job.parts if each.part == part), None)
        if own is None:
            raise no_part(part, job)
        job, faces = part_drawn(planned(job, faces), own)
    return infer_plan(job, faces)


def stages_text(plan: Plan) -> str:
    """Return stages as lines of text: setups as headings, each stage with its reason."""
    from flushwork.views.stage_views import stage_lines  # noqa: PLC0415

    return "".join(f"{line}\n" for line in stage_lines(plan))


def schema(which: str = "job") -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of the ``job`` file or the ``shop`` file, for editors.

    Raises KeyError for any other.
    """
    from flushwork.job.schema import job_schema, shop_schema  # noqa: PLC0415

    return {"job": job_schema, "shop": shop_schema}[which]()


# ---- The two small files that ``flushwork new`` writes


_JOB: Final = """\
# A small board: one disc of resin.  Change it, then run: flushwork check job.yaml
flushwork: 2
title: {title}
{shop}pieces: {pieces}
blank:                        # the piece of wood as sawn; along its length is left to right
  wood: {wood}
  length: {length}
  width: {width}
  thickness: {thickness}
{trim}
mixes:
  teal: {{resin: {resin}, pigments: [{{name: {pigment}, share: 3 %}}]}}
front:
  inlays:
    - {{name: disc, circle: {disc}, depth: {depth}, fill: teal}}
"""
_SHOP_LINE: Final = "shop: {name}{gap}# what your shop has; leave it out to try the starter shop\n"
_TRIM: Final = {
    True: "trim line: {{circle: {across}}}   # the final outline, in the middle of the blank",
    False: "trim line: {{rectangle: {along} x {across}, round: {round}}}   "
    "# the final outline, in the middle of the blank",
}
SIZES: Final = {
    System.METRIC: ("130 mm", "130 mm", "12 mm"),
    System.INCH: ("5 in", "5 in", "1/2 in"),
}
"""Length, width and thickness of a blank nobody has said anything of."""
WOOD: Final = "black cherry"
RESIN: Final = "coating epoxy"
PIGMENT: Final = "teal flake"
WASTE_MM: Final = {System.METRIC: 15.0, System.INCH: 12.7}
"""Waste around the trim line of a first board: it holds, and is cut away."""
DISC_MM: Final = {System.METRIC: (40.0, 2.5), System.INCH: (38.1, 2.54)}
"""Diameter and depth of the disc of a first board."""
DISC_SHARES: Final = (0.4, 0.25)
"""It is at most so much of the board's width inside the trim line, and of its thickness."""
LEAST_MM: Final = (50.0, 50.0, 4.0)
MOST_MM: Final = (3000.0, 3000.0, 200.0)
"""The blanks that a first board can be laid on: smaller ones leave no room for waste and disc."""


def blank_job_text(
    title: str,
    wood: str,
    length: str,
    width: str,
    thickness: str,
    *,
    pieces: str = "1",
    trim_line: Mapping[str, Value] | None = None,
    both_faces: bool = False,
    shop_file: str = "",
    plank: Mapping[str, Value] | None = None,
) -> str:
    """Return a job's text with its wood and nothing on it yet.

    Lengths are as they are typed; ``trim_line`` is artwork, as ``{"circle": "100 mm"}``, and the
    blank stays as it is without.  ``shop_file`` is a shop file beside the job; ``plank`` are keys
    of `from one plank`, with which the blank is the plank that all pieces are cut from.
    """
    from flushwork.job.text.insert import flow  # noqa: PLC0415

    blank = {"wood": wood, "length": length, "width": width, "thickness": thickness}
    lines = ["flushwork: 2", f"title: {quoted(' '.join(title.split()) or 'My first board')}"]
    lines += [f"shop: {flow(shop_file)}"] if shop_file else []
    lines += [f"pieces: {flow(pieces.strip() or '1')}", f"blank: {flow(blank)}"]
    lines += [f"trim line: {flow(trim_line)}"] if trim_line else []
    lines += ["from one plank:"] if plank else []
    lines += [f"  {key}: {flow(value)}" for key, value in (plank or {}).items()]
    lines += ["mixes: {}"]
    for face in ("front", "back") if both_faces else ("front",):
        lines += [f"{face}:", "  inlays: []"]
    return "\n".join(lines) + "\n"


_SHOP: Final = """\
# What your shop has.  Whatever you leave out comes from the packaged starter shop.
flushwork shop: 2
name: My shop
{units}machine:
  travel: {travel}   # right, away, up
  feed: {feed}                 # the fastest it may go while cutting
  gcode files: {{units: {system}, arcs: yes, drilling cycles: yes, tool change: stop}}
holding: [tape in the corner, dowels]   # the usual one first
bits:                            # a plain name takes it from the packaged shelf
  - 1 mm flat
  - 1.588 mm flat
  - 3.175 mm flat
  - 6.35 mm flat
  - 60 deg V-bit
  - 25 mm facing bit
  - {{name: my 1/32, like: 0.794 mm flat, diameter: {measured}}}   # measured, not as sold
air: {{day temperature: {day}, night temperature: {night}, humidity: 45 %}}
hours: {{opens: "8:00", closes: "18:00"}}
days: [Monday, Tuesday, Wednesday, Thursday, Friday]
"""
_IN_UNITS: Final = {
    System.METRIC: {
        "units": "",
        "system": "metric",
        "travel": "[600 mm, 420 mm, 90 mm]",
        "feed": "3000 mm/min",
        "measured": "0.8 mm",
        "day": "20 degC",
        "night": "16 degC",
    },
    System.INCH: {
        "units": "units: inch\n",
        "system": "inch",
        "travel": "[24 in, 16 in, 3.5 in]",
        "feed": "120 in/min",
        "measured": "0.0315 in",
        "day": "68 degF",
        "night": "60 degF",
    },
}


class StartError(FlushworkError):
    """A first board cannot be laid out so; the message says why."""


def starter_job_text(
    title: str,
    *,
    shop: str = "shop.yaml",
    units: System = System.METRIC,
    wood: str = "",
    size: tuple[str, str, str] | None = None,
    pieces: int = 1,
) -> str:
    """Return a small complete job file: one disc of resin in the middle of a board.

    ``shop`` is the shop file it names, if any; ``size`` length, width and thickness as written.
    Raises StartError where no first board can be laid out on that.
    """
    told = size or SIZES[units]
    length_mm, width_mm, thickness_mm = board_mm(told, units, pieces)
    along_mm, across_mm = (each - 2.0 * WASTE_MM[units] for each in (length_mm, width_mm))
    room_mm = (min(along_mm, across_mm), thickness_mm)
    disc_mm, depth_mm = (
        min(wanted_mm, share * within_mm)
        for wanted_mm, share, within_mm in zip(DISC_MM[units], DISC_SHARES, room_mm, strict=True)
    )
    trim = _TRIM[abs(along_mm - across_mm) < 1e-6].format(
        along=length_text(along_mm, units),
        across=length_text(across_mm, units),
        round=length_text(min(6.0, 0.1 * min(along_mm, across_mm)), units),
    )
    gap = " " * max(1, 24 - len(shop))
    return _JOB.format(
        title=quoted(" ".join(title.split()) or "My first board"),
        shop=_SHOP_LINE.format(name=shop, gap=gap) if shop else "",
        pieces=pieces,
        resin=RESIN,
        pigment=PIGMENT,
        wood=quoted(" ".join(wood.split()) or WOOD),
        length=told[0].strip(),
        width=told[1].strip(),
        thickness=told[2].strip(),
        trim=trim,
        disc=length_text(disc_mm, units),
        depth=length_text(depth_mm, units),
    )


def board_mm(told: tuple[str, str, str], units: System, pieces: int) -> tuple[float, float, float]:
    """Return length, width and thickness; raise StartError for a board that is not worked here."""
    length_mm, width_mm, thickness_mm = (_length_mm(each) for each in told)
    for what, value_mm, least_mm, most_mm in zip(
        ("length", "width", "thickness"),
        (length_mm, width_mm, thickness_mm),
        LEAST_MM,
        MOST_MM,
        strict=True,
    ):
        if not least_mm <= value_mm <= most_mm:
            ends = f"{length_text(least_mm, units)} to {length_text(most_mm, units)}"
            message = f"the {what} of a first board is {ends}; change the job's text for others"
            raise StartError(message)
    if not 1 <= pieces <= 1000:
        raise StartError("a run has 1 to 1000 pieces")
    return length_mm, width_mm, thickness_mm


def _length_mm(told: str) -> float:
    try:
        return read_quantity(told, Quantity.LENGTH)
    except UnitError as error:
        raise StartError(f"{error}; write a length such as 130 mm or 5 in") from error


def length_text(value_mm: float, units: System) -> str:
    """Return a length as it is written, no finer than a rule or a caliper reads."""
    if units is System.METRIC:
        return f"{value_mm:.1f}".removesuffix(".0") + " mm"
    return f"{value_mm / 25.4:.3f}".rstrip("0").rstrip(".") + " in"


def starter_shop_text(units: System = System.METRIC) -> str:
    """Return a small complete shop file."""
    return _SHOP.format(**_IN_UNITS[units])
