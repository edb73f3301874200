"""From the keys of a whole job to its frozen record."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from flushwork.job.art_records import artwork
from flushwork.job.brought import brought
from flushwork.job.face_records import Bench, face
from flushwork.job.job_keys import BlankKeys, JobKeys, PinKeys
from flushwork.job.loose_parts import loose_parts
from flushwork.job.mix_records import CLEAR, clear_mix, mix
from flushwork.job.odd_values import odd_in_job
from flushwork.job.order import check_names, check_order
from flushwork.job.reading import Reading
from flushwork.job.records import (
    Acceptance,
    Allowances,
    Bed,
    Blank,
    Face,
    FinishPlan,
    Job,
    Lead,
    Mix,
    MoistureReading,
    Outline,
    Pin,
    WitnessMark,
)
from flushwork.job.waste_records import keep_outs, locating
from flushwork.shelf.items import Holding, Locating, Sealer, Shop

NONE = "none"
COATS = 3


def _blank(keys: BlankKeys, reading: Reading, shop: Shop) -> Blank:
    return Blank(
        timber=reading.find(shop.timbers, keys.timber, "timber", ("blank", "timber")),
        length_mm=keys.length,
        width_mm=keys.width,
        thickness_mm=keys.thickness,
        grain_along_x=keys.grain == "along the length",
        flat_sawn=keys.sawn == "flat",
        moisture=keys.moisture,
        turn_about_x=keys.turned_over_about == "its length",
        source=reading.source(("blank",)),
        thickness_source=reading.source(("blank", "thickness")),
        flatness_mm=keys.flatness,
    )


def _outline(keys: JobKeys, reading: Reading, shop: Shop) -> Outline:
    trim = keys.trim_line
    source = reading.source(("trim line",))
    if trim is None:
        return Outline(
            artwork=None,
            hidden_mm=0.0,
            tabs=0,
            tab_mm=0.0,
            tab_height_mm=0.0,
            cutter=None,
            source=source,
        )
    cutter = None
    if trim.cutter is not None:
        cutter = reading.find(shop.cutters, trim.cutter, "cutter", ("trim line", "cutter"))
    return Outline(
        artwork=artwork(trim, reading, ("trim line",)),
        hidden_mm=trim.hidden_border,
        tabs=trim.tabs,
        tab_mm=trim.tab_length,
        tab_height_mm=trim.tab_height,
        cutter=cutter,
        source=source,
    )


def _sealer(keys: JobKeys, reading: Reading, shop: Shop) -> Sealer | None:
    if keys.sealer == NONE or not (shop.sealers or keys.sealer):
        return None
    if keys.sealer is None:
        return shop.sealers[0]
    return reading.find(shop.sealers, keys.sealer, "sealer", ("sealer",)) if shop.sealers else None


def _finish(keys: JobKeys, reading: Reading, shop: Shop) -> FinishPlan | None:
    if not shop.finishes or (keys.finish is not None and keys.finish.name == NONE):
        return None
    if keys.finish is None:
        return FinishPlan(finish=shop.finishes[0], coats=COATS, holes_first=True)
    return FinishPlan(
        finish=reading.find(shop.finishes, keys.finish.name, "finish", ("finish", "name")),
        coats=keys.finish.coats,
        holes_first=keys.finish.holes == "before",
    )


def _allowances(keys: JobKeys) -> Allowances:
    given = keys.allowances
    return Allowances(
        flatten_mm=given.flatten,
        level_mm=given.level,
        skin_mm=given.skin,
        sand_mm=given.sand,
        light_sand_mm=given.light_sand,
        overfill_mm=given.overfill,
        rim_mm=given.rim,
        web_mm=given.least_web,
        sand_spread_mm=given.sanding_spread,
    )


def _implied_clear(mixes: tuple[Mix, ...], reading: Reading, shop: Shop) -> Mix:
    """Return the mix that caps are poured with: the job's own clear one, or the plain resin's."""
    own = sorted((each for each in mixes if each.clear), key=lambda each: each.name != CLEAR)
    if own:
        return own[0]
    resin = mixes[0].resin if mixes else shop.resins[0]
    return clear_mix(resin, reading.source(("mixes",)))


def job_of(keys: JobKeys, reading: Reading, shop: Shop, folder: str, given: frozenset[str]) -> Job:
    """Return the job; what is wrong with its names is added to ``reading.findings``."""
    mixes = tuple(mix(name, each, reading, shop) for name, each in keys.mixes.items())
    bench = Bench(
        reading=reading,
        shop=shop,
        mixes=mixes,
        clear=_implied_clear(mixes, reading, shop),
        sealer=_sealer(keys, reading, shop),
        overfill_mm=keys.allowances.overfill,
        thickness_mm=keys.blank.thickness,
    )
    faces = (face(keys.front, "front", bench), face(keys.back, "back", bench))
    check_names(faces, reading)
    check_order(faces, reading)
    poured = {
        name for each in faces for inlay in each.inlays for name in _mixes(inlay.mix, inlay.cap)
    }
    if bench.clear.name in poured and bench.clear not in mixes:
        mixes = (*mixes, bench.clear)
    loose = loose_parts(keys.loose_parts, mixes, reading, shop)
    holding = shop.holdings[0]
    if keys.holding is not None:
        holding = reading.find(shop.holdings, keys.holding, "holding", ("holding",))
    if keys.allowances.least_web >= keys.blank.thickness:
        reading.slip(
            "value-out-of-range",
            f"least web: the blank is only {keys.blank.thickness:g} mm thick",
            "write less than the thickness; 3 mm is usual",
            ("allowances", "least web"),
        )
    made = Job(
        title=keys.title,
        file=reading.tree.file,
        folder=folder,
        pieces=keys.pieces,
        test_pieces=keys.test_pieces,
        blank=_blank(keys.blank, reading, shop),
        outline=_outline(keys, reading, shop),
        allowances=_allowances(keys),
        faces=tuple(each for each in faces if each.inlays or each.holes),
        mixes=mixes,
        sealer=bench.sealer,
        finish=_finish(keys, reading, shop),
        shop=shop,
        holding=holding,
        cell_mm=keys.cell,
        accepted=tuple(
            Acceptance(
                code=each.finding,
                subject=each.subject or "",
                because=each.because,
                source=reading.source(("accept", index)),
            )
            for index, each in enumerate(keys.accept)
        ),
        source=reading.source(()),
        given=given,
        shop_file=keys.shop or "",
        places=reading.tree.places,
        datum=keys.datum or "",
        moisture_log=_moistures(keys, faces, reading),
        witness_marks=tuple(
            WitnessMark(
                each.at[0],
                each.at[1],
                each.read[0],
                each.read[1],
                reading.source(("witness marks", index)),
            )
            for index, each in enumerate(keys.witness_marks)
        ),
        cure_wait_s=keys.cure_wait,
        begin=keys.begin,
        days_off=_days_off(keys.days_off, reading),
        wanted_by=keys.wanted_by,
        test_ahead=Lead(keys.test_piece_ahead),
        groups=keys.groups,
        bright_share=keys.bright_lines.share,
        bright_odds=keys.bright_lines.odds,
        pins=tuple(_pin(each, index, reading) for index, each in enumerate(keys.order)),
        loose_parts=loose,
        brought=brought(
            keys.cut_files_from_elsewhere,
            reading,
            shop,
            Path(folder),
            (keys.blank.length, keys.blank.width),
        ),
        locating=_locating(keys, holding, reading, shop),
        keep_outs=(*holding.keep_outs, *keep_outs(keys.keep_clear_of)),
        marks=keys.cut_witness_marks,
        bed=Bed()
        if keys.on_the_bed is None
        else Bed(keys.on_the_bed.pieces, keys.on_the_bed.step[0], keys.on_the_bed.step[1]),
    )
    return replace(made, cautions=odd_in_job(made, reading))


def _days_off(days: Sequence[dt.date], reading: Reading) -> tuple[dt.date, ...]:
    """Return the days off in order; one written twice is a slip: another day may be meant."""
    for index, day in enumerate(days):
        if day in days[:index]:
            reading.slip(
                "day-twice",
                f"{day.isoformat()} stands twice among the days off",
                "write each day once",
                ("days off", index),
            )
    return tuple(sorted(set(days)))


def _locating(keys: JobKeys, holding: Holding, reading: Reading, shop: Shop) -> Locating | None:
    """Return what the blank is located by, the job's own before the holding's."""
    found = holding.locating if keys.locating is None else locating(keys.locating)
    if found is not None and found.cutter:
        where = ("locating", "cutter") if keys.locating is not None else ("holding",)
        reading.find(shop.cutters, found.cutter, "cutter", where)
    return found


def _moistures(
    keys: JobKeys, faces: tuple[Face, ...], reading: Reading
) -> tuple[MoistureReading, ...]:
    known = [inlay for each in faces for inlay in each.inlays]
    for index, each in enumerate(keys.moisture_log):
        if known:
            path = ("moisture log", index, "when cutting")
            reading.find(known, each.when_cutting, "inlay", path)
    return tuple(
        MoistureReading(
            cutting=each.when_cutting,
            moisture=each.moisture,
            humidity=each.humidity,
            source=reading.source(("moisture log", index)),
        )
        for index, each in enumerate(keys.moisture_log)
    )


def _pin(keys: PinKeys, index: int, reading: Reading) -> Pin:
    source = reading.source(("order", index))
    if keys.after is not None:
        return Pin(first=keys.after, then=keys.do, only_after=True, source=source)
    return Pin(first=keys.do, then=keys.before or "", only_after=False, source=source)


def _mixes(fill: Mix, cap: Mix | None) -> tuple[str, ...]:
    return (fill.name, cap.name) if cap else (fill.name,)
