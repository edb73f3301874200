"""What happens to a board, step by step: the input of the replay."""

from __future__ import annotations

from dataclasses import dataclass

from shapely import MultiPolygon

from flushwork.job.records import FaceName
from flushwork.shelf.items import Bit
from flushwork.toolpaths.moves import Program


@dataclass(frozen=True, slots=True)
class Plane:
    """Take everything above a height off a face: surfacing, sanding, a saw cut along the face.

    ``to_mm`` is the height in the face's frame; ``why`` the word for the thickness table
    (``surfaced``, ``milled_flush``, ``sanded``).  ``wood`` says the wood itself comes down to it.
    """

    face: FaceName
    to_mm: float
    why: str
    wood: bool = True


@dataclass(frozen=True, slots=True)
class CutStep:
    """Run a G-code file: the program as read back, its bit, and where its zero lies."""

    face: FaceName
    file_name: str
    program: Program
    bit: Bit
    origin_mm: tuple[float, float]
    zero_mm: float


@dataclass(frozen=True, slots=True)
class Seal:
    """Brush sealer over the cut walls and floors of regions, ``film_mm`` thick."""

    face: FaceName
    regions: tuple[MultiPolygon, ...]
    material: str
    film_mm: float


@dataclass(frozen=True, slots=True)
class Recess:
    """How a scraped fill sinks below its edges.

    ``pinning`` is the share by which its surface stays pinned to them (0 drops flat, 1 hangs),
    ``capillary_mm`` the liquid's capillary length, ``uptake_mm`` what each mm2 of bare wood under
    it drinks.
    """

    pinning: float
    capillary_mm: float
    uptake_mm: float


@dataclass(frozen=True, slots=True)
class Fill:
    """Pour a mix into an inlay up to a height.

    The liquid covers ``region`` and ``overspill_mm`` around it wherever the surface lies below
    ``level_mm`` (in the face's frame).  ``keeps`` is the share of its thickness left once cured,
    thinner evaporated and resin shrunk.  With a ``recess`` its surface sinks as scraped fills do;
    without one every column loses its own share.  With
    ``sealer_mm`` the wood under a film of sealer so thick is counted too.
    """

    face: FaceName
    subject: str
    mix: str
    region: MultiPolygon
    level_mm: float
    overspill_mm: float
    keeps: float
    recess: Recess | None = None
    sealer_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Coat:
    """Lay a clear finish of ``film_mm`` over a face."""

    face: FaceName
    material: str
    film_mm: float


@dataclass(frozen=True, slots=True)
class Kerf:
    """Erase a region through the whole thickness: a saw cut across the board."""

    face: FaceName
    region: MultiPolygon


Action = Plane | CutStep | Seal | Fill | Coat | Kerf


@dataclass(frozen=True, slots=True)
class ReplayStep:
    """The actions of one stage, by the stage's number."""

    stage: int
    actions: tuple[Action, ...]


@dataclass(frozen=True, slots=True)
class BoardSpec:
    """The blank the replay starts from, as sawn, and the side of a cell, in mm."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    turn_about_x: bool
    cell_mm: float
