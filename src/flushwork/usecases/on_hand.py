"""What the shop has on hand, beside what a build takes of it, and what can harm in it."""

from __future__ import annotations

from flushwork.built import Build
from flushwork.checks.rules.work.stock_rules import LEAST_G, Need, Thing, needs, told
from flushwork.shelf.known_hazards import Item, hazards_of


def taken(made: Build) -> dict[Thing, Need]:
    """Return what a build takes of resins, pigments, bits and wood, by kind and name."""
    return needs(made.job, made.pours, made.gcode_files)


__all__ = ["LEAST_G", "Item", "Need", "Thing", "hazards_of", "taken", "told"]
