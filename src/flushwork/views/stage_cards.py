"""The card of each stage: what to lay out, how to set it, what to do, what is good, what if not.

All of it is common practice, no source, in our own words.  Names in braces are filled from the job
(see ``stage_views``).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from flushwork.process.stages import StageKind


@dataclass(frozen=True, slots=True)
class Card:
    """How one kind of stage is worked: sentences with names in braces; ``steps`` in order."""

    lay_out: str
    settings: str
    steps: tuple[str, ...]
    good: str
    if_not: str


CARDS: Final[Mapping[StageKind, Card]] = {
    StageKind.FLATTEN: Card(
        "Plane or facing cutter, straight edge as long as the blank, calliper, pencil.",
        "{flatten} off this face.",
        (
            "Scribble pencil over the whole face; work until no mark is left.",
            "Measure the thickness at four corners and in the middle, and write it on the piece.",
        ),
        "No light under the straight edge along, across and over both diagonals; the five "
        "thicknesses lie within 0.1 mm.",
        "It rocks: shim the low corners and take another light pass. Thinner than the height "
        "ledger says: put the true thickness in the job and build again.",
    ),
    StageKind.LOCATE: Card(
        "{located_by}, {locating_cutter}, calliper, a scrap of the same wood, stop or square.",
        "Spoilboard {board_depth} deep, blank {blank_depth}; speed and feeds stand on the card of "
        "mounting {mounting}. The zero of X and Y stays as it is for both files and every later "
        "mounting.",
        (
            "Bore the spoilboard first, with no blank on it; try what goes in for its fit.",
            "Lay the blank with its corner on X0 Y0, hold it, bore its recesses.",
            "{put_in}",
            "Mark the corner at zero on blank and spoilboard.",
        ),
        "It goes in by hand without play, stands upright and stays below the face; the blank lifts "
        "off and comes back without a click.",
        "Loose: bore new places, or turn thicker ones and put their diameter into the job. Tight: "
        "raise `play` by 0.02 mm. It stands proud: cut it shorter before anything is cut.",
    ),
    StageKind.MARK: Card(
        "The cutter of the first file of mounting {mounting}, a loupe or a camera on the spindle, "
        "pencil, the list of marks.",
        "Places of the marks stand on the card of mounting {mounting}. {reads}",
        (
            "{read_first}",
            "Cut the marks before anything else, and ring each with pencil.",
        ),
        "Four crisp dimples in the waste, none in the work.",
        "One broke out or met a clamp: note it and leave it out; with three left a misread one "
        "cannot be found, so cut the fourth by hand beside it.",
    ),
    StageKind.CUT: Card(
        "The cutters of mounting {mounting} in the order of its files, a spare for every thin one, "
        "touch-off gauge, depth gauge, brush.",
        "Cutter, speed, feeds and depth of each file stand on the card of mounting {mounting}.",
        (
            "Tick that card, run each file once in air, then in the wood.",
            "Touch off again after every change of cutter.",
            "Measure the depth of a pocket before you take the piece down.",
        ),
        "Sharp walls without fuzz, floors of one depth, no step where two cutters meet.",
        "Too shallow: leave it held, touch off, run the last file again. Fuzz: stiff brush, or "
        "fine paper on a stick. A chip broke out: glue it back before anything is sealed.",
    ),
    StageKind.SEAL: Card(
        "{seal_cup}, fine brush, lint-free cloth, vacuum, low lamp.",
        "Thin coats; let it {seal_sets}, {wait}.",
        (
            "Vacuum and brush the dust out of every corner.",
            "Brush walls and floors thinly, end grain twice; lift pools out of corners.",
        ),
        "All walls shine evenly under the low lamp: no bare end grain, no pools.",
        "Dull patches have drunk it: another thin coat. A pool: wipe it while it is wet, scrape it "
        "once it is dry.",
    ),
    StageKind.FILL: Card(
        "The card of {pours}, its cups and tools, stirrers, needle, swabs, level, timer, gloves.",
        "Amounts and stop limits stand on that card. Piece level both ways; the timer starts when "
        "the two parts meet.",
        (
            "Mix by the card, wall and bottom too; change the cup where the card says so.",
            "Fine lines first, from one end so that air runs ahead; then the wide pockets.",
            "{manner}",
            "{again}",
        ),
        "{filled}, wet to every wall, no bubbles, no drop in a neighbour's pocket.",
        "Sunk, or a bubble burst: top up from a new cup while it can be poured on. A drop went "
        "astray: lift it at once with a dry swab. Keep the cup: it tells if the mix was right.",
    ),
    StageKind.CURE: Card(
        "Level place without dust, a cover that touches nothing, thermometer, the cups beside it.",
        "{wait} in the shop's usual air; ten degrees colder take twice as long.",
        (
            "Write time and temperature on the label.",
            "At the end press a thumbnail into what is left in the cup.",
        ),
        "The nail leaves no mark; a sliver of the leftover snaps and does not bend; no smell.",
        "The nail still marks: wait half as long again in warmer air. Sticky after twice the time: "
        "the mix was wrong; scrape all of it out, wash, seal and fill again.",
    ),
    StageKind.CAP: Card(
        "The card of {pours}, clear in a clean cup, needle, swabs, lamp, gloves.",
        "Amounts and stop limits stand on that card. Pour while the fill is firm but not yet hard.",
        (
            "Look along each line under the lamp: dust and fluff come off now.",
            "Run the clear along the line from one end until it stands just proud.",
        ),
        "Clear from wall to wall, slightly proud, the flakes beneath undisturbed.",
        "The fill is already hard: wash, abrade and clean it first. It moves under the needle: too "
        "soon, wait an hour. A bubble: prick it while it is wet.",
    ),
    StageKind.LEVEL: Card(
        "Facing cutter, touch-off gauge, depth gauge, vacuum.",
        "Down to {levelled} above the wood as it stands; speed and feeds stand on the card of "
        "mounting {mounting}.",
        (
            "Touch off on bare wood, never on resin.",
            "Stop after the first lanes and measure how proud the resin is left.",
        ),
        "Resin of one height, about {levelled} proud, the wood untouched.",
        "It cuts wood: stop and touch off again. Resin chips: sharper cutter, half the depth. "
        "Holes open: refill them from a fresh small batch before you sand.",
    ),
    StageKind.SAND: Card(
        "Hard flat block, papers 120 to 240, depth gauge, low lamp, respirator, extraction.",
        "{sand} of wood goes with it and no more.",
        (
            "Pencil over face and resin; block flat, long strokes along the grain.",
            "Change the paper as soon as it glazes; wipe clean between two grits.",
            "Stop when the pencil has gone.",
        ),
        "A nail glides from wood over resin; the low lamp shows no ridge, dip or scratch across.",
        "A pinhole: pick it open, refill it, one cure more. A dull spot in a fill: the next finer "
        "paper. Resin still proud: sand on there with the block, never with a finger.",
    ),
    StageKind.DRILL: Card(
        "The drills or cutters of mounting {mounting}, a scrap below, calliper, one peg.",
        "Speed, feed and depth of each file stand on the card of mounting {mounting}.",
        (
            "Drill one hole in the waste and try the peg.",
            "Run the file; brush the chips out before you measure.",
        ),
        "The peg goes in by hand and stands upright; rims without fuzz, none broken out.",
        "Too tight: finish takes room too; a turn of fine paper on a stick. Too wide: give the "
        "cutter's true diameter to the shop file. A rim tore: paper it once the finish is on.",
    ),
    StageKind.TRIM: Card(
        "The cutter of mounting {mounting}, fine saw and chisel for the tabs, a block, 180 paper.",
        "Speed, feeds and tabs stand on the card of mounting {mounting}.",
        (
            "See that nothing that holds or locates lies on the way of the cutter.",
            "Spindle at rest: saw the tabs, pare them flush, ease the edges by two strokes.",
        ),
        "Edges square, without burn or step; no trace of a tab.",
        "Burnt: dull cutter or too slow; sand it back. A step between passes: block and 120 paper "
        "along the edge. It came loose: leave it, finish the edge by hand.",
    ),
    StageKind.FINISH: Card(
        "{finish}, lint-free cloths, 320 paper, dust cloth, props that touch only edges, low lamp.",
        "{coats}; {wait_coat} between two of them.",
        (
            "Wipe all dust off; try it on the waste or on the test piece first.",
            "Wipe on thinly along the grain, edges too, and take off what stands.",
            "Rub down lightly and dust between two coats.",
        ),
        "An even sheen without dull patches; colours as deep as they were when wet.",
        "It crawls off the resin: wash with soap, dry, rub down, again. Dust: let it dry, rub "
        "down, one more thin coat. Cloudy: too cold or damp; wait for better air.",
    ),
}
"""The cards, by the kind of stage."""

CUT_AGAIN: Final = Card(
    CARDS[StageKind.CUT].lay_out,
    CARDS[StageKind.CUT].settings,
    (
        "Locate as before, nothing under the piece; compare an old edge with the file's figures.",
        "Run each file in air; then stop after its first shallow pass and look.",
        "Measure the depth before you take the piece down.",
    ),
    "The new edge runs along the old one evenly; a line lies over its seam with resin or wood on "
    "both sides of it.",
    "It lies beside: stop, move zero by what you measured, start again. Resin chips: sharper "
    "cutter, half the depth. A crumb broke out: it is filled with this round's colour.",
)
"""A cut beside or into what was filled before."""

SEAL_FACE: Final = Card(
    CARDS[StageKind.SEAL].lay_out,
    CARDS[StageKind.SEAL].settings,
    (
        "Vacuum the face and wipe it along the grain; nothing is cut into it yet.",
        "Brush the whole face thinly, out to the edges, end grain twice; leave no puddle.",
    ),
    "The whole face shines evenly under the low lamp: no dull patch, no run.",
    CARDS[StageKind.SEAL].if_not,
)
"""A face sealed before anything is cut into it."""

SEAL_AGAIN: Final = Card(
    CARDS[StageKind.SEAL].lay_out,
    CARDS[StageKind.SEAL].settings,
    (
        *CARDS[StageKind.SEAL].steps,
        "Brush the bare wood {beside} wide around each of them too: the sanding took its seal, and "
        "resin runs over there.",
    ),
    "Walls, floors and the wood beside them shine evenly under the low lamp: no bare end grain, no "
    "pools.",
    CARDS[StageKind.SEAL].if_not,
)
"""Walls sealed in a face that has been sanded since it was sealed."""

FLUSH: Final = Card(
    CARDS[StageKind.LEVEL].lay_out,
    "The whole face down to {levelled} below the wood as it stands; speed and feeds stand on the "
    "card of mounting {mounting}.",
    (
        "Touch off on bare wood, never on resin.",
        "Stop after the first lanes and measure the step beside them.",
    ),
    "Resin and wood of one height over the whole face, no lane standing, nothing left proud.",
    "A patch of wood not reached: the face is not flat; touch off on its lowest place and run it "
    "again. Deeper than that: stop, the piece comes out thinner; touch off again. Resin chips: "
    "sharper cutter, half the depth.",
)
"""A levelling that mills the whole face, wood and resin flush."""

SETTING: Final = Card(
    CARDS[StageKind.CURE].lay_out,
    "{wait}, and not past the window's end on the day sheet.",
    (
        "Write time and temperature on the label.",
        "Try the leftover in the cup with a gloved finger.",
    ),
    "Firm: a finger leaves a faint print and nothing sticks to it.",
    "It strings: wait an hour and try again. No print any more: wash and abrade before you pour.",
)
"""A wait until the next pour."""
