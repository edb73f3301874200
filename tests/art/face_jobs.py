"""Jobs made by hand: the smallest records that the geometry room reads."""

from __future__ import annotations

from pathlib import Path

import pytest

from flushwork.art.draw import draw_faces
from flushwork.art.drawn import DrawnFace, DrawnInlay
from flushwork.core.findings import Finding, JobRefusedError, Source
from flushwork.job.keys.holes import HolePattern
from flushwork.job.records import (
    Allowances,
    Art,
    Artwork,
    Blank,
    Face,
    FaceName,
    Holes,
    Inlay,
    Job,
    Manner,
    MeasuredFrom,
    Mix,
    Outline,
    Placement,
    Seam,
    SvgArt,
)
from flushwork.shelf.items import Air, Dialect, Holding, Machine, Resin, Shop, Wood

HERE = Source("job.yaml", 1, 1, "front.inlays.0")
AS_DRAWN = Placement(anchor="lower left", as_drawn=True)
WOOD = Wood("cherry", 0.0013, 0.0025, 0.5, 4200.0, "closed", "#8a4a2b", "#6b3a20", "test")
RESIN = Resin(
    "resin", "epoxy", 2.0, 1.0, False, 1.1, 1.0, 0.05, 1800.0, 100.0, 0.6,
    3600.0, 14400.0, 86400.0, 259200.0, 23.0, 15.0, 6.0, 0.02, "test",
)  # fmt: skip
MIX = Mix("deep teal", RESIN, 2.0, 1.0, False, None, 0.0, (), "#0b6a72", 1.0, "", HERE)
MACHINE = Machine("router", 400.0, 300.0, 80.0, 2000.0, 500.0, 4000.0, 8000.0, 24000.0, 200.0,
                  5.0, Dialect())  # fmt: skip
HOLDING = Holding("dowels", "dowels", "dowels", 0.05, "test")
SHOP = Shop(
    MACHINE, (HOLDING,), (), (WOOD,), (RESIN,), (), (), (), (), (),
    Air(20.0, 16.0, 8.0, 18.0, 0.5), (0, 1, 2, 3, 4), cup_loss_g=0.5,
)  # fmt: skip


def artwork(art: Art, placement: Placement | None = None) -> Artwork:
    return Artwork(art, placement or Placement(), HERE)


def inlay(
    *arts: Artwork, name: str = "body", face: FaceName = "front", seam: Seam | None = None
) -> Inlay:
    return Inlay(
        name=name,
        face=face,
        artwork=arts,
        seam=seam,
        depth_mm=2.0,
        measured_from=MeasuredFrom.FINISHED,
        mix=MIX,
        manner=Manner.OVERFILLED,
        cap=None,
        cap_mm=0.0,
        second_pass_of=(),
        after=(),
        v_bit=False,
        bits=(),
        sealed=True,
        source=HERE,
        depth_source=HERE,
    )


def hole_pattern(
    pattern: HolePattern, placement: Placement | None = None, face: FaceName = "front"
) -> Holes:
    return Holes(
        name="pegs",
        face=face,
        pattern=pattern,
        placement=placement or Placement(as_drawn=True),
        diameter_mm=3.0,
        depth_mm=8.0,
        through=False,
        flat_bottom=True,
        bit=None,
        source=HERE,
        depth_source=HERE,
    )


def job(
    *inlays: Inlay,
    holes: tuple[Holes, ...] = (),
    trim: Artwork | None = None,
    hidden_mm: float = 0.0,
    turn_about_x: bool = True,
    folder: Path = Path(),
) -> Job:
    return Job(
        title="board",
        file="job.yaml",
        folder=str(folder),
        pieces=1,
        test_pieces=0,
        blank=Blank(WOOD, 200.0, 100.0, 19.0, True, True, 0.08, turn_about_x, HERE, HERE),
        outline=Outline(trim, hidden_mm, 4, 4.0, 1.0, None, HERE),
        allowances=Allowances(0.5, 0.0, 0.15, 0.2, 0.05, 0.4, 1.0, 3.0),
        faces=tuple(
            Face(
                name,
                tuple(each for each in inlays if each.face == name),
                tuple(each for each in holes if each.face == name),
            )
            for name in ("front", "back")
        ),
        mixes=(MIX,),
        sealer=None,
        finish=None,
        shop=SHOP,
        holding=HOLDING,
        cell_mm=None,
        accepted=(),
        source=HERE,
    )


def face(made: Job, name: FaceName = "front") -> DrawnFace:
    return next(each for each in draw_faces(made) if each.name == name)


def drawn(made: Job, name: str = "body") -> DrawnInlay:
    return next(each for one in draw_faces(made) for each in one.inlays if each.inlay.name == name)


def refused(made: Job) -> tuple[Finding, ...]:
    """Return the findings of a job that must be refused, each fit to be shown."""
    with pytest.raises(JobRefusedError) as caught:
        draw_faces(made)
    for finding in caught.value.findings:
        assert finding.message
        assert finding.remedy
        assert finding.source is not None
    return caught.value.findings


def codes(made: Job) -> list[str]:
    return [finding.code for finding in refused(made)]


def svg_text(body: str, head: str = 'width="100mm" height="50mm" viewBox="0 0 100 50"') -> str:
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'


def svg_job(
    folder: Path,
    text: str,
    *layers: str,
    width_mm: float | None = None,
    placement: Placement = AS_DRAWN,
) -> Job:
    """Return a job of one inlay, the drawing's page on the lower left of the blank."""
    (folder / "art.svg").write_text(text, "utf-8")
    art = SvgArt("art.svg", layers, width_mm)
    return job(inlay(artwork(art, placement)), folder=folder)
