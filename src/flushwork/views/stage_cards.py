"""How each kind of work is done, told once: what to lay out, what to do, what is good, what if not.

All of it is common practice, no source, in our own words.  What differs from stage to stage
(``differs``) stands beside the stage; names in braces are filled from the job (see
``stage_views``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.process.stages import StageKind


@dataclass(frozen=True, slots=True)
class Card:
    """How one kind of work is done: sentences; ``steps`` in order, ``lay_out`` a list of tools."""

    name: str
    lay_out: str
    differs: str
    steps: tuple[str, ...]
    good: str
    if_not: str


CARDS: Final[Mapping[StageKind, Card]] = {
    StageKind.ROUGH: Card(
        "Saw the stock rough",
        "rule, chalk, sticks, moisture meter or scale",
        "parts {rough_size}; rest on sticks {rests}",
        (
            "Chalk the parts on the board, clear of knots, checks and sapwood; number them.",
            "Saw and plane both faces alike, then stack on sticks with air all round.",
        ),
        "It weighs the same on two days.",
        "It still bends: take as much off the other face and rest it again.",
    ),
    StageKind.GLUE: Card(
        "Glue up a blank",
        "clamps, cauls, glue, scraper, straight edge",
        "strips {strips}, near edge first; rings {rings}",
        (
            "Joint the edges, lay the strips dry, mark a triangle across them.",
            "Thin glue on both edges; clamp from below and above in turn, cauls across the ends.",
            "Scrape the squeeze-out once it is rubbery; leave it the time of its label.",
        ),
        "A fine bead along every joint, no light under the straight edge.",
        "A joint gaps dry: joint it again; clamps do not close it. It cups: loosen, shift clamps "
        "to the other side.",
    ),
    StageKind.SURFACE: Card(
        "Surface a face",
        "straight edge, caliper, pencil",
        "{surfaced} off this face: {left} left",
        (
            "Hand plane, sander, or a facing file of your own.",
            "Pencil all over; work until no mark is left.",
            "Measure corners and middle; write the thickness on the piece.",
        ),
        "No light under the straight edge; five thicknesses within 0.1 mm.",
        "It rocks: shim low corners, another light pass. Too thin: true thickness into the job, "
        "build again.",
    ),
    StageKind.LOCATE: Card(
        "Bore for dowels or discs",
        "caliper, scrap wood",
        "{located_by}, {locating_bit}; spoilboard {board_depth} deep, blank {blank_depth}. "
        "{put_in}",
        (
            "Bore the spoilboard first, with no blank on it; try the fit.",
            "Lay the blank with its corner on X0 Y0, hold it, bore its recesses.",
            "Mark the corner at zero on both. Zero of X and Y stays for good.",
        ),
        "It goes in by hand without play, ends below the face; the blank comes back without a "
        "click.",
        "Loose: bore new places, or give a thicker one's diameter to the job. Tight: raise "
        "`play` by 0.02 mm. Proud: cut it shorter.",
    ),
    StageKind.MARK: Card(
        "Cut registration marks",
        "loupe",
        "{read_first}",
        ("Cut the marks before anything else, and ring each with pencil.",),
        "Four crisp dimples in the waste, none in the work.",
        "One broke out: leave it out. With three left a misread one cannot be found: cut a "
        "fourth by hand.",
    ),
    StageKind.CUT: Card(
        "Cut",
        "touch-off gauge, depth gauge, brush",
        "",
        (
            "Tick the card's boxes, then run its files in order.",
            "Measure a pocket's depth before you take the piece off.",
        ),
        "Sharp walls, one depth, no step between bits.",
        "Too shallow: leave it held, touch off, run the last file again. Fuzz: stiff brush. A "
        "chip: glue it back before you seal.",
    ),
    StageKind.SEAL: Card(
        "Seal cut walls",
        "fine brush, vacuum, low lamp",
        "{seal_cup}{seal_sets} {wait}",
        (
            "Vacuum every corner.",
            "Brush walls and floors thinly, end grain twice; lift pools.",
        ),
        "All walls shine evenly, no pools.",
        "Dull: another thin coat. A pool: wipe it wet or scrape it dry.",
    ),
    StageKind.FILL: Card(
        "Mix and fill",
        "needle, swabs, level, timer",
        "{manner}. {again}",
        (
            "Scale to zero before each part; one for another tool goes into a dry cup first.",
            "Timer on when resin meets hardener. Stir three minutes, wall and floor too. Two "
            "cups: pour over into the second, do not scrape, stir again. One: a minute more.",
            "Piece level. Fine lines first, from one end; then wide pockets.",
            "Look again after 10 min, or as the stage says: prick bubbles, top up from the cup.",
        ),
        "Wet to every wall, no bubbles, no stray drop.",
        "Sunk: top up from a new cup. A stray drop: lift it at once, dry swab. Keep the cup: it "
        "shows whether the mix was right.",
    ),
    StageKind.CURE: Card(
        "Leave to cure",
        "thermometer, dust cover",
        "{wait}",
        (
            "Time and temperature onto the label; ten degrees colder takes twice as long.",
            "At the end press a thumbnail into the leftover.",
        ),
        "No mark; a sliver snaps and does not bend; no smell.",
        "A mark: half as long again, warmer. Sticky after twice the time: wrong mix; scrape it "
        "out, wash, seal, fill again.",
    ),
    StageKind.CAP: Card(
        "Cap with clear",
        "needle, swabs, low lamp",
        "{again}",
        (
            "Pour while the fill is firm but not yet hard; dust comes off first.",
            "Run the clear along the line from one end until it stands just proud.",
        ),
        "Clear from wall to wall, flakes beneath undisturbed.",
        "Already hard: wash, scuff-sand, clean. It moves under the needle: wait an hour.",
    ),
    StageKind.MILL_FLUSH: Card(
        "Mill the proud resin",
        "touch-off gauge, depth gauge",
        "down to {milled} above the wood",
        (
            "Touch off on bare wood, never on resin.",
            "Stop after the first passes; measure how proud it is left.",
        ),
        "Resin of one height, the wood untouched.",
        "It cuts wood: stop, touch off again. Resin chips: sharper bit, half the depth. Holes: "
        "refill before you sand.",
    ),
    StageKind.SAND: Card(
        "Sand flush",
        "hard flat block, low lamp",
        "{sand} of wood and no more",
        (
            "Pencil over all; flat block, long strokes along the grain.",
            "Paper 120, 180, 240, wiped between; stop when the pencil is gone.",
        ),
        "A nail glides from wood over resin; no ridge or scratch under the lamp.",
        "A pinhole: pick it open, refill, one cure more. Still proud: go on with the block, "
        "never a finger.",
    ),
    StageKind.SHAPE: Card(
        "Cut what stays empty, shape edges",
        "touch-off gauge, depth gauge, rule",
        "",
        (
            "Touch off on bare, sanded wood, after every change of bit.",
            "Stop after the first pass of each: measure a pocket's depth, an edge's width.",
            "Brush clean; a rim that is not shaped: one stroke of 240 paper.",
        ),
        "Clean rims, one depth, edges of one width; felt, magnet or cup sits in its place.",
        "Too shallow or narrow: leave it held, touch off, run the last file again. A torn rim: "
        "fine paper along the grain, never across.",
    ),
    StageKind.DRILL: Card(
        "Drill holes",
        "scrap wood, caliper",
        "",
        (
            "Drill one hole in the waste and try the peg.",
            "Run the file; brush chips out before you measure.",
        ),
        "The peg goes in by hand and stands upright; no edge broken out.",
        "Tight: finish takes room too; fine paper on a stick. Wide: give the bit's true diameter "
        "to the shop file.",
    ),
    StageKind.TRIM: Card(
        "Trim to the outline",
        "fine saw, chisel",
        "",
        (
            "Nothing that holds or locates in the bit's way?",
            "Spindle at rest: saw the tabs, pare them flush, ease the edges.",
        ),
        "Edges square, without burn or step.",
        "Burnt: dull bit or too slow. A step: block and 120 paper. It came loose: leave it, "
        "finish by hand.",
    ),
    StageKind.FINISH: Card(
        "Finish",
        "lint-free cloths, low lamp",
        "{coats}, {wait_coat} between them",
        (
            "Wipe dust off; try it on the waste first.",
            "Wipe on thinly along the grain, edges too; take off what stands.",
            "Rub down lightly between coats.",
        ),
        "An even sheen without dull patches.",
        "It crawls: wash, dry, rub down, again. Dust: rub down, one thin coat more. Cloudy: too "
        "cold or damp.",
    ),
}
"""The cards, by the kind of stage."""

CUT_AGAIN: Final = Card(
    "Cut beside or into a fill",
    "",
    "",
    (
        "Locate as before, nothing under the piece.",
        "Stop after the first shallow pass and look. Measure the depth before you take it off.",
    ),
    "The new edge runs along the old one; a line lies over its seam.",
    "Beside it: stop, move zero by what you measured. Resin chips: sharper bit, half the depth.",
)
"""A cut beside or into what was filled before."""

SEAL_FACE: Final = Card(
    "Seal a whole face",
    "",
    CARDS[StageKind.SEAL].differs,
    (
        "Vacuum; wipe along the grain.",
        "Brush the whole face thinly, out to the edges.",
    ),
    "It shines evenly: no dull patch, no run.",
    "Dull: another thin coat. A puddle: wipe it wet.",
)
"""A face sealed before anything is cut into it."""

SEAL_AGAIN: Final = Card(
    "Seal later walls",
    "",
    f"{CARDS[StageKind.SEAL].differs}; brush the bare wood {{beside}} wide around them too",
    ("As for cut walls; the sanding took the seal of the wood that resin spills on.",),
    "Walls, floors and the wood beside them shine evenly.",
    "Dull: another thin coat.",
)
"""Walls sealed in a face that has been sanded since it was sealed."""

FLUSH: Final = Card(
    "Mill the whole face flush",
    CARDS[StageKind.MILL_FLUSH].lay_out,
    "the whole face down to {milled} below the wood",
    (
        "Touch off on bare wood, never on resin.",
        "Stop after the first passes and measure the step beside them.",
    ),
    "Resin and wood of one height, nothing left proud.",
    "A patch not reached: touch off on its lowest place, run it again. Too deep: stop, touch off "
    "again. Resin chips: sharper bit, half the depth.",
)
"""A flush milling that mills the whole face, wood and resin flush."""

SETTING: Final = Card(
    "Leave until the next pour",
    "",
    "{wait}",
    ("Write time and temperature on the label.", "Try the leftover with a gloved finger."),
    "Firm: a faint print, nothing sticks.",
    "It strings: wait an hour. No print any more: wash and scuff-sand before you pour.",
)
"""A wait until the next pour."""
