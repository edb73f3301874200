"""What a finding means, and a finding as plain data."""

from __future__ import annotations

from typing import Any

from flushwork.checks.catalogue import CatalogueEntry, catalogue, nearest
from flushwork.core.findings import Finding
from flushwork.core.units.shown import METRIC, Units, shown


def explain(code: str) -> CatalogueEntry | None:
    """Return the cause, the sum, the remedy and the source of a code; None where there is none."""
    return catalogue().get(code)


# ---- Findings as plain data: what ``check.json`` and ``--json`` hold


def finding_data(finding: Finding, units: Units = METRIC) -> dict[str, Any]:
    """Return a finding as plain data for JSON: words in a shop's units, figures metric.

    A figure's unit stands in its key, or beside it as ``unit``.
    """
    source, place, measure = finding.source, finding.place, finding.measure
    return {
        "code": finding.code,
        "severity": finding.severity.value,
        "message": shown(finding.message, units),
        "remedy": shown(finding.remedy, units),
        **({"part": finding.part} if finding.part else {}),
        "subject": finding.subject,
        "also": list(finding.also),
        "accepted": finding.accepted,
        "source": source
        and {"file": source.file, "line": source.line, "column": source.column, "key": source.key},
        "place": place and {"face": place.face, "x_mm": place.x_mm, "y_mm": place.y_mm},
        "measure": measure
        and {
            "name": measure.name,
            "value": measure.value,
            "limit": measure.limit,
            "unit": measure.unit,
        },
    }


__all__ = ["CatalogueEntry", "catalogue", "explain", "nearest"]
