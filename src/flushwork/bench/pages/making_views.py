"""What a job can be made of, for the page: the shelf, the parts that are ready, files, mixes."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any

from flushwork.core.findings import JobRefusedError
from flushwork.usecases.jobs import blank_job_text, load
from flushwork.usecases.making.ready_made import ready_made
from flushwork.usecases.making.take_in import files_beside, packaged_fonts


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


def _bare(job_file: Path, shop_file: str) -> Any:
    text = blank_job_text("", "black cherry", "100 mm", "100 mm", "12 mm", shop_file=shop_file)
    try:
        return load(job_file, text)
    except JobRefusedError:
        # a shop file that cannot be read is told where it is used
        return load(job_file, text.replace(f"shop: {shop_file}\n", ""))
