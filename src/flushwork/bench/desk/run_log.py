"""The log of a run: what was ticked, noted and timed at the machine, in a small file by the job.

The file is plain JSON.  What stands in it belongs to stages by their titles, so that it outlives a
change of their numbers.

Photos of a step: checked, turned upright, made small, and freed of what the camera wrote in.
"""

from __future__ import annotations

import io
import json
import threading
import warnings
from pathlib import Path
from typing import Any, Final

from PIL import Image, ImageOps, UnidentifiedImageError

from flushwork.core.units.kinds import DAY_S
from flushwork.store import ChangedOutsideError, digest, replace_text, write_new_bytes

LONGEST_NOTE: Final = 4000
LONGEST_LINE: Final = 1000
MOST_PHOTOS: Final = 24
MOST_ENTRIES: Final = 2000
MOST_BYTES: Final = 4 * 1024 * 1024


class LogError(ValueError):
    """What was sent is no entry of a log; the message says why."""


def log_path(job: Path) -> Path:
    """Return where the log of a job lies."""
    return job.with_name(f"{job.stem} log.json")


def empty() -> dict[str, Any]:
    """Return a log in which nothing stands yet."""
    return {"ticks": {}, "notes": {}, "timers": []}


class RunLog:
    """The log of one job's run."""

    def __init__(self, job: Path) -> None:
        self.job = job
        self.path = log_path(job)
        self._lock = threading.Lock()

    def read(self) -> dict[str, Any]:
        """Return the log; an unreadable one raises LogError, so that nothing writes over it."""
        return self._read()[0]

    def _read(self) -> tuple[dict[str, Any], str | None]:
        try:
            data = self.path.read_bytes()
        except FileNotFoundError:
            return empty(), None
        except OSError as error:
            raise LogError(f"{self.path.name} cannot be read: {error.strerror}") from error
        try:
            log = json.loads(data) if len(data) <= MOST_BYTES else None
        except ValueError:
            log = None
        if (
            not isinstance(log, dict)
            or not all(isinstance(log.get(name), type(value)) for name, value in empty().items())
            or not all(
                isinstance(log.get(name, {}), dict)
                for name in ("photos", "days", "no_returns", "when")
            )
        ):
            raise LogError(f"{self.path.name} is no log of a run; move it away to begin a new one")
        return log, digest(data)

    def tick(self, stage: str, piece: str, *, done: bool, at_s: float = 0.0) -> dict[str, Any]:
        """Tick a stage off for a piece, or take the tick back; return the log.

        ``at_s`` is when that was, in seconds after 1970; 0 where it is not known.
        """
        return self._change(lambda log: _tick(log, _name(stage), _name(piece), at_s, done=done))

    @property
    def stamp(self) -> str:
        """What is another as soon as the log is."""
        try:
            status = self.path.stat()
        except OSError:
            return ""
        return f"{status.st_mtime_ns}-{status.st_size}"

    def tick_no_return(self, stage: str, line: str, *, done: bool) -> dict[str, Any]:
        """Tick a line of the point of no return before a stage, or take the tick back.

        Return the log.

        A line is known by its words: one that says something else by now is not yet ticked.
        """
        return self._change(lambda log: _tick_no_return(log, _name(stage), _line(line), done=done))

    def note(self, stage: str, text: str) -> dict[str, Any]:
        """Keep a note for a stage; an empty one goes."""
        return self._change(lambda log: _note(log, _name(stage), text))

    def begin(self, name: str, begun_s: float, lasts_s: float) -> dict[str, Any]:
        """Keep a timer that began ``begun_s`` after 1970 and runs ``lasts_s``."""
        if not 0.0 < begun_s < 1e11 or not 0.0 < lasts_s <= 400.0 * DAY_S:
            raise LogError("a timer begins now and ends within a year")
        timer = {"name": _name(name), "begun_s": round(begun_s, 1), "lasts_s": round(lasts_s, 1)}
        return self._change(lambda log: _begin(log, timer))

    def end(self, name: str) -> dict[str, Any]:
        """Take the timers of that name away."""
        return self._change(lambda log: _end(log, name))

    def wish(self, wishes: dict[str, Any]) -> dict[str, Any]:
        """Keep what is wished of the days; an empty wish goes."""
        return self._change(lambda log: _wish(log, wishes))

    def photo(self, stage: str, data: bytes, kind: str) -> dict[str, Any]:
        """Keep a photo of a stage beside the job; raises PhotoError where it is none."""
        # imported late: reading pictures takes longer to load than the first answer may take

        kept, stage = kept_photo(data, kind), _name(stage)
        name = photo_name(stage, kept)
        place = self.photos / name
        if len(self.read().get("photos", {}).get(stage, [])) >= MOST_PHOTOS:
            raise LogError(f"a step keeps at most {MOST_PHOTOS} photos")
        if not place.exists():
            write_new_bytes(place, kept)
        return self._change(lambda log: _photo(log, stage, name))

    def drop_photo(self, stage: str, name: str) -> dict[str, Any]:
        """Take a photo out of the log; its file stays where it is."""
        return self._change(lambda log: _drop_photo(log, stage, name))

    def photo_bytes(self, name: str) -> bytes | None:
        """Return a photo that the log knows, and no other file."""
        known = {each for names in self.read().get("photos", {}).values() for each in names}
        if name not in known or Path(name).name != name:
            return None
        try:
            return (self.photos / name).read_bytes()
        except OSError:
            return None

    @property
    def photos(self) -> Path:
        """The folder the photos lie in."""
        return self.job.with_name(f"{self.job.stem} photos")

    def _change(self, change: Any) -> dict[str, Any]:
        with self._lock:
            for attempt in range(3):
                log, was = self._read()
                change(log)
                if sum(len(part) for part in log.values()) > MOST_ENTRIES:
                    raise LogError("the log is full")
                try:
                    data = json.dumps(log, indent=1, ensure_ascii=False, sort_keys=True) + "\n"
                    replace_text(self.path, data.encode(), was)
                except ChangedOutsideError:
                    # another window wrote in between: read its entry and add ours
                    if attempt == 2:
                        raise
                    continue
                return log
        raise AssertionError("unreachable")


def _name(text: str) -> str:
    if not 0 < len(text) <= 300:
        raise LogError("a name has 1 to 300 letters")
    return text


def _line(text: str) -> str:
    if not 0 < len(text) <= LONGEST_LINE:
        raise LogError(f"a line of a point of no return has 1 to {LONGEST_LINE} letters")
    return text


def _tick(log: dict[str, Any], stage: str, piece: str, at_s: float, *, done: bool) -> None:
    pieces = [each for each in log["ticks"].get(stage, []) if each != piece]
    log["ticks"][stage] = [*pieces, piece] if done else pieces
    when = log.setdefault("when", {}).setdefault(stage, {})
    if done and at_s > 0.0:
        when[piece] = round(at_s)
    else:
        when.pop(piece, None)
    if not when:
        log["when"].pop(stage)
    if not log["when"]:
        log.pop("when")


def _tick_no_return(log: dict[str, Any], stage: str, line: str, *, done: bool) -> None:
    no_returns = log.setdefault("no_returns", {})
    lines = [each for each in no_returns.get(stage, []) if each != line]
    if done:
        lines.append(line)
    if lines:
        no_returns[stage] = lines
    else:
        no_returns.pop(stage, None)


def _note(log: dict[str, Any], stage: str, text: str) -> None:
    if len(text) > LONGEST_NOTE:
        raise LogError(f"a note has at most {LONGEST_NOTE} letters")
    if text.strip():
        log["notes"][stage] = text
    else:
        log["notes"].pop(stage, None)


def _begin(log: dict[str, Any], timer: dict[str, Any]) -> None:
    _end(log, timer["name"])
    log["timers"].append(timer)


def _wish(log: dict[str, Any], wishes: dict[str, Any]) -> None:
    if wishes:
        log["days"] = wishes
    else:
        log.pop("days", None)


def _photo(log: dict[str, Any], stage: str, name: str) -> None:
    names = log.setdefault("photos", {}).setdefault(stage, [])
    if name not in names:
        names.append(name)


def _drop_photo(log: dict[str, Any], stage: str, name: str) -> None:
    photos = log.get("photos", {})
    photos[stage] = [each for each in photos.get(stage, []) if each != name]


def _end(log: dict[str, Any], name: str) -> None:
    log["timers"] = [each for each in log["timers"] if each.get("name") != name]


MOST_PHOTO_BYTES: Final = 16 * 1024 * 1024
MOST_PIXELS: Final = 60_000_000
LONGEST_PX: Final = 2000
KINDS: Final = {"image/jpeg": "JPEG", "image/png": "PNG", "image/webp": "WEBP"}


class PhotoError(ValueError):
    """What was sent is no photo that can be kept; the message says why."""


def kept_photo(data: bytes, kind: str) -> bytes:
    """Return a photo as it is kept: an upright JPEG of moderate size without hidden words.

    A camera writes place and time into its pictures; they are left out.  Raises PhotoError where
    the bytes are not what ``kind`` says, or too many.
    """
    if kind not in KINDS:
        raise PhotoError("a photo is a JPEG, PNG or WebP picture")
    if len(data) > MOST_PHOTO_BYTES:
        raise PhotoError(
            f"that photo is too large; at most {MOST_PHOTO_BYTES // 1024**2} MB are kept"
        )
    try:
        with warnings.catch_warnings():
            # a picture that unfolds to more than it should is refused below, in words
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=[KINDS[kind]]) as opened:
                if opened.width * opened.height > MOST_PIXELS:
                    raise PhotoError("that photo has too many pixels")
                upright = ImageOps.exif_transpose(opened).convert("RGB")
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        OSError,
        SyntaxError,
        ValueError,
    ) as error:
        if isinstance(error, PhotoError):
            raise
        raise PhotoError("that is no picture, or a broken one") from error
    upright.thumbnail((LONGEST_PX, LONGEST_PX))
    out = io.BytesIO()
    Image.frombytes("RGB", upright.size, upright.tobytes()).save(out, "JPEG", quality=86)
    return out.getvalue()


def photo_name(stage: str, data: bytes) -> str:
    """Return the file name of a photo: its step in plain letters, and what it is."""
    plain = "".join(letter if letter.isascii() and letter.isalnum() else " " for letter in stage)
    words = " ".join(plain.split())[:60].strip() or "step"
    return f"{words} {digest(data)[:12]}.jpg"
