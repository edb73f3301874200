"""Quantities in words: read with exact factors, written back metric or inch."""

from flushwork.core.units.format import (
    System,
    down_mm,
    number_text,
    quantity_text,
    ratio_text,
    up_mm,
)
from flushwork.core.units.kinds import Quantity, UnitError, names_of
from flushwork.core.units.parse import (
    Ratio,
    read_clock,
    read_number,
    read_quantity,
    read_ratio,
    read_size,
)
