"""Quantities in words: read with exact factors, written back metric or inch."""

from flushwork.units.kinds import Quantity, UnitError, names_of
from flushwork.units.pairs import Ratio, read_clock, read_ratio, read_size
from flushwork.units.reading import read_number, read_quantity
from flushwork.units.writing import (
    System,
    down_mm,
    fraction_text,
    number_text,
    quantity_text,
    ratio_text,
    up_mm,
)

__all__ = [
    "Quantity",
    "Ratio",
    "System",
    "UnitError",
    "down_mm",
    "fraction_text",
    "names_of",
    "number_text",
    "quantity_text",
    "ratio_text",
    "read_clock",
    "read_number",
    "read_quantity",
    "read_ratio",
    "read_size",
    "up_mm",
]
