"""How each kind of work is done, told once: what to lay out, what to do, what is good, what if not.

All of it is common practice, no source, in our own words.  What differs from stage to stage
(``differs``) stands beside the stage; names in braces are filled from the job (see
``stage_views``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
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


_BOX: Final = Card(
    "Make the box",
    "",
    "",
    ("Cover resin that still cures.",),
    "No mitre shows light.",
    "One gapes: shoot it, move the stop.",
)


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
            "Hand plane, sander, or your own facing file.",
            "Pencil all over; work until it is gone.",
            "Measure corners and middle; write the thickness on the piece.",
        ),
        "No light under the straight edge; five thicknesses within 0.1 mm.",
        "It rocks: shim low corners, another pass. Too thin: true thickness into the job.",
    ),
    StageKind.LOCATE: Card(
        "Bore for dowels or discs",
        "caliper, scrap wood",
        "{located_by}, {locating_bit}; spoilboard {board_depth} deep, blank {blank_depth}. "
        "{put_in}",
        (
            "Bore the bare spoilboard; try the fit.",
            "Lay the blank's corner on X0 Y0, hold it, bore it.",
            "Mark that corner on both; X and Y zero stay.",
        ),
        "Goes in by hand without play, ends below the face.",
        "Loose: bore new places, or give a thicker diameter to the job. Tight: raise "
        "`play` by 0.02 mm. ",
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
            "Tick the card's boxes, run its files in order.",
            "Measure a pocket's depth before you take the piece off.",
        ),
        "Sharp walls, one depth, no step between bits.",
        "Too shallow: touch off, run the last file again. Fuzz: stiff brush. A chip: glue it back.",
    ),
    StageKind.SEAL: Card(
        "Seal",
        "fine brush, vacuum, low lamp",
        "{seal_cup}{seal_sets} {wait}",
        (
            "Vacuum; wipe along the grain.",
            "Brush thinly, end grain twice, a face out to its edges; lift pools.",
        ),
        "It shines evenly, no pools.",
        "Dull: another thin coat. A pool: wipe it wet or scrape it dry.",
    ),
    StageKind.FILL: Card(
        "Mix and fill",
        "needle, swabs, level, timer",
        "{manner}. {again}",
        (
            "Scale to zero before each part; one for another tool goes into a dry cup first.",
            "Timer on when resin meets hardener. Stir three minutes, wall and floor too. Two "
            "cups: pour over, do not scrape, stir again. One: a minute more.",
            "Piece level. Fine lines first, from one end; then pockets.",
            "Look again after 10 min, or as the stage says: prick bubbles, top up.",
        ),
        "Wet to every wall, no bubbles, no stray drop.",
        "Sunk: top up from a new cup. A stray drop: dry swab at once. Keep the cup.",
    ),
    StageKind.CURE: Card(
        "Leave to cure",
        "thermometer, dust cover",
        "{wait}",
        (
            "Time and temperature onto the label; a colder room takes longer.",
            "Press a thumbnail into the leftover.",
        ),
        "No mark; a sliver snaps; no smell.",
        "A mark: half as long again, warmer. Sticky after twice the time: wrong mix; scrape out, "
        "wash, seal, refill.",
    ),
    StageKind.CAP: Card(
        "Cap with clear",
        "needle, swabs, low lamp",
        "{again}",
        (
            "Dust off; pour while the fill is firm but not yet hard.",
            "Run clear along the line until it stands just proud.",
        ),
        "Clear from wall to wall, flakes undisturbed.",
        "Already hard: wash, scuff-sand. It moves under the needle: wait an hour.",
    ),
    StageKind.MILL_FLUSH: Card(
        "Mill the proud resin",
        "touch-off gauge, depth gauge",
        "down to {milled} above the wood",
        (
            "Touch off on bare wood, never on resin.",
            "Stop after the first passes; measure how proud it is.",
        ),
        "Resin of one height, wood untouched.",
        "It cuts wood: touch off again. Resin chips: sharper bit, half the depth. Holes: refill "
        "before you sand.",
    ),
    StageKind.SAND: Card(
        "Sand flush",
        "hard flat block, low lamp",
        "{sand} of wood, no more",
        (
            "Pencil over all; flat block, long strokes along the grain.",
            "Paper 120, 180, 240, wiped between; stop when the pencil is gone.",
        ),
        "A nail glides over resin; no scratch under the lamp.",
        "A pinhole: pick it open, refill, one cure more. Still proud: the block, never a finger.",
    ),
    StageKind.SHAPE: Card(
        "Cut what stays empty, shape edges",
        "touch-off gauge, depth gauge, rule",
        "",
        (
            "Touch off on sanded wood for every bit.",
            "After the first pass measure depth and width.",
        ),
        "Clean rims; what goes in sits as it should.",
        "Too shallow or narrow: touch off, run the file again. A torn rim: fine paper along the "
        "grain.",
    ),
    StageKind.DRILL: Card(
        "Drill holes",
        "scrap wood, caliper",
        "",
        (
            "Try the peg in a hole in the waste.",
            "Brush chips out.",
        ),
        "The peg goes in by hand, stands upright; no edge broken out.",
        "Tight: fine paper on a stick. Wide: the bit's true diameter into the shop file.",
    ),
    StageKind.TRIM: Card(
        "Trim to the outline",
        "fine saw, chisel",
        "",
        (
            "Nothing that holds in the bit's way?",
            "Spindle at rest: saw and pare the tabs, ease the edges.",
        ),
        "Square edges, no burn or step.",
        "Burnt: dull bit or too slow. A step: block and 120 paper. It came loose: finish by hand.",
    ),
    StageKind.FINISH: Card(
        "Finish",
        "lint-free cloths, low lamp",
        "{coats}, {wait_coat} between them",
        (
            "Wipe dust off; try it on the waste first.",
            "Thinly along the grain, edges too; take off what stands.",
            "Rub down lightly between coats.",
        ),
        "An even sheen.",
        "It crawls: wash, dry, rub down, again. Dust: rub down, one coat more. Cloudy: too cold "
        "or damp.",
    ),
    **dict.fromkeys((StageKind.BOX_SAW, StageKind.BOX_FIT), _BOX),
    StageKind.BOX_GLUE: Card(
        "Glue the box",
        "",
        "",
        ("Fit it dry; glue on bare wood only.",),
        "Equal diagonals.",
        "Shift the strap.",
    ),
    StageKind.BOX_COAT: Card(
        "Coat the box",
        "lint-free cloths, low lamp",
        "",
        ("As the board: thinly along the grain, inside first.",),
        "An even sheen.",
        "It crawls: wash, dry, rub down, again.",
    ),
}
"""The cards, by the kind of stage."""

CUT_AGAIN: Final = Card(
    "Cut beside or into a fill",
    "",
    "",
    (
        "Locate as before, nothing under the piece.",
        "Stop after the first shallow pass and look; measure before you take it off.",
    ),
    "The new edge runs along the old one.",
    "Beside it: stop, move zero by as much. Resin chips: sharper bit, half the depth.",
)
"""A cut beside or into what was filled before."""

SEAL_AGAIN: Final = replace(
    CARDS[StageKind.SEAL],
    differs=f"{CARDS[StageKind.SEAL].differs}; brush {{beside}} of bare wood around too",
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
    ("Time and temperature onto the label.", "Touch the leftover, gloved."),
    "Firm: a faint print, nothing sticks.",
    "It strings: wait an hour. No print any more: wash and scuff-sand before you pour.",
)
"""A wait until the next pour."""
