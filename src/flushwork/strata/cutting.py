"""A G-code file run over a face: the sweep of its bit, tile by tile."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from flushwork.gcode.swept import known_from
from flushwork.kernels.shaped_sweep import (
    BALL,
    CONE,
    HOLLOW,
    Shape,
    bin_segments,
    settle,
    sweep_shaped,
)
from flushwork.kernels.sweep import GONE, sweep_flat
from flushwork.runtime.memo import memoized
from flushwork.runtime.pool import map_threads
from flushwork.shelf.items import Bit, BitKind
from flushwork.strata.planes import erase_holes, holes, other_name, replaced
from flushwork.strata.steps import BoardSpec, CutStep
from flushwork.strata.surfaces import (
    TILE_CELLS,
    BoardState,
    CutReport,
    FaceStack,
    Heights,
    TileStack,
)
from flushwork.strata.tiles import (
    TileKey,
    base_tile,
    behind,
    below,
    grid,
    live_size,
    stack_tile,
    tile_window,
    with_tiles,
)
from flushwork.strata.undercut import is_wide
from flushwork.toolpaths.moves import table_of

# ---- A G-code file's moves as straight segments on a face


CHORD_MM: Final = 0.005
"""Greatest distance of an arc's chords from the arc: a twentieth of a default cell, and what
surfacing takes off a curve (FLATTENING_MM)."""

STANDING_MM: Final = 1e-9
"""A segment no longer than this stands still on the face, as the kernels take it."""

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Ints = NDArray[np.int64]


def segments(cut: CutStep) -> tuple[Floats, Ints]:
    """Return a cut's segments on its face, (n, 6), and the number of the move each belongs to.

    Columns are x0, y0, z0, x1, y1, z1 of the tip in mm, z from the as-sawn plane.  Dwells have
    none; rapids are motion like any other.  Arcs become chords (see ``_chords``).  Nobody knows
    where a rapid begins that comes before the first place the file tells, or leads to it: the way
    to its end is the user's to keep free, and only its end takes anything.
    """
    table = table_of(cut.program)
    owners = np.flatnonzero(~table.dwells)
    ends = np.concatenate([[cut.program.start], table.to_mm[owners]])
    arcs = np.flatnonzero(table.arc[owners])
    points, made_of = _chords(
        ends, arcs, table.centre_mm[owners[arcs]], table.turn_rad[owners[arcs]], CHORD_MM
    )
    path = points + np.array((*cut.origin_mm, cut.zero_mm))
    begins, made_of = path[:-1].copy(), owners[made_of]
    unknown = table.rapid[made_of] & (made_of <= known_from(cut.program))
    begins[unknown] = path[1:][unknown]
    return np.hstack([begins, path[1:]]), made_of


def joined(moves: Floats, owners: Ints, cut: CutStep) -> Flags:
    """Return of each segment, (n,), whether the next one takes over where it ends.

    Both feed along the face: a plunge, a lift or a rapid keeps what it takes to itself.
    """
    along = np.hypot(moves[:, 3] - moves[:, 0], moves[:, 4] - moves[:, 1]) > STANDING_MM
    own = along & ~table_of(cut.program).rapid[owners]
    ends = np.zeros(len(moves), np.bool_)
    ends[:-1] = own[:-1] & own[1:] & np.all(moves[:-1, 3:] == moves[1:, :3], axis=1)
    return ends


def handed_on(joins: Flags, picks: Ints) -> Flags:
    """Return ``joined`` of some of the segments only, (picks,): the next one has to be there."""
    here = joins[picks]
    here[:-1] &= picks[1:] == picks[:-1] + 1
    here[-1:] = False
    return here


def _chords(
    ends: Floats, numbers: Ints, centre: Floats, turn: Floats, sagitta_mm: float
) -> tuple[Floats, Ints]:
    """Return the way through ``ends`` (moves + 1, 3) in straight pieces, arcs as chords.

    The moves by these ``numbers`` are arcs about ``centre`` (arcs, 2) that ``turn`` by (arcs,).
    The first array, (pieces + 1, 3), holds the points of the way; the second, (pieces,), the number
    of the move each piece belongs to.  Sagitta of a chord: R (1 - cos(delta / 2)).  Where start and
    end of an arc lie at slightly different distances from its centre, the radius goes evenly from
    one to the other.  Every move ends exactly where it does.
    """
    moves = len(ends) - 1
    count = np.ones(moves, np.int64)
    from_start, to_end = ends[numbers, :2] - centre, ends[numbers + 1, :2] - centre
    radius = np.hypot(from_start[:, 0], from_start[:, 1])
    change = np.hypot(to_end[:, 0], to_end[:, 1]) - radius
    with np.errstate(divide="ignore"):
        widest = 2.0 * np.arccos(np.clip(1.0 - sagitta_mm / radius, -1.0, 1.0))
    widest[radius <= sagitta_mm] = math.pi / 2.0
    count[numbers] = np.maximum(np.ceil(np.abs(turn) / widest), 1.0).astype(np.int64)
    made_of = np.repeat(np.arange(moves), count)
    points = np.concatenate((ends[:1], ends[1:][made_of]))
    # of the pieces of each arc all but the last end on the arc, a share of the way along it
    arc_of = np.full(moves, -1, np.int64)
    arc_of[numbers] = np.arange(len(numbers))
    last = np.cumsum(count)
    place = np.arange(len(made_of)) - (last - count)[made_of] + 1
    within = np.flatnonzero((arc_of[made_of] >= 0) & (place < count[made_of]))
    arc, share = arc_of[made_of[within]], place[within] / count[made_of[within]]
    angle = np.arctan2(from_start[arc, 1], from_start[arc, 0]) + share * turn[arc]
    at = radius[arc] + share * change[arc]
    points[within + 1, 0] = centre[arc, 0] + at * np.cos(angle)
    points[within + 1, 1] = centre[arc, 1] + at * np.sin(angle)
    low, high = ends[numbers[arc], 2], ends[numbers[arc] + 1, 2]
    points[within + 1, 2] = low + share * (high - low)
    return points, made_of


# ---- A G-code file run over a face: the sweep of its bit, tile by tile


SAMPLES: Final = 4
"""Sub-samples along a cell's side for shaped bits: a 30 degree groove 1 mm deep errs 0.2 %."""


@dataclass(frozen=True, slots=True)
class _TileTask:
    """One tile's share of a cut: the bit, the tile's key, the plane of the bare face."""

    bit: Bit
    key: TileKey
    plane_mm: float


@dataclass(frozen=True, slots=True)
class _TileCut:
    """What a cut did in one tile: its new stack, and per move mm3, bite and the bite's cell."""

    tile: TileStack | None
    changed: bool
    removed_mm3: NDArray[np.float64]
    bite_mm: NDArray[np.float64]
    bite_cell: NDArray[np.int64]
    wood_mm3: float


def is_flat(bit: Bit) -> bool:
    """Whether a bit leaves a flat floor; a V-bit or drill without a point angle does."""
    if bit.kind in (BitKind.BALL, BitKind.ROUND_OVER):
        return False
    return bit.kind in (BitKind.FLAT, BitKind.KEYHOLE) or not 0.0 < bit.angle_rad < math.pi - 1e-9


def tile_tops(spec: BoardSpec, face: FaceStack) -> NDArray[np.float32]:
    """Return the greatest height of each tile of the blank, (rows, columns)."""
    whole = grid(spec)
    tops = np.full(
        (-(-whole.rows // TILE_CELLS), -(-whole.columns // TILE_CELLS)), face.plane_mm, np.float32
    )
    for (column, row), tile in face.tiles.items():
        tops[row, column] = tile.top_mm
    return tops


def run_cut(spec: BoardSpec, state: BoardState, cut: CutStep) -> tuple[BoardState, CutReport]:
    """Return the board after a G-code file, and the report of what each of its moves did."""
    moves, owners = segments(cut)
    if cut.bit.kind is not BitKind.KEYHOLE:
        board, done = _run(spec, state, cut, cut.bit, moves, owners)
        return board, _report(spec, state.stage, cut, done, owners)
    # what is seen from above: the head where it stands out of the wood, else its neck; what the
    # head takes beneath is no height and is told apart (``strata.undercut``)
    wide = is_wide(moves, cut.bit, state.face(cut.face).plane_mm)
    neck = replace(cut.bit, diameter_mm=cut.bit.neck_mm)
    board, whole = state, list[tuple[TileKey, NDArray[np.int64], _TileCut]]()
    for bit, mine in ((cut.bit, np.flatnonzero(wide)), (neck, np.flatnonzero(~wide))):
        board, done = _run(spec, board, cut, bit, moves[mine], owners[mine])
        whole += [(key, mine[picks], part) for key, picks, part in done]
    return board, _report(spec, state.stage, cut, whole, owners)


def _run(
    spec: BoardSpec, state: BoardState, cut: CutStep, bit: Bit, moves: Floats, owners: Ints
) -> tuple[BoardState, list[tuple[TileKey, NDArray[np.int64], _TileCut]]]:
    """Return the board after a bit has gone these ways, and what that did tile by tile."""
    face, other = state.face(cut.face), state.face(other_name(cut.face))
    going_on = joined(moves, owners, cut)
    tops = tile_tops(spec, face)
    starts, picks = bin_segments(moves, tops, bit.radius_mm, TILE_CELLS * spec.cell_mm)
    busy = np.flatnonzero(np.diff(starts))

    def one(tile: int) -> tuple[TileKey, NDArray[np.int64], _TileCut]:
        key = (int(tile % tops.shape[1]), int(tile // tops.shape[1]))
        mine = picks[starts[tile] : starts[tile + 1]]
        task = _TileTask(bit, key, face.plane_mm)
        return key, mine, _cut_in(spec, face, other, task, moves[mine], handed_on(going_on, mine))

    done = map_threads(one, [int(tile) for tile in busy])
    changed = {key: part.tile for key, _, part in done if part.changed}
    after = with_tiles(face, changed)
    return erase_holes(spec, replaced(state, cut.face, after), cut.face, changed), done


def _cut_in(
    spec: BoardSpec,
    face: FaceStack,
    other: FaceStack,
    task: _TileTask,
    moves: NDArray[np.float64],
    handed: NDArray[np.bool_],
) -> _TileCut:
    """Cut one tile; of the other face only what a hole or a way through lets matter is asked."""
    window = tile_window(task.key)
    lowest = float(np.minimum(moves[:, 2], moves[:, 5]).min())
    behind_it: Heights = -np.float32(spec.thickness_mm) - behind(spec, other, window, -1)
    far = behind_it if lowest < float(behind_it.max()) else None
    void = holes(spec, face, other, window)
    return _cut_tile(spec, task, base_tile(face, task.key), moves, handed, void, far)


@memoized
def _cut_tile(
    spec: BoardSpec,
    task: _TileTask,
    tile: TileStack,
    moves: NDArray[np.float64],
    handed: NDArray[np.bool_],
    void: NDArray[np.bool_] | None,
    far: Heights | None,
) -> _TileCut:
    """Cut one tile by its own moves; ``void`` are holes right through.

    ``handed`` says which moves hand what lies past their end on to the next (``motion.joined``).

    ``far`` is the surface behind, where a move comes out there.
    """
    key = task.key
    lowest = float(np.minimum(moves[:, 2], moves[:, 5]).min())
    keep = min(below(tile, lowest), len(tile.heights) - 1)
    base = np.stack(tile.heights[keep:])
    top = base[-1].copy()
    if void is not None:
        top[void] = GONE
    after, removed, bite, cells = _sweep(spec, task, moves, handed, base, top, None)
    wood_mm = 0.0
    if far is not None:
        # what lies beyond the far face is air: it must not count as removed
        counted, removed, bite, cells = _sweep(spec, task, moves, handed, base, top, far)
        wood_mm = _lost(spec, key, base[0], counted[0]) if keep == 0 else 0.0
    elif keep == 0:
        wood_mm = _lost(spec, key, base[0], after[0])
    surfaces = [
        old if np.array_equal(old, new) else new
        for old, new in zip(tile.heights[keep:], after, strict=True)
    ]
    changed = any(old is not new for old, new in zip(tile.heights[keep:], surfaces, strict=True))
    return _TileCut(
        tile=stack_tile(
            tile.materials, [*tile.heights[:keep], *surfaces], task.plane_mm, max(1, keep)
        ),
        changed=changed,
        removed_mm3=removed,
        bite_mm=bite,
        bite_cell=cells,
        wood_mm3=wood_mm * spec.cell_mm**2,
    )


def _lost(spec: BoardSpec, key: TileKey, before: Heights, after: Heights) -> float:
    columns, rows = live_size(spec, key)
    return float((before - after)[:rows, :columns].sum(dtype=np.float64))


def _sweep(
    spec: BoardSpec,
    task: _TileTask,
    moves: NDArray[np.float64],
    handed: NDArray[np.bool_],
    base: NDArray[np.float32],
    top: Heights,
    far: Heights | None,
) -> tuple[NDArray[np.float32], NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]]:
    bit, key = task.bit, task.key
    live = live_size(spec, key)
    side = TILE_CELLS * spec.cell_mm
    corner = (key[0] * side, key[1] * side)
    floor = top if far is None else far
    count = len(moves)
    report = (np.zeros(count), np.zeros(count), np.full(count, -1, np.int64))
    runs = (floor, far is not None, moves, handed, np.arange(count))
    if is_flat(bit):
        work = base.copy()
        work[-1] = top
        sweep_flat(base, work, *runs, bit.radius_mm, spec.cell_mm, corner, live, *report)
        gone = top < 0.5 * GONE
        work[-1][gone] = base[-1][gone]
        return work, *report
    fine = np.repeat(np.repeat(top, SAMPLES, axis=0), SAMPLES, axis=1)
    sweep_shaped(
        _shape(bit),
        fine,
        *runs,
        spec.cell_mm,
        SAMPLES,
        corner,
        live,
        float(top.max()),
        *report,
    )
    return settle(base, fine, SAMPLES, live, 0.5 * GONE), *report


def _shape(bit: Bit) -> Shape:
    if bit.kind is BitKind.BALL:
        return BALL, bit.radius_mm, 0.0, 1.0
    if bit.kind is BitKind.ROUND_OVER:
        return HOLLOW, bit.radius_mm, bit.flat_mm / 2.0, bit.round_mm
    steep = 1.0 / math.tan(bit.angle_rad / 2.0)
    return CONE, bit.radius_mm, bit.flat_mm / 2.0, steep


def _report(
    spec: BoardSpec,
    stage: int,
    cut: CutStep,
    done: list[tuple[TileKey, NDArray[np.int64], _TileCut]],
    owners: NDArray[np.int64],
) -> CutReport:
    count = len(cut.program.moves)
    removed, bite = np.zeros(count), np.zeros(count)
    where = np.full((count, 2), np.nan)
    if done:
        mine = owners[np.concatenate([picks for _, picks, _ in done])]
        np.add.at(removed, mine, np.concatenate([part.removed_mm3 for *_, part in done]))
        deepest = np.concatenate([part.bite_mm for *_, part in done])
        rising = np.argsort(deepest, kind="stable")
        rising = rising[deepest[rising] > 0.0]
        # of several bites by one move the last one written, the greatest, stands
        bite[mine[rising]] = deepest[rising]
        keys = np.repeat([key for key, *_ in done], [len(picks) for _, picks, _ in done], axis=0)
        places = _places(spec, keys, np.concatenate([part.bite_cell for *_, part in done]))
        where[mine[rising]] = places[rising]
    wood_mm3 = sum(part.wood_mm3 for *_, part in done)
    resin_mm3 = float(removed.sum()) - wood_mm3
    for array in (removed, bite, where):
        array.setflags(write=False)
    return CutReport(
        stage=stage,
        file_name=cut.file_name,
        removed_mm3=removed,
        bite_mm=bite,
        bite_at=where,
        resin_mm3=resin_mm3 if resin_mm3 > 1e-5 * max(1.0, wood_mm3) else 0.0,
    )


def _places(
    spec: BoardSpec, keys: NDArray[np.int64], cells: NDArray[np.int64]
) -> NDArray[np.float64]:
    """Return where cells (n,) of the tiles ``keys`` (n, 2) lie, (n, 2) in mm."""
    rows, columns = np.divmod(cells, TILE_CELLS)
    across = (keys[:, 0] * TILE_CELLS + columns + 0.5) * spec.cell_mm
    up = (keys[:, 1] * TILE_CELLS + rows + 0.5) * spec.cell_mm
    return np.stack([across, up], axis=1)
