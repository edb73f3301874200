"""What was measured on the blank between its mountings: the records."""

from __future__ import annotations

from dataclasses import dataclass

from flushwork.findings import Source


@dataclass(frozen=True, slots=True)
class MoistureReading:
    """The wood's moisture when an inlay is cut: read itself, or the humidity it has settled in."""

    cutting: str
    moisture: float | None
    humidity: float | None
    source: Source


@dataclass(frozen=True, slots=True)
class WitnessMark:
    """A mark cut at a place of the blank and how far off it now reads, mm."""

    x_mm: float
    y_mm: float
    off_x_mm: float
    off_y_mm: float
    source: Source
