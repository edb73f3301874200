"""The last check of a job, kept in the user's cache folder: its verdict, its steps, its picture.

It tells of a job without building it again, for as long as the job, its shop and its artwork are
what they were.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Final

import flushwork
from flushwork.core.findings import Severity
from flushwork.store import StoreError, cache_folder, digest, write_folder

if TYPE_CHECKING:
    # keeping a check follows a build; reading one needs none of its rooms
    from flushwork.built import Build
    from flushwork.job.records import FaceName

CHECK_FORMAT: Final = 1
"""Grows when what is kept changes its form."""
ACROSS_PX: Final = 560
"""Pixels across the picture: a card is no wider, on a screen of twice the usual pixels."""


@dataclass(frozen=True, slots=True)
class KeptCheck:
    """What the last check of a job found.

    ``steps`` are what the log of the run knows each stage by, in order; ``pieces`` the names of all
    pieces.  ``current`` tells whether nothing it was made from has changed since.
    """

    must_fix: int
    warnings: int
    steps: tuple[str, ...]
    pieces: tuple[str, ...]
    current: bool = True


def check_folder(path: Path) -> Path:
    """Return where the check of a job file is kept."""
    name = str(path.resolve()).encode("utf-8", "surrogatepass")
    return cache_folder() / "checks" / digest(name)[:24]


def picture_path(path: Path) -> Path:
    """Return where the picture of a job's finished board is kept; it need not be there."""
    return check_folder(path) / "board.png"


def keep_check(path: Path, made: Build, text: str | None = None) -> None:
    """Keep the check of a job; where the cache cannot be written, none is kept.

    ``text`` is what was built, if it is not sure to be what stands in the file: then nothing is
    kept of another one.
    """
    from flushwork.job.records import sources_of  # noqa: PLC0415
    from flushwork.views.stage_views import stage_keys, ticks  # noqa: PLC0415

    told = KeptCheck(
        sum(each.severity is Severity.MUST_FIX for each in made.findings),
        sum(each.severity is Severity.WARNING for each in made.findings),
        tuple(stage_keys(made.plan).values()),
        ticks(made.job),
    )
    made_from = {str(each.resolve()): _digest_of(each) for each in sources_of(made.job, path)}
    if text is not None and _text_of(path) != text:
        return
    data = {
        "form": CHECK_FORMAT,
        "program": flushwork.__version__,
        "made from": made_from,
        **asdict(told),
    }
    files = {"check.json": json.dumps(data).encode("utf-8", "surrogatepass")}
    try:
        folder = check_folder(path)
        folder.parent.mkdir(parents=True, exist_ok=True)
        write_folder(folder, {**files, **_picture(made)})
    except (StoreError, OSError):
        return


def load_check(path: Path) -> KeptCheck | None:
    """Return the check kept of a job file; None where there is none that can be read."""
    try:
        told = json.loads((check_folder(path) / "check.json").read_bytes())
        if (told["form"], told["program"]) != (CHECK_FORMAT, flushwork.__version__):
            return None
        return KeptCheck(
            int(told["must_fix"]),
            int(told["warnings"]),
            tuple(map(str, told["steps"])),
            tuple(map(str, told["pieces"])),
            all(_digest_of(Path(name)) == was for name, was in told["made from"].items()),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _picture(made: Build) -> dict[str, bytes]:
    """Return the finished board as seen from its worked side; nothing where nothing was cut."""
    # drawing loads more than all else here
    from PIL import Image  # noqa: PLC0415

    from flushwork.strata.look import looks  # noqa: PLC0415
    from flushwork.views.drawing.pictures import trimmed, wood_look  # noqa: PLC0415

    worked = next((each for each in made.faces if each.worked), None)
    if not made.replay.states or worked is None:
        return {}
    face: FaceName = worked.name
    spec = made.replay.spec
    px_mm = max(spec.length_mm, spec.width_mm) / ACROSS_PX
    (seen,) = looks(
        made.replay.final, spec, face, wood_look(made), made.palette.materials, mm_per_px=px_mm
    )
    out = BytesIO()
    Image.fromarray(trimmed(seen, worked.trim, px_mm)).save(out, "PNG", compress_level=6)
    return {"board.png": out.getvalue()}


def _text_of(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except (OSError, UnicodeDecodeError):
        return ""


def _digest_of(path: Path) -> str:
    try:
        return digest(path.read_bytes())
    except OSError:
        return ""
