"""The parts of the page that follow from a build, rendered once for each picture and unit."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from flushwork.bench import views
from flushwork.bench.desk import Shown
from flushwork.bench.resources import templates
from flushwork.book.records import UnitSystem


@lru_cache(maxsize=2)
def rendered_parts(shown: Shown, units: UnitSystem) -> dict[str, Any]:
    """Return the parts as HTML by name, and the pins of the findings as data."""
    sight = views.sight_of(shown.made, units, coarse=shown.coarse)
    head, proof = views.job_view(sight), views.proof(sight)
    given = {
        "job": head,
        "stages": views.strip(sight),
        "proof": proof,
        "generation": shown.generation,
    }
    names = ("head", "strip", "proof")
    return {
        "generation": shown.generation,
        "title": head.title,
        "coarse": shown.coarse,
        "parts": {
            name: templates().get_template(f"{name}.html.j2").render(given) for name in names
        },
        "pins": [
            {
                "number": pin.view.number,
                "mark": pin.view.mark,
                "face": pin.face,
                "x": pin.x_mm,
                "y": pin.y_mm,
                "words": pin.view.message,
            }
            for group in proof
            for pin in group.pins
            if pin.view.number
        ],
    }
