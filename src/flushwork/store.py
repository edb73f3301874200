"""The only writer of files: atomic, hashed, aware of changes made by others.

A build goes to a fresh folder beside its final place and is then moved there in one rename, so
that a reader sees the old build or the new one, never half of each.  ``manifest.json`` holds the
SHA-256 of every file.  Where the standing folder no longer matches its manifest, somebody has
changed it by hand: it is set aside under another name, not overwritten.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from flushwork.core.findings import Finding, FlushworkError, Subject

MANIFEST = "manifest.json"
GCODE_FILES = "gcode/"


class StoreError(FlushworkError):
    """The folder cannot be written; the message says which and why."""


def digest(data: bytes) -> str:
    """Return the SHA-256 of some bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def cache_folder() -> Path:
    """Return the user's folder for what can be made again at any time, by the system's custom."""
    named = os.environ.get("FLUSHWORK_CACHE", "")
    if named:
        return Path(named)
    from platformdirs import user_cache_path  # noqa: PLC0415  (only the bench needs it)

    return user_cache_path("flushwork", appauthor=False)


def write_folder(
    target: Path, files: Mapping[str, bytes], sources: Iterable[Path] = ()
) -> Path | None:
    """Put ``files`` (relative name to bytes) into ``target``, replacing what stood there at once.

    ``sources`` are the texts the build came from; their digests are kept, so that a later reader
    can tell whether the build is stale.  Returns where a folder changed by hand was set aside,
    or None.  Raises StoreError where the folder cannot be written; ``target`` is then untouched.
    """
    manifest = {
        "files": {name: digest(data) for name, data in sorted(files.items())},
        "sources": {path.name: digest(path.read_bytes()) for path in sources},
    }
    fresh = target.with_name(f".{target.name}.new-{os.getpid()}")
    try:
        _write_all(fresh, {**files, MANIFEST: _json(manifest)})
        return _swap(fresh, target)
    except OSError as error:
        shutil.rmtree(fresh, ignore_errors=True)
        message = f"cannot write {error.filename or target}: {error.strerror}"
        raise StoreError(message) from error


def put_folder(target: Path, name: str, files: Mapping[str, bytes]) -> None:
    """Put a folder of files into a standing build, in place of one of that name.

    Everything else in the build stays as it is, and the manifest comes to hold the new files.
    Raises StoreError where there is no such build or the folder cannot be written.
    """
    manifest = _manifest(target)
    if manifest is None:
        message = f"there is no build in {target}; run `flushwork build` first"
        raise StoreError(message)
    place = target / name
    fresh = target / f".{place.name}.new-{os.getpid()}"
    old = target / f".{place.name}.old-{os.getpid()}"
    try:
        _write_all(fresh, files)
        place.parent.mkdir(parents=True, exist_ok=True)
        if place.exists():
            place.rename(old)
        fresh.rename(place)
        kept = {
            key: value
            for key, value in manifest.get("files", {}).items()
            if not key.startswith(f"{name}/")
        }
        kept |= {f"{name}/{key}": digest(data) for key, data in files.items()}
        whole = {**manifest, "files": dict(sorted(kept.items()))}
        beside = target / f".{MANIFEST}.new-{os.getpid()}"
        beside.write_bytes(_json(whole))
        os.replace(beside, target / MANIFEST)
    except OSError as error:
        message = f"cannot write {error.filename or place}: {error.strerror}"
        raise StoreError(message) from error
    finally:
        shutil.rmtree(fresh, ignore_errors=True)
        shutil.rmtree(old, ignore_errors=True)


def write_new(path: Path, text: str) -> None:
    """Write a text file that must not exist yet.

    Raises StoreError where something stands there already or the folder cannot be written.
    """
    write_new_bytes(path, text.encode("utf-8"))


def write_new_bytes(path: Path, data: bytes) -> None:
    """Write a file that must not exist yet; raises StoreError as ``write_new`` does."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            file.write(data)
    except FileExistsError as error:
        message = f"{path} exists already; choose another name or move it away"
        raise StoreError(message) from error
    except OSError as error:
        message = f"cannot write {path}: {error.strerror}"
        raise StoreError(message) from error


def move_together(moves: Sequence[tuple[Path, Path]]) -> None:
    """Move files and folders, all of them or none; what stands at a new place is never replaced.

    Raises StoreError where something stands there or one cannot be moved: all are then where they
    were.
    """
    for _, to in moves:
        if os.path.lexists(to):
            message = f"{to.name} stands in {to.parent.name} already; rename or move that one first"
            raise StoreError(message)
    moved: list[tuple[Path, Path]] = []
    try:
        for at, to in moves:
            to.parent.mkdir(parents=True, exist_ok=True)
            at.rename(to)
            moved.append((at, to))
    except OSError as error:
        for at, to in reversed(moved):
            to.rename(at)
        message = f"cannot move {error.filename or moves[0][0]}: {error.strerror}"
        raise StoreError(message) from error


def changed_by_hand(folder: Path) -> tuple[str, ...]:
    """Return the files of a build that no longer match its manifest (or are gone, or new)."""
    manifest = _manifest(folder)
    if manifest is None:
        return ()
    files = manifest.get("files", {})
    present = {
        path.relative_to(folder).as_posix()
        for path in folder.rglob("*")
        if path.is_file() and path.name != MANIFEST
    }
    touched = {
        name for name in present & set(files) if digest((folder / name).read_bytes()) != files[name]
    }
    return tuple(sorted(touched | (present ^ set(files))))


def is_stale(folder: Path, sources: Iterable[Path]) -> bool:
    """Whether any of the texts a build came from has changed since."""
    manifest = _manifest(folder)
    if manifest is None:
        return True
    kept = manifest.get("sources", {})
    return any(
        not path.is_file() or kept.get(path.name) != digest(path.read_bytes()) for path in sources
    )


def standing_findings(folder: Path, sources: Iterable[Path]) -> tuple[Finding, ...]:
    """Return what is wrong with the build that stands in a folder: older than its job, or altered.

    Nothing where no build stands there, or one without G-code files.
    """
    manifest = _manifest(folder)
    if manifest is None:
        return ()
    gcode_files = [name for name in manifest.get("files", {}) if name.startswith(GCODE_FILES)]
    if not gcode_files:
        return ()
    found: list[Finding] = []
    kept = manifest.get("sources", {})
    newer = [
        path.name
        for path in sources
        if path.is_file()
        and kept.get(path.name, digest(path.read_bytes())) != digest(path.read_bytes())
    ]
    if newer:
        found.append(
            Finding.warning(
                "gcode-files-stale",
                message=f"The {len(gcode_files)} G-code files in {folder.name} were written before "
                f"{' and '.join(newer)} changed: they cut the older job.",
                remedy="Build again before you cut, and load the files afresh on the machine.",
                subjects=(Subject("name", folder.name),),
            )
        )
    touched = [name for name in changed_by_hand(folder) if name.startswith(GCODE_FILES)]
    if touched:
        more = f" and {len(touched) - 1} more" if len(touched) > 1 else ""
        found.append(
            Finding.warning(
                "gcode-files-altered",
                message=f"{touched[0]}{more} in {folder.name} is not as it was written: what was "
                "checked is another text.",
                remedy="Build again, and make changes in the job, where the check sees them.",
                subjects=(Subject("name", folder.name),),
            )
        )
    return tuple(found)


def _manifest(folder: Path) -> dict[str, dict[str, str]] | None:
    try:
        read: dict[str, dict[str, str]] = json.loads((folder / MANIFEST).read_text("utf-8"))
    except (OSError, ValueError):
        return None
    return read


def _json(value: object) -> bytes:
    return (json.dumps(value, indent=2, sort_keys=True) + "\n").encode()


def _write_all(folder: Path, files: Mapping[str, bytes]) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    for name, data in files.items():
        place = folder / name
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_bytes(data)


def _swap(fresh: Path, target: Path) -> Path | None:
    if not target.exists():
        fresh.rename(target)
        return None
    aside: Path | None = None
    old = target.with_name(f".{target.name}.old-{os.getpid()}")
    if not target.is_dir() or _manifest(target) is None or changed_by_hand(target):
        aside = old = _free_name(target)
    target.rename(old)
    try:
        fresh.rename(target)
    except OSError:
        old.rename(target)
        raise
    if aside is None:
        shutil.rmtree(old, ignore_errors=True)
    return aside


def _free_name(target: Path) -> Path:
    number = 1
    while (place := target.with_name(f"{target.name} (changed by hand {number})")).exists():
        number += 1
    return place


class ChangedOutsideError(StoreError):
    """A text is not the one it was: somebody else has written it in the meantime."""


def replace_text(path: Path, data: bytes, was: str | None) -> str:
    """Put ``data`` in the place of a text in one move and return its digest.

    ``was`` is the digest of the text it replaces, None where there was none.  Raises
    ChangedOutsideError where another text stands there, StoreError where it cannot be written;
    what stands there is then untouched.
    """
    fresh = path.with_name(f".{path.name}.new-{os.getpid()}")
    try:
        stands = digest(path.read_bytes()) if path.is_file() else None
        if stands != was:
            message = f"{path.name} was changed outside since it was read"
            raise ChangedOutsideError(message)
        if stands is None:
            path.parent.mkdir(parents=True, exist_ok=True)
        fresh.write_bytes(data)
        if path.is_file():
            shutil.copymode(path, fresh)
        os.replace(fresh, path)
    except OSError as error:
        fresh.unlink(missing_ok=True)
        message = f"cannot write {path}: {error.strerror}"
        raise StoreError(message) from error
    return digest(data)
