"""How far a ratio may be off, by how finely a vessel's mark is read.

The program reads a vessel to half a mark and a scale to a whole display step.  This prints, for a
5:1 resin in a 12 cm3 syringe marked in 0.2 cm3, what half and whole marks would say, and the least
batch of each inside 5 %.

Run: python design/reading_error.py
"""

from __future__ import annotations

import math

from flushwork.resin.cup.tool_readings import ratio_interval

MARK_CM3, CAPACITY_CM3, PARTS, TOLERANCE = 0.2, 12.0, 5.0, 0.05


def worst(batch_cm3: float, share_of_mark: float) -> float:
    """Return the worst relative error of the hardener in a batch."""
    hardener = batch_cm3 / (PARTS + 1.0)
    resin = batch_cm3 - hardener
    error = share_of_mark * MARK_CM3
    fills = [math.ceil(amount / CAPACITY_CM3 - 1e-9) for amount in (resin, hardener)]
    return ratio_interval(resin, hardener, fills[0] * error, fills[1] * error).worst


def least(share_of_mark: float) -> float:
    """Return the least batch on the marks whose error stays inside the tolerance."""
    marks = 1
    while worst(marks * MARK_CM3 * (PARTS + 1.0), share_of_mark) > TOLERANCE:
        marks += 1
    return marks * MARK_CM3 * (PARTS + 1.0)


if __name__ == "__main__":
    print("batch, cm3   half a mark   whole mark")
    for batch in (6.0, 12.0, 18.0, 30.0, 60.0):
        print(f"{batch:10.1f}   {worst(batch, 0.5):11.1%}   {worst(batch, 1.0):10.1%}")
    print(f"least batch  {least(0.5):7.1f} cm3   {least(1.0):6.1f} cm3")
