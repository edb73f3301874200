"""The job as Flushwork understood it: one canonical text with every default visible."""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.job.brought_records import KEY as BROUGHT
from flushwork.job.records import Job, Mix
from flushwork.job.resolved_faces import artwork_lines, face_lines
from flushwork.job.resolved_lines import Lines, measure, pair, truth, words
from flushwork.shelf.stock import CM3, GRAMS
from flushwork.units import Quantity, Ratio, number_text, ratio_text


def resolved_text(job: Job) -> str:
    """Return the job as YAML that reads back to the same job.

    A line the user's own file does not hold ends in ``# default``; what is chosen later (cutters,
    the replay's cell) stands as a comment.  The shelf records behind it follow, each with its
    source.
    """
    out = Lines(job.given)
    out.lines.append(
        f"# {job.file} as Flushwork understands it; `default` marks what it does not say."
    )
    _heading(out, job)
    _days(out, job)
    _blank(out, job)
    _allowances(out, job)
    _bright(out, job)
    _trim(out, job)
    _coats(out, job)
    _mixes(out, job.mixes)
    for face in job.faces:
        face_lines(out, face)
    _loose(out, job)
    _brought(out, job)
    _waste(out, job)
    _measured(out, job)
    if job.accepted:
        out.group(("accept",))
    for index, each in enumerate(job.accepted):
        out.add(("accept", index, "finding"), words(each.code))
        out.item(("accept", index, "finding"))
        if each.subject:
            out.add(("accept", index, "subject"), words(each.subject))
        out.add(("accept", index, "because"), words(each.because))
    out.lines.append("# The shelf behind it:")
    out.lines.extend(f"# {line}" for line in dict.fromkeys(_shelf(job)))
    if job.shop.on_hand:
        out.lines.append("# On hand:")
        out.lines.extend(f"# {line}" for line in _on_hand(job))
    return "\n".join(out.lines) + "\n"


def _heading(out: Lines, job: Job) -> None:
    out.add(("flushwork",), "1")
    out.add(("title",), words(job.title))
    if job.shop_file:
        out.add(("shop",), words(job.shop_file))
    else:
        out.note(("shop",), "shop: the packaged starter shop  (default)")
    out.add(("holding",), words(job.holding.name))
    if job.datum:
        out.add(("datum",), words(job.datum))
    else:
        out.note(("datum",), "datum: from the holding  (default)")
    out.add(("pieces",), str(job.pieces))
    out.add(("test pieces",), str(job.test_pieces))
    if job.groups is None:
        out.note(("groups",), "groups: as finishes soonest  (default)")
    else:
        out.add(("groups",), str(job.groups))
    if job.cell_mm is None:
        out.note(("cell",), "cell: chosen from the narrowest work  (default)")
    else:
        out.add(("cell",), measure(job.cell_mm))


def _days(out: Lines, job: Job) -> None:
    if job.begin is not None:
        out.add(("begin",), job.begin.isoformat())
    if job.days_off:
        out.add(("days off",), f"[{', '.join(day.isoformat() for day in job.days_off)}]")
    if job.wanted_by is not None:
        out.add(("wanted by",), job.wanted_by.isoformat())
    out.add(("test piece ahead",), words(job.test_ahead.value))
    if job.pins:
        out.group(("order",))
    for index, pin in enumerate(job.pins):
        do, key, other = (
            (pin.then, "after", pin.first) if pin.only_after else (pin.first, "before", pin.then)
        )
        out.add(("order", index, "do"), words(do))
        out.item(("order", index, "do"))
        out.add(("order", index, key), words(other))


def _blank(out: Lines, job: Job) -> None:
    blank = job.blank
    out.group(("blank",))
    out.add(("blank", "timber"), words(blank.timber.name))
    out.add(("blank", "length"), measure(blank.length_mm))
    out.add(("blank", "width"), measure(blank.width_mm))
    out.add(("blank", "thickness"), measure(blank.thickness_mm))
    grain = "along the length" if blank.grain_along_x else "along the width"
    out.add(("blank", "grain"), grain)
    out.add(("blank", "sawn"), "flat" if blank.flat_sawn else "quarter")
    out.add(("blank", "moisture"), measure(blank.moisture, Quantity.SHARE))
    turned = "its length" if blank.turn_about_x else "its width"
    out.add(("blank", "turned over about"), turned)
    if blank.flatness_mm is not None:
        out.add(("blank", "flatness"), measure(blank.flatness_mm))


def _allowances(out: Lines, job: Job) -> None:
    given = job.allowances
    out.group(("allowances",))
    for key, value_mm in (
        ("flatten", given.flatten_mm),
        ("level", given.level_mm),
        ("skin", given.skin_mm),
        ("sand", given.sand_mm),
        ("light sand", given.light_sand_mm),
        ("overfill", given.overfill_mm),
        ("rim", given.rim_mm),
        ("least web", given.web_mm),
        ("sanding spread", given.sand_spread_mm),
    ):
        out.add(("allowances", key), measure(value_mm))


def _bright(out: Lines, job: Job) -> None:
    out.group(("bright lines",))
    out.add(("bright lines", "share"), measure(job.bright_share, Quantity.SHARE))
    out.add(("bright lines", "odds"), measure(job.bright_odds, Quantity.SHARE))


def _trim(out: Lines, job: Job) -> None:
    outline = job.outline
    if outline.artwork is None:
        out.note(("trim line",), "trim line: none, the blank stays as it is  (default)")
        return
    out.group(("trim line",))
    artwork_lines(out, outline.artwork, ("trim line",))
    out.add(("trim line", "hidden border"), measure(outline.hidden_mm))
    out.add(("trim line", "tabs"), str(outline.tabs))
    out.add(("trim line", "tab length"), measure(outline.tab_mm))
    out.add(("trim line", "tab height"), measure(outline.tab_height_mm))
    if outline.cutter is not None:
        out.add(("trim line", "cutter"), words(outline.cutter.name))


def _coats(out: Lines, job: Job) -> None:
    out.add(("sealer",), words(job.sealer.name) if job.sealer else "none")
    if job.finish is None:
        out.add(("finish",), "none")
        return
    out.group(("finish",))
    out.add(("finish", "name"), words(job.finish.finish.name))
    out.add(("finish", "coats"), str(job.finish.coats))
    out.add(("finish", "holes"), "before" if job.finish.holes_first else "after")


def _mixes(out: Lines, mixes: tuple[Mix, ...]) -> None:
    if mixes:
        out.group(("mixes",))
    for mix in mixes:
        path = ("mixes", mix.name)
        out.group(path)
        out.add((*path, "resin"), words(mix.resin.name))
        basis = Ratio(mix.ratio_resin, mix.ratio_hardener, "weight" if mix.by_weight else "volume")
        out.add((*path, "ratio"), ratio_text(basis))
        if mix.thinner is not None:
            out.group((*path, "thinner"))
            out.add((*path, "thinner", "name"), words(mix.thinner.name))
            out.add((*path, "thinner", "share"), measure(mix.thinner_share, Quantity.SHARE))
        if mix.pigments:
            out.group((*path, "pigments"))
        for index, each in enumerate(mix.pigments):
            item = (*path, "pigments", index)
            out.add((*item, "name"), words(each.pigment.name))
            out.item((*item, "name"))
            out.add((*item, "share"), measure(each.share, Quantity.SHARE))
        if mix.swatch is None:
            out.add((*path, "colour"), words(mix.colour))
            out.add((*path, "opacity"), f"{number_text(100 * mix.opacity, 9)} %")
        else:
            out.group((*path, "swatch"))
            out.add((*path, "swatch", "over black"), words(mix.swatch.over_black))
            out.add((*path, "swatch", "over white"), words(mix.swatch.over_white))
            out.add((*path, "swatch", "thickness"), measure(mix.swatch.thickness_mm))
            surface = "glossy" if mix.swatch.glossy else "sanded"
            out.add((*path, "swatch", "surface"), surface)
        out.add((*path, "bubbles"), mix.bubbles)
        out.add((*path, "heated by"), mix.heated_by)
        out.add((*path, "pinning"), measure(mix.pinning, Quantity.SHARE))


def _loose(out: Lines, job: Job) -> None:
    if job.loose_parts:
        out.group(("loose parts",))
    for index, part in enumerate(job.loose_parts):
        item = ("loose parts", index)
        out.add((*item, "name"), words(part.name))
        out.item((*item, "name"))
        out.add((*item, "timber"), words(part.timber.name))
        out.add((*item, "match"), words(part.match.name))
        out.add((*item, "count"), str(part.count))


def _brought(out: Lines, job: Job) -> None:
    if job.brought:
        out.group((BROUGHT,))
    for index, each in enumerate(job.brought):
        item = (BROUGHT, index)
        out.add((*item, "step"), words(each.step))
        out.item((*item, "step"))
        out.group((*item, "files"))
        for place, file in enumerate(each.files):
            here = (*item, "files", place)
            out.add((*here, "file"), words(file.name))
            out.item((*here, "file"))
            out.add((*here, "cutter"), words(file.cutter.name))
        stated = out.stated((*item, "zero")) or out.stated((*item, "zero from"))
        out.add((*item, "zero"), pair(*each.zero_mm), stated=stated)
        out.add((*item, "height zero"), each.height_zero.value)
        units = {file.inch for file in each.files} - {None}
        if units:
            out.add((*item, "units"), "inch" if True in units else "metric")


def _waste(out: Lines, job: Job) -> None:
    locating = job.locating
    if locating is not None:
        out.group(("locating",))
        out.add(("locating", "by"), locating.by)
        out.add(("locating", "diameter"), measure(locating.diameter_mm))
        out.add(("locating", "into spoilboard"), measure(locating.board_mm))
        deep = measure(locating.blank_mm) if locating.blank_mm > 0.0 else "through"
        out.add(("locating", "into blank"), deep)
        out.add(("locating", "play"), measure(locating.play_mm))
        if locating.cutter:
            out.add(("locating", "cutter"), words(locating.cutter))
    own = job.keep_outs[len(job.holding.keep_outs) :]
    if own:
        out.group(("keep clear of",))
    for index, keep in enumerate(own):
        item = ("keep clear of", index)
        out.add((*item, "name"), words(keep.name))
        out.item((*item, "name"))
        out.add((*item, "size"), pair(keep.wide_mm, keep.deep_mm))
        out.add((*item, "at"), pair(keep.x_mm, keep.y_mm))
        out.add((*item, "from"), keep.anchor)
        out.add((*item, "height"), measure(keep.height_mm))
        out.add((*item, "face"), keep.face or "both")
        if keep.mountings:
            out.add((*item, "mountings"), f"[{', '.join(map(str, keep.mountings))}]")
    out.add(("cut witness marks",), truth(job.marks))
    if job.bed.pieces > 1:
        out.group(("on the bed",))
        out.add(("on the bed", "pieces"), str(job.bed.pieces))
        out.add(("on the bed", "step"), pair(job.bed.step_x_mm, job.bed.step_y_mm))


def _measured(out: Lines, job: Job) -> None:
    if job.cure_wait_s is not None:
        out.add(("cure wait",), measure(job.cure_wait_s, Quantity.TIME))
    if job.moisture_log:
        out.group(("moisture log",))
    for index, each in enumerate(job.moisture_log):
        item = ("moisture log", index)
        out.add((*item, "when cutting"), words(each.cutting))
        out.item((*item, "when cutting"))
        if each.moisture is not None:
            out.add((*item, "moisture"), measure(each.moisture, Quantity.SHARE))
        if each.humidity is not None:
            out.add((*item, "humidity"), measure(each.humidity, Quantity.SHARE))
    if job.witness_marks:
        out.group(("witness marks",))
    for index, mark in enumerate(job.witness_marks):
        place = ("witness marks", index)
        out.add((*place, "at"), pair(mark.x_mm, mark.y_mm))
        out.item((*place, "at"))
        out.add((*place, "read"), pair(mark.off_x_mm, mark.off_y_mm))


def _on_hand(job: Job) -> Iterator[str]:
    """Yield a line for everything that the shop file says is on hand."""
    units = {GRAMS: Quantity.MASS, CM3: Quantity.VOLUME}
    for each in job.shop.on_hand:
        quantity = units.get(each.unit)
        left = f"{each.amount:g}" if quantity is None else measure(each.amount, quantity)
        yield f"{each.kind.value} {each.name}: {left}"


def _shelf(job: Job) -> Iterator[str]:
    """Yield a line for every shelf record in use, with its source."""
    yield f"timber {job.blank.timber.name}: {job.blank.timber.source}"
    yield f"holding {job.holding.name}, comes back within {measure(job.holding.repeat_mm)}: " + (
        job.holding.source
    )
    for mix in job.mixes:
        yield f"resin {mix.resin.name}: {mix.resin.source}"
        if mix.thinner is not None:
            yield f"thinner {mix.thinner.name}: {mix.thinner.source}"
        for each in mix.pigments:
            yield f"pigment {each.pigment.name}: {each.pigment.source}"
    for part in job.loose_parts:
        yield f"timber {part.timber.name}: {part.timber.source}"
    if job.sealer is not None:
        yield f"sealer {job.sealer.name}: {job.sealer.source}"
    if job.finish is not None:
        yield f"finish {job.finish.finish.name}: {job.finish.finish.source}"
    for inlay in job.inlays:
        for cutter in inlay.cutters:
            yield f"cutter {cutter.name}: {cutter.source}"
