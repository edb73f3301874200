"""The pages to look things up in: colour legend, holes, thickness table, the job as understood."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.art.drawn import DrawnFace
from flushwork.fit.reach import Fit
from flushwork.job.records import Edge, Holes, Inlay, Job, Manner, Mix, Pocket
from flushwork.process.hanger_slots import HangerSlot, hanger_slots
from flushwork.process.shaped_edges import edge_bit
from flushwork.process.stages import Plan
from flushwork.strata.surfaces import ThicknessRow
from flushwork.views.book_records import (
    Fact,
    HoleGroupView,
    LegendInlay,
    LegendMix,
    SettingGroup,
    TableView,
)
from flushwork.views.context import ViewContext
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.figures import (
    NO_BREAK,
    PLUS_MINUS,
    Lengths,
    clean,
    counted,
    joined,
    percent,
    short,
)


def legend(
    context: ViewContext, art: FaceArt, letters: Mapping[str, str], lengths: Lengths
) -> tuple[LegendMix, ...]:
    """Return the mixes on a face with the inlays each fills, in the order of their letters."""
    by_mix: dict[str, list[Inlay]] = {}
    for each in art.inlays:
        by_mix.setdefault(each.inlay.mix.name, []).append(each.inlay)
    mixes = {inlay.mix.name: inlay.mix for inlays in by_mix.values() for inlay in inlays}
    order = list(letters)
    return tuple(
        LegendMix(
            letter=letters[name],
            name=clean(name),
            colour=context.colours.get(name, mixes[name].colour),
            recipe=recipe(mixes[name]),
            inlays=tuple(legend_inlay(context, inlay, letters, lengths) for inlay in by_mix[name]),
        )
        for name in sorted(by_mix, key=order.index)
    )


def recipe(mix: Mix) -> str:
    """Return a mix in words."""
    basis = "by weight" if mix.by_weight else "by volume"
    ratio = f"{short(mix.ratio_resin, 2)}:{short(mix.ratio_hardener, 2)} {basis}"
    parts = [f"{clean(mix.resin.name)} {ratio}"]
    parts += [f"{clean(part.pigment.name)} {percent(part.share)}" for part in mix.pigments]
    if mix.thinner is not None and mix.thinner_share > 0.0:
        parts.append(f"{clean(mix.thinner.name)} {percent(mix.thinner_share)} by volume")
    return ", ".join(parts)


def legend_inlay(
    context: ViewContext, inlay: Inlay, letters: Mapping[str, str], lengths: Lengths
) -> LegendInlay:
    """Return one inlay in words: how deep, how it is filled, which bits cut it."""
    manner = str(inlay.manner)
    if inlay.manner is Manner.CAPPED and inlay.cap is not None:
        letter = letters.get(inlay.cap.name, "")
        manner = (
            f"scraped, capped {lengths.say(inlay.cap_mm)} with {letter} {clean(inlay.cap.name)}"
        )
    if inlay.second_pass_of:
        manner += f"; second pass into {joined([clean(name) for name in inlay.second_pass_of])}"
    if inlay.v_bit:
        manner += "; engraved"
    most = "at most " if inlay.v_bit else ""
    return LegendInlay(
        name=clean(inlay.name),
        depth=f"{most}{lengths.say(inlay.depth_mm)} below the {inlay.measured_from}",
        manner=manner,
        bits=_bits(context.build.fits, inlay),
    )


def _bits(fits: tuple[Fit, ...], thing: Inlay | Pocket) -> str:
    for fit in fits:
        if fit.drawn.thing.name == thing.name and fit.drawn.thing.face == thing.face:
            words = [f"{clean(bit.name)}" for bit in fit.bits]
            return joined(words) if words else "no bit on the shelf can"
    return ""


def hole_lines(context: ViewContext, face: DrawnFace, lengths: Lengths) -> tuple[str, ...]:
    """Return one line for each hole pattern and each pocket left empty of a face."""
    holes = tuple(
        f"{clean(pattern.holes.name)}: {_hole_words(pattern.holes, len(pattern.places), lengths)}"
        for pattern in face.holes
    )
    pockets = (_pocket_words(context, drawn.pocket, lengths) for drawn in face.pockets)
    edges = (_edge_words(context.build.job, edge, lengths) for edge in face.edges)
    hangers = (_hanger_words(slot, lengths) for slot in hanger_slots(context.build.job, face))
    return (*holes, *pockets, *edges, *hangers)


def _hanger_words(slot: HangerSlot, lengths: Lengths) -> str:
    hanger, bit = slot.hanger, slot.bit
    return (
        f"{clean(hanger.name)}: slot of {lengths.say(hanger.slot_mm)}, "
        f"{lengths.say(hanger.depth_mm)} deep, {clean(bit.name)}; beneath a lip of "
        f"{lengths.say(slot.lip_mm)} it is undercut {lengths.say(bit.diameter_mm)} wide and "
        f"{lengths.say(bit.head_mm)} high, which is not seen from above"
    )


def _edge_words(job: Job, edge: Edge, lengths: Lengths) -> str:
    bit = edge_bit(job, edge)
    by = clean(bit.name) if bit is not None else "no bit on the shelf can"
    size = lengths.say(edge.size_mm)
    size += f", {lengths.say(edge.depth_mm)} deep" if edge.depth_mm else ""
    return f"{clean(edge.name)}: {edge.shape} of {size} along the {clean(edge.along)}, {by}"


def _pocket_words(context: ViewContext, pocket: Pocket, lengths: Lengths) -> str:
    most = "at most " if pocket.v_bit else ""
    by = _bits(context.build.fits, pocket)
    return f"{clean(pocket.name)}: left empty, {most}{lengths.say(pocket.depth_mm)} deep, {by}"


def hole_groups(context: ViewContext, lengths: Lengths) -> tuple[HoleGroupView, ...]:
    """Return every hole of every pattern, x and y from the blank's lower left corner."""
    return tuple(
        HoleGroupView(
            heading=f"{clean(pattern.holes.name)}, {face.name} face",
            detail=_hole_words(pattern.holes, len(pattern.places), lengths),
            rows=tuple(
                (str(hole.number), lengths.cell(hole.x_mm), lengths.cell(hole.y_mm))
                for hole in pattern.places
            ),
        )
        for face in context.build.faces
        for pattern in face.holes
    )


def _hole_words(holes: Holes, count: int, lengths: Lengths) -> str:
    depth = "through" if holes.through else f"{lengths.say(holes.depth_mm)} deep"
    bottom = ", flat bottom" if holes.flat_bottom and not holes.through else ""
    return f"{counted(count, 'hole')}, {lengths.say(holes.diameter_mm, 3)} wide, {depth}{bottom}"


def thickness_table(entries: tuple[ThicknessRow, ...], plan: Plan, lengths: Lengths) -> TableView:
    """Return where each face stands after each stage that lowers it."""
    titles = {stage.number: clean(stage.title) for stage in plan.stages}
    rows = tuple(
        (
            str(entry.stage),
            titles.get(entry.stage, "before the first stage"),
            entry.face,
            entry.why,
            lengths.cell(entry.face_mm, 3),
            lengths.cell(entry.thickness_mm, 3),
        )
        for entry in entries
    )
    head = ("stage", "after", "face", "why", f"face at, {lengths.head}", f"blank, {lengths.head}")
    return TableView(head, rows, wide=(1, 2, 3))


def settings(job: Job, lengths: Lengths) -> tuple[SettingGroup, ...]:
    """Return the job as it was understood, defaults included."""
    blank, allow, outline = job.blank, job.allowances, job.outline
    machine, air = job.shop.machine, job.shop.air
    trim = "none" if outline.artwork is None else counted(outline.tabs, "tab")
    return (
        SettingGroup(
            "Blank",
            (
                Fact("wood", clean(blank.wood.name)),
                Fact("as sawn", lengths.size(blank.length_mm, blank.width_mm, blank.thickness_mm)),
                Fact("grain", "along the length" if blank.grain_along_x else "along the width"),
                Fact("sawn", "flat" if blank.flat_sawn else "quarter"),
                Fact("moisture", percent(blank.moisture)),
                Fact("flipped", "top to bottom" if blank.turn_about_x else "side to side"),
            ),
        ),
        SettingGroup(
            "Allowances",
            (
                Fact("surfacing, each face", lengths.say(allow.surface_mm)),
                Fact("milled flush, each time", lengths.say(allow.mill_flush_mm)),
                Fact("left proud for sanding", lengths.say(allow.left_proud_mm)),
                Fact("sand, first time", lengths.say(allow.sand_mm)),
                Fact("sand, each later time", lengths.say(allow.light_sand_mm)),
                Fact("overfill", lengths.say(allow.overfill_mm)),
                Fact("overspill over the edge", lengths.say(allow.overspill_mm)),
                Fact("least wood between faces", lengths.say(allow.wood_between_mm)),
            ),
        ),
        SettingGroup(
            "Outline and holding",
            (
                Fact("trim line", trim),
                Fact("hidden border", lengths.say(outline.hidden_mm)),
                Fact("held by", clean(job.holding.name)),
                Fact("located by", clean(job.holding.locates_by)),
                Fact("comes back to", f"{PLUS_MINUS}{lengths.say(job.holding.repeat_mm)}"),
            ),
        ),
        SettingGroup(
            "Seal and finish",
            (
                Fact("sealer", clean(job.sealer.name) if job.sealer is not None else "none"),
                Fact("finish", _finish(job)),
            ),
        ),
        SettingGroup(
            "Shop",
            (
                Fact("machine", clean(machine.name)),
                Fact(
                    "travel",
                    lengths.size(machine.travel_x_mm, machine.travel_y_mm, machine.travel_z_mm),
                ),
                Fact(
                    "spindle",
                    f"{short(machine.spindle_min_rpm, 0)} to "
                    f"{short(machine.spindle_max_rpm, 0)}{NO_BREAK}rpm",
                ),
                Fact("air by day", f"{short(air.day_c, 1)}{NO_BREAK}\N{DEGREE SIGN}C"),
                Fact("air by night", f"{short(air.night_c, 1)}{NO_BREAK}\N{DEGREE SIGN}C"),
                Fact("humidity", percent(air.humidity)),
                Fact("each cup keeps", f"{short(job.shop.cup_loss_g, 2)}{NO_BREAK}g"),
            ),
        ),
        SettingGroup(
            "Replay",
            (Fact("cell", lengths.say(job.cell_mm) if job.cell_mm else "as fine as needed"),),
        ),
    )


def _finish(job: Job) -> str:
    if job.finish is None:
        return "none"
    when = "before" if job.finish.holes_first else "after"
    coats = counted(job.finish.coats, "coat")
    return f"{clean(job.finish.finish.name)}, {coats}, holes drilled {when}"
