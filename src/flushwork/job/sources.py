"""The files that a job is read from: its own, the shop's, drawings, points and fonts of its own."""

from __future__ import annotations

from pathlib import Path

from flushwork.job.records import Job, PointHoles, SvgArt, TextArt


def sources_of(job: Job, path: Path) -> tuple[Path, ...]:
    """Return the files that a job, read from ``path``, depends on; each once, the job first."""
    folder = Path(job.folder)
    names = [job.shop_file] if job.shop_file else []
    for inlay in job.inlays:
        for artwork in inlay.artwork:
            if isinstance(artwork.art, SvgArt):
                names.append(artwork.art.file)
            elif isinstance(artwork.art, TextArt):
                names.append(artwork.art.font)
    for face in job.faces:
        names += [
            pattern.pattern.file
            for pattern in face.holes
            if isinstance(pattern.pattern, PointHoles) and pattern.pattern.file
        ]
    found = [folder / name for name in dict.fromkeys(names)]
    return (path, *(each for each in found if each.is_file()))
