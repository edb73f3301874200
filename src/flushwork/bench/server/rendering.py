"""The parts of the page that follow from a build, rendered once for each picture and unit."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.pages import whole_page
from flushwork.bench.pages.bench_days import days_view
from flushwork.bench.server.answers import reads_of
from flushwork.bench.server.resources import templates
from flushwork.core.findings import Finding
from flushwork.core.units.kinds import OUNCE_G
from flushwork.core.units.shown import shown, shown_data, shown_markup
from flushwork.resin.pours import Pour
from flushwork.usecases.weigh import beside_g, weighable
from flushwork.views.book_records import UnitSystem
from flushwork.views.figures import clean, raised


@cached_on
def rendered_parts(snapshot: Snapshot, units: UnitSystem) -> dict[str, Any]:
    """Return the parts as HTML by name, and the pins of the findings as data."""
    context = whole_page.page_context(snapshot.made, units, coarse=snapshot.coarse)
    reads, machine = reads_of(snapshot, units), snapshot.made.job.shop.machine_reads
    head, check = whole_page.job_view(context), whole_page.check(context)
    cards = whole_page.setups(context)
    numbers = {file.file_name: at for at, file in enumerate(snapshot.made.gcode_files)}
    given = {
        "setups": cards,
        "numbers": numbers,
        "first_of": _first_of(snapshot),
        "ok_to_cut": snapshot.made.ok_to_cut and not snapshot.coarse,
        "pours": [
            {"view": view, "pieces": pour.pieces}
            for view, pour in zip(whole_page.pours(context), snapshot.made.pours, strict=True)
        ],
        "weigh": weigh_alongs(snapshot, units),
        "days": days_view(snapshot.made),
        "year": whole_page.year(context),
        "cut_list": whole_page.cut_list(context),
        "box": whole_page.box(context),
        "job": head,
        "stages": whole_page.strip(context),
        "check": check,
        "generation": snapshot.generation,
        "units": units,
        "weight": {"unit": "oz", "g": OUNCE_G} if reads.ounces else {"unit": "g", "g": 1},
    }
    names = ("head", "strip", "mixes", "check", "cuts", "pours", "days", "wood")
    return {
        "generation": snapshot.generation,
        "title": head.title,
        "coarse": snapshot.coarse,
        "parts": {
            name: shown_markup(
                templates().get_template(f"{name}.html.j2").render(given),
                machine if name == "cuts" else reads,
            )
            for name in names
        },
        "pins": [
            {
                "number": pin.view.number,
                "key": pin.key,
                "mark": pin.view.mark,
                "face": pin.face,
                "x": pin.x_mm,
                "y": pin.y_mm,
                "words": shown(pin.view.message, reads),
            }
            for group in check
            for pin in group.pins
            if pin.view.number
        ],
        "told": [
            {
                "code": finding.code,
                "mark": str(finding.severity),
                "words": shown(raised(clean(finding.message)), reads),
                "spots": [shown_data(_spot(each), reads) for each in finding.each],
            }
            for finding in snapshot.made.findings
            if finding.accepted is None and not finding.part
        ],
    }


def weigh_alongs(snapshot: Snapshot, units: UnitSystem) -> dict[int, dict[str, Any]]:
    """Return what a form to weigh along needs, by the number of each pour that has one."""
    reads = reads_of(snapshot, units)
    weight = {"unit": "oz", "g": OUNCE_G} if reads.ounces else {"unit": "g", "g": 1}
    return {
        pour.number: {**weight, "beside_g": round(beside_g(pour), 2)}
        for pour in snapshot.made.pours
        if weighable(pour)
    }


def _first_of(snapshot: Snapshot) -> dict[str, int]:
    """Return the stage that each G-code file begins, by the names of those that begin one."""
    first: dict[int, str] = {}
    for stage, file in zip(snapshot.made.cut_stages, snapshot.made.gcode_files, strict=True):
        first.setdefault(stage, file.file_name)
    return {name: stage for stage, name in first.items()}


def _spot(finding: Finding) -> dict[str, Any]:
    """Return one place of a finding, for what is tried to be held against what was before."""
    place = finding.place
    return {
        "subject": clean(finding.subject),
        "face": place.face if place else "",
        "x": round(place.x_mm, 2) if place else 0.0,
        "y": round(place.y_mm, 2) if place else 0.0,
        "value": finding.measure.value if finding.measure else None,
        "measure": _measure(finding),
    }


def _measure(finding: Finding) -> str:
    measure = finding.measure
    return clean(f"{measure.name} {measure.value:.2f} {measure.unit}") if measure else ""


def rendered_card(snapshot: Snapshot, pour: Pour, units: UnitSystem) -> str:
    """Return the measuring steps of a pour as HTML."""
    context = whole_page.page_context(snapshot.made, units, coarse=snapshot.coarse)
    card = whole_page.pours(replace(context, build=replace(context.build, pours=(pour,))))[0]
    html = templates().get_template("card.html.j2").render(pour=card)
    return shown_markup(html, reads_of(snapshot, units))
