"""Random whole jobs as text, with the shop they are made in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from hypothesis import strategies as st

from flushwork.bench.pages.whole_page import arts, page_context
from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.views.book_records import SetupView, UnitSystem
from flushwork.views.setup_views import setup_views

MIXES = """\
mixes:
  dark: {resin: coating epoxy, pigments: [{name: black powder, share: 1.5 %}]}
  clear: {resin: coating epoxy}
"""


@dataclass(frozen=True)
class Asked:
    """A job and its shop, as their files hold them."""

    job: str
    shop: str

    def __repr__(self) -> str:
        return f"Asked(job='''\\\n{self.job}''', shop='''\\\n{self.shop}''')"


@st.composite
def shops(draw: st.DrawFn, more: str = "") -> str:
    """Return a small shop whose machine writes its files in its own manner."""
    told = {
        "units": draw(st.sampled_from(["metric", "metric", "inch"])),
        "arcs": draw(st.sampled_from(["yes", "yes", "no"])),
        "drilling cycles": draw(st.sampled_from(["yes", "no"])),
        "line numbers": draw(st.sampled_from(["no", "no", "yes"])),
    }
    clear = draw(st.sampled_from(["3 mm", "5 mm", "1/4 in", "12.5 mm"]))
    manner = ", ".join(f"{key}: {value}" for key, value in told.items())
    return (
        "flushwork shop: 2\nname: small shop\nmeasuring tools: [fine scale, bench scale]\n"
        f"machine: {{clear height: {clear}, gcode files: {{{manner}}}}}\n{more}"
    )


@st.composite
def inlays(draw: st.DrawFn, room_mm: float, name: str) -> list[str]:
    """Return one to three inlays side by side, ``room_mm`` in all, as keys in braces."""
    count = draw(st.integers(1, 3))
    wide = room_mm / count
    found = []
    for index in range(count):
        size = draw(st.floats(8.0, max(wide - 6.0, 9.0)))
        at = -room_mm / 2.0 + wide * (index + 0.5)
        up = draw(st.floats(-6.0, 6.0))
        shape = draw(
            st.sampled_from(
                [
                    f"circle: {size:.3f} mm",
                    f"rectangle: {size:.3f} mm x {0.7 * size:.3f} mm, round: {size / 9:.2f} mm",
                    f"ring: {{outside: {size:.3f} mm, inside: {0.5 * size:.3f} mm}}",
                    f"polygon: {{sides: 5, diameter: {size:.3f} mm}}",
                ]
            )
        )
        depth = draw(st.floats(1.0, 3.0))
        turn = draw(st.integers(0, 90))
        found.append(
            f"{{name: {name} {index + 1}, {shape}, at: [{at:.3f} mm, {up:.3f} mm], "
            f"turn: {turn} deg, depth: {depth:.2f} mm, fill: dark}}"
        )
    return found


@st.composite
def jobs(draw: st.DrawFn, more: str = "", allowances: str = "") -> Asked:
    """Return a job of one or two faces, trimmed or not, one or two pieces at once."""
    length, width = draw(st.floats(95.0, 190.0)), draw(st.floats(80.0, 150.0))
    thick = draw(st.floats(13.0, 20.0))
    trim = draw(st.sampled_from(["", "circle", "rectangle"]))
    across = min(length, width) - draw(st.floats(26.0, 34.0))
    line = {
        "": "",
        "circle": f"trim line: {{circle: {across:.3f} mm}}\n",
        "rectangle": f"trim line: {{rectangle: {length - 30:.3f} mm x {width - 28:.3f} mm, "
        "round: 6 mm}\n",
    }[trim]
    room = 0.62 * across
    about = draw(st.sampled_from(["top to bottom", "side to side"]))
    front = "".join(f"    - {inlay}\n" for inlay in draw(inlays(room, "front inlay")))
    holes = draw(st.booleans())
    pegs = (
        "  holes:\n    - {name: pegs, grid: {columns: 3, rows: 1, pitch: 9 mm}, "
        f"at: [0 mm, {0.36 * across:.2f} mm], diameter: 3.175 mm, depth: 6 mm}}\n"
    )
    both = draw(st.booleans())
    behind = draw(inlays(room, "back inlay")) if both else []
    back = "".join(f"    - {inlay}\n" for inlay in behind)
    two = f"on the bed: {{pieces: 2, step: [{length + 40:.1f} mm, 0 mm]}}\n"
    bed = draw(st.sampled_from(["", "", two]))
    where = ""
    if trim and draw(st.booleans()):
        where = "locating: {by: dowels, diameter: 5 mm, into blank: through}\n"
    job = (
        "flushwork: 2\nshop: shop.yaml\ncell: 0.5 mm\ntitle: Random board\n"
        f"blank: {{wood: sugar maple, length: {length:.2f} mm, width: {width:.2f} mm, "
        f"thickness: {thick:.2f} mm, flipped: {about}}}\n{allowances}{line}{bed}{where}"
        f"{more}{MIXES}front:\n  inlays:\n{front}{pegs if holes else ''}"
        + (f"back:\n  inlays:\n{back}" if back else "")
    )
    return Asked(job, draw(shops()))


def made(folder: Path, asked: Asked, *, checked: bool = False) -> Build:
    """Build a random job the way its user would, with or without its days and its check."""
    (folder / "shop.yaml").write_text(asked.shop, "utf-8")
    (folder / "job.yaml").write_text(asked.job, "utf-8")
    return build(folder / "job.yaml", check=checked)


def cards(made: Build, units: UnitSystem = "metric") -> tuple[SetupView, ...]:
    """Return the cards of a build's setups, as book and page print them."""
    sight = page_context(made, units, coarse=False)
    return setup_views(sight, arts(sight), sight.lengths)
