"""What a job can be made of, for the page: the shelf, the parts that are ready, files, mixes."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.pages.things import rings
from flushwork.core.findings import JobRefusedError
from flushwork.core.words import counted
from flushwork.usecases.jobs import blank_job_text, load
from flushwork.usecases.making.begun import written as length
from flushwork.usecases.making.meet import meetings
from flushwork.usecases.making.on_plank import plank_of
from flushwork.usecases.making.ready_made import ready_made
from flushwork.usecases.making.take_in import files_beside, packaged_fonts
from flushwork.usecases.plan_change import WorkFigures, planned_figures, work_figures

if TYPE_CHECKING:
    from flushwork.job.records import FaceName


def making_view(job_file: Path, text: str) -> dict[str, Any]:
    """Return everything a sheet to make a job with offers.

    A text that cannot be read has no mixes; the shelf is then that of the shop file beside it.
    """
    try:
        job = load(job_file, text)
        mixes = job.mixes
    except JobRefusedError:
        shop_file = "shop.yaml" if job_file.with_name("shop.yaml").is_file() else ""
        job = _bare(job_file, shop_file)
        mixes = ()
    shop = job.shop
    files = files_beside(job_file)
    return {
        "woods": [{"name": each.name, "colour": each.colour} for each in shop.woods],
        "resins": [each.name for each in shop.resins],
        "pigments": [
            {"name": each.name, "colour": each.colour, "kind": each.kind} for each in shop.pigments
        ],
        "mixes": [{"name": each.name, "colour": each.colour} for each in mixes],
        "fonts": [*packaged_fonts(), *(name for name, kind in files if kind == "font")],
        "files": [{"file": name, "kind": kind} for name, kind in files if kind != "font"],
        "parts": [asdict(each) for each in ready_made()],
        "title": job_file.resolve().parent.name,
        "back": any(face.name == "back" for face in job.faces),
        "empty": not any(face.worked for face in job.faces),
    }


def plank_view(job_file: Path, text: str, *, inch: bool) -> dict[str, Any]:
    """Return a plank with its pieces for drawing, in mm, and what is said of it."""
    laid = plank_of(job_file, text)
    count, share = len(laid.pieces), round(100.0 * laid.share)
    apart, margin, used = (
        length(mm, inch=inch) for mm in (laid.gap_mm, laid.margin_mm, laid.used_mm)
    )
    lie = counted(count, "piece lies", "pieces lie")
    said = (
        f"{lie} on it, at least {apart} apart and {margin} from its edges; of the {used} of its "
        f"length that they take, {share} % ends in pieces."
    )
    return {
        "size": laid.size_mm,
        "along": laid.grain_along_x,
        "wood": laid.wood,
        "margin": laid.margin_mm,
        "pieces": [
            {"number": each.number, "name": each.name, "rings": rings(each.outline)}
            for each in laid.pieces
        ],
        "inlays": [{"colour": colour, "rings": rings(shape)} for colour, shape in laid.inlays],
        "defects": [
            {
                "rings": rings(shape),
                "told": f"{length(x0, inch=inch)} from the left end, {length(y0, inch=inch)} from "
                f"the near edge, {length(x1 - x0, inch=inch)} by {length(y1 - y0, inch=inch)}",
            }
            for shape in laid.defects
            for x0, y0, x1, y1 in [shape.bounds]
        ],
        "names": laid.names,
        "texts": laid.texts,
        "keys": laid.keys,
        "gap": apart,
        "said": said if laid.gap_mm else "",
    }


def figures_in(job_file: Path, text: str, snapshot: Snapshot | None) -> WorkFigures:
    """Return what a text's plan asks for, from what is built of it where there is something."""
    if snapshot is None or snapshot.text != text or snapshot.sketch:
        return planned_figures(job_file, text)
    return _figures(snapshot)


@cached_on
def _figures(snapshot: Snapshot) -> WorkFigures:
    return work_figures(snapshot.made)


def meetings_view(job_file: Path, text: str, face: FaceName) -> list[dict[str, Any]]:
    """Return where inlays of a face meet, with what touching it does in words."""
    found = []
    for each in meetings(job_file, text, face):
        one, other = (thing.split("/", 2)[2] for thing in each.things)
        edge = each.kind == "edge"
        lies = "lies in" if each.within else "overlaps"
        where = f"the edge of {one} and {other}" if edge else f"{one}, which {lies} {other}"
        done = "has its seam line" if edge else "is cut into it already"
        does = "make it a seam line" if edge else "cut it into it as a second pass"
        found.append(
            {
                "kind": each.kind,
                "things": each.things,
                "lines": [[[round(x, 2), round(y, 2)] for x, y in line.coords]
                          for line in each.lines.geoms],
                "rings": rings(each.region),
                "done": each.done,
                "words": f"{where} {done}" if each.done else f"{where}: {does}",
            }
        )  # fmt: skip
    return found


def _bare(job_file: Path, shop_file: str) -> Any:
    text = blank_job_text("", "black cherry", "100 mm", "100 mm", "12 mm", shop_file=shop_file)
    try:
        return load(job_file, text)
    except JobRefusedError:
        # a shop file that cannot be read is told where it is used
        return load(job_file, text.replace(f"shop: {shop_file}\n", ""))
