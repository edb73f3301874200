"""Where letters go: on straight lines under each other, on a circle, on a line that slants.

A letter is only moved and turned, never bent, so that it keeps its shape.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from flushwork.art.faults import refusal
from flushwork.art.placement import Affine, turning
from flushwork.core.findings import Source
from flushwork.job.keys.placing import TextLine
from flushwork.job.records import TextArt

_SHIFT: Final = {"left": 0.0, "centre": 0.5, "right": 1.0}


@dataclass(frozen=True, slots=True)
class Baseline:
    """One line of a text: how far it advances and how far it lies below the first, in font units.

    ``scale`` is a font unit in mm.
    """

    art: TextArt
    scale: float
    advance: float
    down: float

    def letter(self, x: float, y: float, middle: float) -> Affine:
        """Return the map of a letter drawn in mm about its own zero.

        ``x`` and ``y`` are where its zero stands on a straight line and ``middle`` the middle of
        its advance, in font units from the line's start.  On a circle that middle lies as far
        along it as on the straight line, and the letter is turned about it.
        """
        arc, scale = self.art.on_arc, self.scale
        if arc is None:
            straight = Affine(e=(x - self._shift) * scale, f=(y - self.down) * scale)
            line = self.art.on_line
            return straight if line is None else self._slanting(line).after(straight)
        way = 1.0 if arc.inward else -1.0
        radius = self._radius_mm
        angle = arc.angle_rad + way * (middle - self._shift) * scale / radius
        standing = Affine(e=(x - middle) * scale, f=y * scale)
        turned = turning(angle + way * math.pi / 2.0).after(standing)
        return turned.moved(radius * math.cos(angle), radius * math.sin(angle))

    def check(self, source: Source) -> None:
        """Raise JobRefusedError where the line is longer than what it stands on."""
        arc, line = self.art.on_arc, self.art.on_line
        if arc is not None:
            room_mm, what = math.tau * self._radius_mm, "once round its circle"
        elif line is not None:
            room_mm = math.hypot(line.end_x_mm - line.start_x_mm, line.end_y_mm - line.start_y_mm)
            what = "its line"
        else:
            return
        long_mm = self.advance * self.scale
        if long_mm > room_mm:
            raise refusal(
                source,
                "text-too-long",
                f"a line of the words is {long_mm:.1f} mm long, and {what} is "
                f"{max(0.0, room_mm):.1f} mm",
                "write a smaller `size`, fewer words, or give the words more room",
            )

    @property
    def _shift(self) -> float:
        return _SHIFT[self.art.align] * self.advance

    @property
    def _radius_mm(self) -> float:
        """The radius a line stands on: those below the first lie on the side of its feet."""
        arc = self.art.on_arc
        way = 1.0 if arc is not None and arc.inward else -1.0
        return (arc.diameter_mm / 2.0 if arc is not None else 0.0) + way * self.down * self.scale

    def _slanting(self, line: TextLine) -> Affine:
        """Return the map that lays the words' zero on the start, middle or end of their line."""
        share = _SHIFT[self.art.align]
        run, rise = line.end_x_mm - line.start_x_mm, line.end_y_mm - line.start_y_mm
        return turning(math.atan2(rise, run)).moved(
            line.start_x_mm + share * run, line.start_y_mm + share * rise
        )
