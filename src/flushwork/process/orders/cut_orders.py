"""From stages to cut orders: what each bit does in each stage that runs on the machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shapely import MultiPolygon

from flushwork.art.drawn import Drawn, DrawnFace, DrawnInlay
from flushwork.art.regions import NOTHING, many, united
from flushwork.core.tolerances import SLOT_WIDTH_MM
from flushwork.fit.cutting_force import stock_of_wood
from flushwork.fit.reach import Fit
from flushwork.job.keys.cut_list import INTO_SPOILBOARD_MM
from flushwork.job.never_accepted import accepted_words
from flushwork.job.records import Inlay, Job, MeasuredFrom
from flushwork.process.exposure import head_lines
from flushwork.process.hanger_slots import hanger_slots
from flushwork.process.orders.drill_orders import (
    bed_places,
    drill_operations,
    facing_bit,
    trim_bit,
)
from flushwork.process.orders.imported_files import (
    ImportedWork,
    imported_orders,
    imported_work,
    ours,
    works_of,
)
from flushwork.process.orders.waste_cuts import locating_orders, mark_operations
from flushwork.process.rounds import FacePlanes, milled_to_mm
from flushwork.process.shaped_edges import shaped_edge
from flushwork.process.stages import Plan, Setup, Stage, StageKind
from flushwork.process.waste import keep_outs_of
from flushwork.shelf.items import Bit
from flushwork.toolpaths.orders import (
    CutOrder,
    EdgeCut,
    EngraveCut,
    HangerCut,
    LevelCut,
    LineCut,
    Operation,
    PocketCut,
    TrimCut,
    Work,
)

OVER_CLAMPS_MM = 2.0
"""How far above a clamp a bit crosses it (assumed, 1 to 5 mm)."""
LEVEL_MARGIN_MM = 2.0
"""How far flush milling reaches beyond the overspill of an overfilled pocket."""


def cut_orders(
    job: Job, faces: Sequence[DrawnFace], fits: Mapping[str, Fit], plan: Plan
) -> tuple[tuple[int, CutOrder], ...]:
    """Return the G-code files to write, in working order, each with the number of its stage."""
    by_name = {face.name: face for face in faces}
    imported = imported_work(job, plan)
    result: list[tuple[int, CutOrder]] = []
    for setup in plan.setups:
        stages = [plan.stage(number) for number in setup.stages]
        face, own = by_name[setup.face], plan.on(setup.face)
        asked = {
            stage.number: _operations(
                job,
                face,
                fits,
                stage,
                (setup, plan.standing_mm(stage)),
                own,
            )
            for stage in stages
        }
        used = tuple(dict.fromkeys(each.bit for work in asked.values() for each in work))
        sequence = 0
        for stage in stages:
            operations = asked[stage.number]
            if stage.kind is StageKind.MARK:
                operations = mark_operations(job, setup, own, used)
            works = works_of(imported, stage)
            heads = head_lines(job, plan, stage)
            height_mm = plan.standing_mm(stage)
            for order in _stage_orders(job, stage, (setup, height_mm), own, operations, works):
                sequence += 1
                wood = stock_of_wood(job.blank.wood)
                worked = tuple(replace(item, wood=wood) for item in order.operations)
                made = replace(
                    order,
                    sequence=sequence,
                    operations=worked,
                    warnings=heads,
                    sanded=_is_sanded(plan, stage),
                    part=job.part,
                )
                result.append((stage.number, made))
    return _named_in_order(result)


def _is_sanded(plan: Plan, stage: Stage) -> bool:
    """Whether the face was sanded before: its zero is then touched off on less wood."""
    return any(
        each.kind is StageKind.SAND and each.face == stage.face
        for each in plan.stages[: stage.number - 1]
    )


def _named_in_order(found: list[tuple[int, CutOrder]]) -> tuple[tuple[int, CutOrder], ...]:
    """Return the orders with numbers of one length, so that names sort as the files are run."""
    most = max((max(each.setup, each.sequence) for _, each in found), default=0)
    return tuple((stage, replace(each, digits=len(str(most)))) for stage, each in found)


def _stage_orders(
    job: Job,
    stage: Stage,
    mounted: tuple[Setup, float],
    planes: FacePlanes,
    operations: tuple[Operation, ...],
    works: tuple[ImportedWork, ...],
) -> tuple[CutOrder, ...]:
    """Return a stage's orders: ours, one for each bit, then those of imported files.

    ``mounted`` is its setup, and where the wood of the face stands when the stage begins.
    """
    setup, standing_mm = mounted
    like = CutOrder(
        name=stage.title,
        job=job.title,
        face=stage.face,
        setup=setup.number,
        sequence=0,
        bit=job.shop.bits[0],
        machine=job.shop.machine,
        origin_mm=setup.origin_mm,
        face_z_mm=standing_mm,
        operations=(),
        over_mm=_over_clamps_mm(job, setup),
        places=bed_places(job),
        accepted=accepted_words(job),
    )
    if stage.kind is StageKind.LOCATE:
        return locating_orders(job, setup, like)
    own = ours(operations, works)
    found = tuple(
        replace(like, bit=bit, operations=tuple(item for item in own if item.bit == bit))
        for bit in dict.fromkeys(operation.bit for operation in own)
    )
    return (*found, *imported_orders(like, operations, works, setup, planes))


def _over_clamps_mm(job: Job, setup: Setup) -> float:
    """Return the height at which nothing that holds the blank is met."""
    heights = [keep.height_mm for keep in keep_outs_of(job, setup.face, setup.number)]
    return max(heights) + OVER_CLAMPS_MM if heights else 0.0


def _operations(
    job: Job,
    face: DrawnFace,
    fits: Mapping[str, Fit],
    stage: Stage,
    mounted: tuple[Setup, float],
    planes: FacePlanes,
) -> tuple[Operation, ...]:
    setup, height_mm = mounted
    if stage.kind is StageKind.CUT:
        standing_mm = planes.before_mm(stage.round)
        found = [
            operation
            for drawn in face.inlays
            if drawn.inlay.name in stage.subjects
            for operation in _inlay_operations(
                fits[drawn.inlay.name],
                planes.floor_mm(drawn.inlay) - standing_mm,
                outline_mm=_outline_mm(drawn.inlay, planes.finished_mm - standing_mm),
                in_resin=stage.round > 1,
                filled=_filled_beside(face, drawn),
            )
        ]
        return tuple(
            sorted(found, key=lambda item: (item.work is Work.ENGRAVE, -item.bit.diameter_mm))
        )
    if stage.kind is StageKind.SHAPE:
        return _shaping(job, face, fits, stage, planes.finished_mm - height_mm)
    if stage.kind is StageKind.MILL_FLUSH:
        return _flush_operations(job, face, stage)
    thickness_mm = setup.stands_mm + height_mm - setup.face_z_mm
    if stage.kind is StageKind.DRILL:
        above_mm = height_mm - planes.finished_mm
        return drill_operations(job, face, thickness_mm, above_mm)
    if stage.kind is StageKind.TRIM:
        return _trim_operations(job, face, thickness_mm)
    return ()


def _shaping(
    job: Job, face: DrawnFace, fits: Mapping[str, Fit], stage: Stage, finished_mm: float
) -> tuple[Operation, ...]:
    """Return the cuts of what stays empty; ``finished_mm`` is the face its depths count from."""
    filled = united([item.region for item in face.inlays])
    found = [
        operation
        for drawn in face.pockets
        if drawn.pocket.name in stage.subjects
        for operation in _inlay_operations(
            fits[drawn.pocket.name],
            finished_mm - drawn.pocket.depth_mm,
            outline_mm=finished_mm,
            in_resin=drawn.region.intersects(filled),
            filled=NOTHING,
        )
    ]
    found.sort(key=lambda item: (item.work is Work.ENGRAVE, -item.bit.diameter_mm))
    edges = [
        EdgeCut(
            subject=edge.name,
            bit=shaped.bit,
            top_mm=0.0,
            floor_mm=finished_mm + way.tip_mm,
            lines=way.lines,
            filled=shaped.open_side,
            resin=shaped.taken.intersects(filled),
        )
        for edge in face.edges
        if edge.name in stage.subjects
        and (shaped := shaped_edge(job, face, edge, reached_of(fits, edge.along))) is not None
        for way in shaped.ways
    ]
    # a rim is shaped in solid wood, which backs its fibres; the wall is cut through it afterwards
    hangers = [
        HangerCut(
            subject=slot.hanger.name,
            bit=slot.bit,
            top_mm=0.0,
            floor_mm=finished_mm - slot.hanger.depth_mm,
            way=slot.way,
        )
        for slot in hanger_slots(job, face)
        if slot.hanger.name in stage.subjects
    ]
    return (*edges, *found, *hangers)


def reached_of(fits: Mapping[str, Fit], pocket: str) -> MultiPolygon | None:
    """Return what the bits of a pocket left empty cut of it, None where they are not known."""
    fit = fits.get(pocket)
    reaches = [reach for bit in fit.bits if (reach := fit.reach(bit)) is not None] if fit else []
    return united([each.reached for each in reaches]) if reaches else None


def _outline_mm(inlay: Inlay, finished_mm: float) -> float:
    """Return the height at which V walls meet their outline: the face that depths count from."""
    return finished_mm if inlay.measured_from is MeasuredFrom.FINISHED else 0.0


def _filled_beside(face: DrawnFace, drawn: DrawnInlay) -> MultiPolygon:
    """Return the fills along whose edges a seam line runs; none for any other inlay."""
    seam = drawn.inlay.seam
    if seam is None:
        return NOTHING
    return united([other.region for other in face.inlays if other.inlay.name in seam.along])


def _inlay_operations(
    fit: Fit, depth_mm: float, *, outline_mm: float, in_resin: bool, filled: MultiPolygon
) -> list[Operation]:
    """Return the cuts of one inlay; ``filled`` are the fills beside it, if it is a seam line."""
    drawn = fit.drawn
    name = drawn.thing.name
    if drawn.thing.v_bit:
        return _engraving(fit, depth_mm, outline_mm=outline_mm, in_resin=in_resin)
    result: list[Operation] = []
    cleared = NOTHING
    for bit in fit.bits:
        if _is_one_cut(drawn, bit):
            lines = drawn.strokes
            line = LineCut(name, bit, 0.0, depth_mm, lines, filled, resin=in_resin)
            result.append(line)
            continue
        reach = fit.reach(bit)
        if reach is None or reach.centres.is_empty:
            continue
        result.append(
            PocketCut(
                subject=name,
                bit=bit,
                top_mm=0.0,
                floor_mm=depth_mm,
                region=drawn.region,
                centres=reach.centres,
                cleared=cleared,
                resin=in_resin,
            )
        )
        if bit is not fit.bits[-1]:
            cleared = reach.reached if cleared.is_empty else united([cleared, reach.reached])
    return result


def _engraving(fit: Fit, depth_mm: float, *, outline_mm: float, in_resin: bool) -> list[Operation]:
    """Return the cuts of an engraving: its floor by a flat bit where that pays, then the V-bit."""
    drawn, floor = fit.drawn, fit.floor
    name = drawn.thing.name
    found: list[Operation] = []
    if floor is not None:
        region, centres = floor.reached, floor.centres
        cut = PocketCut(name, floor.bit, 0.0, depth_mm, region, centres, resin=in_resin)
        found.append(cut)
    found += [
        EngraveCut(
            subject=name,
            bit=v_bit,
            top_mm=0.0,
            floor_mm=depth_mm,
            region=drawn.region,
            outline_mm=outline_mm,
            cleared=NOTHING if floor is None else floor.reached,
            again=drawn.thing.twice,
            resin=in_resin,
        )
        for v_bit in fit.bits
    ]
    return found


def _is_one_cut(drawn: Drawn, bit: Bit) -> bool:
    """Whether one pass of the bit along the strokes makes the whole inlay."""
    if drawn.strokes.is_empty:
        return False
    if drawn.region.is_empty:
        return True
    width_mm = drawn.region.area / drawn.strokes.length
    widest = drawn.thing.seam.width_mm if drawn.thing.seam is not None else width_mm
    return abs(widest - bit.diameter_mm) <= SLOT_WIDTH_MM


def _flush_operations(job: Job, face: DrawnFace, stage: Stage) -> tuple[Operation, ...]:
    bit = facing_bit(job)
    if bit is None:
        return ()
    allowances = job.allowances
    proud = [
        drawn.region.buffer(allowances.overspill_mm + LEVEL_MARGIN_MM)
        for drawn in face.inlays
        if drawn.inlay.name in stage.subjects
    ]
    whole = allowances.mill_flush_mm > 0.0
    area = face.blank if whole else many(united(proud).intersection(face.blank))
    return (
        LevelCut(
            subject=stage.title,
            bit=bit,
            top_mm=allowances.overfill_mm,
            floor_mm=milled_to_mm(allowances),
            region=area,
            resin=True,
        ),
    )


def _trim_operations(job: Job, face: DrawnFace, thickness_mm: float) -> tuple[Operation, ...]:
    bit = trim_bit(job)
    if bit is None:
        return ()
    outline = job.outline
    return (
        TrimCut(
            subject="trim line",
            bit=bit,
            top_mm=0.0,
            floor_mm=-(thickness_mm + INTO_SPOILBOARD_MM),
            region=face.trim,
            tabs=outline.tabs,
            tab_mm=outline.tab_mm,
            tab_height_mm=outline.tab_height_mm + INTO_SPOILBOARD_MM if outline.tabs else 0.0,
        ),
    )
