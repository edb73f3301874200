from __future__ import annotations

import json
from pathlib import Path

import pytest

from flushwork.store import (
    MANIFEST,
    StoreError,
    changed_by_hand,
    digest,
    is_stale,
    standing_findings,
    write_folder,
    write_new,
)


def job_in(folder: Path) -> Path:
    path = folder / "job.yaml"
    path.write_text("flushwork: 2\n", encoding="utf-8")
    return path


def test_a_build_replaces_the_one_before_it_whole(tmp_path: Path) -> None:
    target = tmp_path / "built"
    write_folder(target, {"a.txt": b"1", "deep/b.txt": b"2"})
    assert write_folder(target, {"a.txt": b"3"}) is None
    assert (target / "a.txt").read_bytes() == b"3"
    assert not (target / "deep").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["built"]


def test_the_manifest_holds_every_digest(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    write_folder(tmp_path / "built", {"a.txt": b"1"}, (job,))
    manifest = json.loads((tmp_path / "built" / MANIFEST).read_text("utf-8"))
    assert manifest["files"] == {"a.txt": digest(b"1")}
    assert manifest["sources"] == {"job.yaml": digest(b"flushwork: 2\n")}


def test_a_build_changed_by_hand_is_set_aside(tmp_path: Path) -> None:
    target = tmp_path / "built"
    write_folder(target, {"a.txt": b"1"})
    (target / "a.txt").write_bytes(b"my own feed")
    assert changed_by_hand(target) == ("a.txt",)
    aside = write_folder(target, {"a.txt": b"2"})
    assert aside is not None
    assert (aside / "a.txt").read_bytes() == b"my own feed"
    assert (target / "a.txt").read_bytes() == b"2"


def test_a_file_added_or_removed_by_hand_is_a_change(tmp_path: Path) -> None:
    target = tmp_path / "built"
    write_folder(target, {"a.txt": b"1", "b.txt": b"2"})
    (target / "note.txt").write_bytes(b"mine")
    (target / "b.txt").unlink()
    assert changed_by_hand(target) == ("b.txt", "note.txt")


def test_a_folder_that_is_no_build_is_never_overwritten(tmp_path: Path) -> None:
    target = tmp_path / "built"
    target.mkdir()
    (target / "photos.txt").write_bytes(b"the customer's")
    aside = write_folder(target, {"a.txt": b"1"})
    assert aside is not None
    assert (aside / "photos.txt").read_bytes() == b"the customer's"


def test_a_build_that_cannot_be_written_leaves_the_old_one(tmp_path: Path) -> None:
    target = tmp_path / "built"
    write_folder(target, {"a.txt": b"1"})
    with pytest.raises(StoreError):
        write_folder(target, {"a.txt": b"2", "a.txt/b.txt": b"cannot be under a file"})
    assert (target / "a.txt").read_bytes() == b"1"
    assert [path.name for path in tmp_path.iterdir()] == ["built"]


def test_staleness_follows_the_sources(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    target = tmp_path / "built"
    assert is_stale(target, (job,))
    write_folder(target, {"a.txt": b"1"}, (job,))
    assert not is_stale(target, (job,))
    job.write_text("flushwork: 2\npieces: 2\n", encoding="utf-8")
    assert is_stale(target, (job,))


def test_a_new_file_is_never_written_over_another(tmp_path: Path) -> None:
    place = tmp_path / "sub" / "job.yaml"
    write_new(place, "one")
    with pytest.raises(StoreError, match="exists already"):
        write_new(place, "two")
    assert place.read_text("utf-8") == "one"


def test_gcode_files_older_than_their_job_are_told(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    shop = tmp_path / "shop.yaml"
    shop.write_text("flushwork shop: 2\n", encoding="utf-8")
    target = tmp_path / "built"
    sources = (job, shop)
    assert standing_findings(target, sources) == ()
    write_folder(target, {"check.json": b"[]"}, sources)
    shop.write_text("flushwork shop: 2\nname: other\n", encoding="utf-8")
    assert standing_findings(target, sources) == ()  # nothing there that could be cut
    write_folder(target, {"gcode/a.nc": b"M2\n", "book.pdf": b"%"}, sources)
    assert standing_findings(target, sources) == ()
    shop.write_text("flushwork shop: 2\nname: third\n", encoding="utf-8")
    (stale,) = standing_findings(target, sources)
    assert stale.code == "gcode-files-stale"
    assert "shop.yaml" in stale.message
    assert "job.yaml" not in stale.message


def test_a_gcode_file_changed_by_hand_is_told(tmp_path: Path) -> None:
    job = job_in(tmp_path)
    target = tmp_path / "built"
    write_folder(target, {"gcode/a.nc": b"M2\n", "book.pdf": b"%"}, (job,))
    (target / "book.pdf").write_bytes(b"notes")
    assert standing_findings(target, (job,)) == ()
    (target / "gcode" / "a.nc").write_bytes(b"G0 Z-9\n")
    (altered,) = standing_findings(target, (job,))
    assert altered.code == "gcode-files-altered"
    assert "a.nc" in altered.message
