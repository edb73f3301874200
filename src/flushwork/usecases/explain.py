"""What a finding means."""

from __future__ import annotations

from flushwork.checks.catalogue import CatalogueEntry, catalogue, nearest


def explain(code: str) -> CatalogueEntry | None:
    """Return the cause, the sum, the remedy and the source of a code; None where there is none."""
    return catalogue().get(code)


__all__ = ["CatalogueEntry", "catalogue", "explain", "nearest"]
