"""Fixes by what fills an inlay, and how: the mix, its cap, its bubbles, its sealer."""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.checks.fixes.fix import Edit, Fix, Idea, Question, fix, path_to, up
from flushwork.job.records import Manner, MeasuredFrom
from flushwork.process.bright_lines import bright_lines
from flushwork.process.exposure import CHASED, WARMED
from flushwork.process.rounds import planes_of
from flushwork.resin.recess import LineProposal
from flushwork.shelf.known_hazards import hazards_of

DEEPER_MM = (0.25, 0.5, 1.0)
THINNER = (0.02, 0.04, 0.08)
MOST_THINNER = 0.25


def bright(asked: Question) -> Iterator[Fix]:
    """Yield the line scraped flush and capped as it is.

    Then each way that holds the odds wanted.
    """
    inlay = asked.inlay
    if inlay is None:
        return
    edits = list(_capped(asked))
    if edits:
        yield Fix(tuple(edits))
    planes = planes_of(asked.job.allowances, asked.faces)
    lines = bright_lines(asked.job, asked.faces, planes)
    for line in (item for item in lines if item.inlay.name == inlay.name):
        for way in line.proposals:
            yield Fix((*edits, *_way(asked, way, line.sanding.mean_mm)), 1)


def _capped(asked: Question) -> Iterator[Edit]:
    inlay = asked.inlay
    if inlay is None:
        return
    if inlay.manner is not Manner.CAPPED:
        yield Edit(path_to(asked.job, inlay, "how"), Manner.CAPPED.value)
    clear = next((mix for mix in asked.job.mixes if mix.clear), None)
    if clear is not None and (inlay.cap is None or not inlay.cap.clear):
        yield Edit(path_to(asked.job, inlay, "cap"), clear.name)


def _way(asked: Question, way: LineProposal, sanded_mm: float) -> Iterator[Edit]:
    inlay = asked.inlay
    if inlay is None:
        return
    yield Edit(path_to(asked.job, inlay, "measured from"), MeasuredFrom.FINISHED.value)
    yield Edit(path_to(asked.job, inlay, "depth"), up(way.depth_mm - sanded_mm))
    mix = inlay.mix
    thinner = mix.thinner or next(iter(asked.job.shop.thinners), None)
    if way.thinner_share and thinner is not None:
        yield Edit(("mixes", mix.name, "thinner", "name"), thinner.name)
        yield Edit(("mixes", mix.name, "thinner", "share"), f"{100 * way.thinner_share:g} %")
    elif mix.thinner is not None:
        yield Edit(("mixes", mix.name, "thinner"), None)


def capped_deeper(asked: Question) -> Iterator[Fix]:
    """Yield more depth under the cap, more thinner, then a lighter sanding."""
    inlay = asked.inlay
    if inlay is None:
        return
    yield from bright(asked)
    for step in DEEPER_MM:
        yield fix(path_to(asked.job, inlay, "depth"), up(inlay.depth_mm + step))
    for more in THINNER:
        share = inlay.mix.thinner_share + more
        if inlay.mix.thinner is not None and share <= MOST_THINNER:
            yield fix(("mixes", inlay.mix.name, "thinner", "share"), f"{100 * share:g} %", 1)


def scraped(asked: Question) -> Iterator[Fix]:
    """Yield the two scraped flush, then one of them after the other."""
    edits = [
        Edit(path_to(asked.job, inlay, "how"), Manner.SCRAPED.value)
        for inlay in asked.inlays
        if inlay.manner is Manner.OVERFILLED
    ]
    if edits:
        yield Fix(tuple(edits))
    yield from one_after_the_other(asked)


def nothing_spilt(asked: Question) -> Iterator[Fix]:
    """Yield the walls sealed again, the inlay scraped flush, then a stain that is sanded off."""
    if asked.inlay is not None:
        if not asked.inlay.sealed:
            yield fix(path_to(asked.job, asked.inlay, "sealed"), None)
        yield fix(path_to(asked.job, asked.inlay, "how"), Manner.SCRAPED.value)
    told = asked.finding.measure
    if told is not None and told.limit is not None:
        lacks_mm = told.value - told.limit
        sand_mm = up(asked.job.allowances.light_sand_mm + lacks_mm)
        yield fix(("allowances", "light sand"), sand_mm, 1)


def one_after_the_other(asked: Question) -> Iterator[Fix]:
    """Yield each of two neighbours cut only once the other is filled and milled flush."""
    for inlay in asked.inlays:
        for other in asked.inlays:
            if other is not inlay and not inlay.after and inlay.name not in other.after:
                yield fix(path_to(asked.job, inlay, "after"), f"[{other.name}]", 1)


def another_mix(asked: Question) -> Iterator[Fix]:
    """Yield the other coloured mixes that the job has."""
    if asked.inlay is not None:
        for mix in asked.job.mixes:
            if mix.name != asked.inlay.mix.name and not mix.clear:
                yield fix(path_to(asked.job, asked.inlay, "fill"), mix.name, 2)


def the_named_mix(asked: Question) -> Iterator[Fix]:
    """Yield the mix that the finding itself names."""
    if asked.inlay is not None:
        for mix in asked.mixes:
            yield fix(path_to(asked.job, asked.inlay, "fill"), mix.name)


def clear_cap(asked: Question) -> Iterator[Fix]:
    """Yield a cap of each clear mix, or none."""
    if asked.inlay is not None:
        for mix in asked.job.mixes:
            if mix.clear:
                yield fix(path_to(asked.job, asked.inlay, "cap"), mix.name)
        yield fix(path_to(asked.job, asked.inlay, "cap"), None)


def sealed(asked: Question) -> Iterator[Fix]:
    """Yield the walls sealed, then each sealer of the shop."""
    if asked.inlay is not None and not asked.inlay.sealed and asked.job.sealer is not None:
        yield fix(path_to(asked.job, asked.inlay, "sealed"), None)
    for sealer in asked.job.shop.sealers:
        if asked.job.sealer is None or sealer.name != asked.job.sealer.name:
            edits = [Edit(("sealer",), sealer.name)]
            if asked.inlay is not None and not asked.inlay.sealed:
                edits.append(Edit(path_to(asked.job, asked.inlay, "sealed"), None))
            yield Fix(tuple(edits))


def no_flame(asked: Question) -> Iterator[Fix]:
    """Yield a pick instead of heat, then no thinner where nothing else beside it burns."""
    job = asked.job
    for mix in asked.mixes:
        edits: list[Edit] = []
        if mix.bubbles in CHASED:
            edits.append(Edit(("mixes", mix.name, "bubbles"), "pick"))
        if mix.heated_by in WARMED:
            edits.append(Edit(("mixes", mix.name, "heated by"), "nothing"))
        if edits:
            yield Fix(tuple(edits))
        beside = job.sealer is not None and hazards_of(job.sealer).burns
        if mix.thinner is not None and not beside:
            yield fix(("mixes", mix.name, "thinner"), None, 1)


def unthinned(asked: Question) -> Iterator[Fix]:
    """Yield the mix of the inlay without its thinner."""
    if asked.inlay is not None:
        yield fix(("mixes", asked.inlay.mix.name, "thinner"), None, 1)


def coating_resin(asked: Question) -> Iterator[Fix]:
    """Yield the mix of the inlay with each resin made for thin layers."""
    if asked.inlay is not None:
        for resin in asked.job.shop.resins:
            if resin.kind == "coating":
                yield fix(("mixes", asked.inlay.mix.name, "resin"), resin.name, 2)


def fewer_bubbles(asked: Question) -> Iterator[Fix]:
    """Yield a vacuum on the cup, then less depth."""
    inlay = asked.inlay
    if inlay is not None:
        yield fix(("mixes", inlay.mix.name, "bubbles"), "vacuum", 1)


def own_ratio(asked: Question) -> Iterator[Fix]:
    """Yield the resin's own ratio."""
    for mix in asked.mixes:
        yield fix(("mixes", mix.name, "ratio"), None)


def advised_pigment(asked: Question) -> Iterator[Fix]:
    """Yield every pigment of the mix within its advised share."""
    for mix in asked.mixes:
        for number, each in enumerate(mix.pigments, start=1):
            if each.share > each.pigment.share_high:
                path = ("mixes", mix.name, "pigments")
                share = f"{100 * each.pigment.share_high:g} %"
                yield fix((*path, str(number), "share"), share)
                yield fix((*path, "share"), share)


IDEAS: dict[str, Idea] = {
    "bright-line-uncapped": bright,
    "bright-line-dull": bright,
    "cap-too-thin": capped_deeper,
    "proud-fills-meet": scraped,
    "wood-sliver-thin": one_after_the_other,
    "low-contrast": another_mix,
    "fill-without-colour": another_mix,
    "fill-named-otherwise": the_named_mix,
    "same-art-other-fill": the_named_mix,
    "cap-not-clear": clear_cap,
    "dust-before-cap": clear_cap,
    "fill-before-seal": sealed,
    "overspill-on-bare-wood": nothing_spilt,
    "bleed-risk": sealed,
    "flame-near-solvent": no_flame,
    "heat-near-dust": no_flame,
    "heat-with-care": no_flame,
    "thinned-overfill": unthinned,
    "casting-in-thin-slot": coating_resin,
    "bubbles-stay": fewer_bubbles,
    "ratio-off": own_ratio,
    "pigment-too-much": advised_pigment,
}
