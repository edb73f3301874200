"""What is asked of a G-code file: operations, gathered per setup and bit."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import ClassVar

from shapely import LineString, MultiLineString, MultiPolygon

from flushwork.art.regions import NOTHING
from flushwork.fit.cutting_force import Stock
from flushwork.job.records import FaceName, ImportedFile
from flushwork.shelf.items import Bit, Machine
from flushwork.toolpaths.moves import Program


class Work(StrEnum):
    """The kinds of cutting."""

    POCKET = "pocket"
    LINE = "line"
    ENGRAVE = "engrave"
    DRILL = "drill"
    MILL_FLUSH = "mill flush"
    TRIM = "trim"
    EDGE = "edge"
    HANGER = "hanger"


@dataclass(frozen=True, slots=True)
class Cut:
    """What every kind of cut has: one bit, in the face's frame and the file's heights.

    Heights are relative to the file's zero (the wood of the face as it stands at this setup):
    material begins at ``top_mm`` and is taken to ``floor_mm``, negative below the face.  ``resin``
    says the cut runs in cured resin.  ``wood`` is the wood as an edge feels it, a hardwood where
    it is not said.
    """

    work: ClassVar[Work]
    subject: str
    bit: Bit
    top_mm: float
    floor_mm: float
    resin: bool = field(default=False, kw_only=True)
    wood: Stock | None = field(default=None, kw_only=True)


@dataclass(frozen=True, slots=True)
class PocketCut(Cut):
    """``region`` is taken out; the axis may go in ``centres`` (from ``fit``).

    ``cleared`` is what a wider bit has taken already.
    """

    work = Work.POCKET
    region: MultiPolygon
    centres: MultiPolygon
    cleared: MultiPolygon = NOTHING


@dataclass(frozen=True, slots=True)
class LineCut(Cut):
    """The bit's middle follows ``lines``.

    ``filled`` is where cured resin, or waste, lies beside them: the wood beyond it is the edge that
    must not tear.
    """

    work = Work.LINE
    lines: MultiLineString
    filled: MultiPolygon = NOTHING


@dataclass(frozen=True, slots=True)
class EdgeCut(LineCut):
    """An edge is shaped by a bit that follows it; ``filled`` is the waste or the empty pocket."""

    work = Work.EDGE


@dataclass(frozen=True, slots=True)
class HangerCut(Cut):
    """A slot by a keyhole bit: in at the start of ``way``, along to its end, out at its start."""

    work = Work.HANGER
    way: LineString


@dataclass(frozen=True, slots=True)
class EngraveCut(Cut):
    """``region`` is taken out by a V, whose walls meet its outline at the height ``outline_mm``.

    ``cleared`` is floor that a flat bit has taken already; ``again`` runs the last depth a
    second time.
    """

    work = Work.ENGRAVE
    region: MultiPolygon
    outline_mm: float
    cleared: MultiPolygon = NOTHING
    again: bool = False


@dataclass(frozen=True, slots=True)
class DrillCut(Cut):
    """Holes at ``points``, in the order they shall be drilled, ``hole_mm`` wide.

    Holes of 0 mm are as wide as the bit.  ``flat_bottom`` asks for a dwell on the floor.
    """

    work = Work.DRILL
    points: tuple[tuple[float, float], ...]
    hole_mm: float = 0.0
    flat_bottom: bool = True


@dataclass(frozen=True, slots=True)
class LevelCut(Cut):
    """``region`` is taken down to one height."""

    work = Work.MILL_FLUSH
    region: MultiPolygon


@dataclass(frozen=True, slots=True)
class TrimCut(Cut):
    """``region`` is kept: it is cut around, but for ``tabs`` tabs that hold it.

    They are ``tab_mm`` long and ``tab_height_mm`` high.
    """

    work = Work.TRIM
    region: MultiPolygon
    tabs: int = 0
    tab_mm: float = 0.0
    tab_height_mm: float = 0.0


Milled = PocketCut | LineCut | EngraveCut | LevelCut | TrimCut | HangerCut
"""What is cut on one piece after the other; holes are drilled on all pieces in one way."""

Operation = Milled | DrillCut
"""One thing to cut with one bit."""


@dataclass(frozen=True, slots=True)
class CutOrder:
    """One G-code file to be written: a setup's operations for one bit.

    ``origin_mm`` is the place of the file's X0 Y0 in the face's frame; ``face_z_mm`` the height of
    the file's Z0 in the strata's heights (the thickness table's standing face). ``notes`` go into
    the header, and so do what the job has ``accepted`` and the stage's ``warnings``. ``imported``
    is an imported file that is read in place of one of ours; ``operations`` then say what it shall
    do, and ``face_above_mm`` how far above the file's Z0 the wood of the face lies. A ``bare``
    order is run on the spoilboard before the blank is laid on it; its Z0 is the spoilboard's top.
    Between cuts the tip is lifted to ``over_mm`` at least, over what stands beside the work. The
    numbers in its name have ``digits`` digits; ``sanded`` says that Z0 is the wood of a face that
    has been sanded.  ``part`` is which of several parts of the job it cuts, empty for an only one.
    """

    name: str
    job: str
    face: FaceName
    setup: int
    sequence: int
    bit: Bit
    machine: Machine
    origin_mm: tuple[float, float]
    face_z_mm: float
    operations: tuple[Operation, ...]
    notes: tuple[str, ...] = ()
    imported: ImportedFile | None = None
    face_above_mm: float = 0.0
    bare: bool = False
    over_mm: float = 0.0
    digits: int = 1
    sanded: bool = False
    places: tuple[tuple[float, float], ...] = ((0.0, 0.0),)
    accepted: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    part: str = ""


@dataclass(frozen=True, slots=True)
class OperationSpan:
    """Which moves of a program (``first`` to ``last``, inclusive) serve which subject."""

    subject: str
    work: Work
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class GcodeFile:
    """A G-code file: its text as emitted, and the same text read back.

    ``cut_s`` is the estimated run time for each piece on the bed.  ``problems`` are words the
    reader did not know, as (line, text); ``assumed`` what an imported file leaves open,
    likewise.  ``spans`` count the moves of ``program``.
    """

    order: CutOrder
    file_name: str
    text: str
    program: Program
    cut_s: float
    problems: tuple[tuple[int, str], ...] = ()
    spans: tuple[OperationSpan, ...] = ()
    assumed: tuple[tuple[int, str], ...] = ()

    @property
    def run_s(self) -> float:
        """The run time of the whole file: of all pieces on the bed."""
        return (
            self.cut_s if self.order.imported is not None else self.cut_s * len(self.order.places)
        )

    @property
    def data(self) -> bytes:
        """The file as it is put into the build folder; an imported one byte for byte."""
        imported = self.order.imported
        return self.text.encode("utf-8" if imported is None else imported.encoding)

    @property
    def known_as(self) -> str:
        """The name a finding calls it by: an imported file by the name the job gives it."""
        return self.file_name if self.order.imported is None else self.order.imported.name
