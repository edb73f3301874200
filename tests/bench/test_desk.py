"""The desk: trying, saving, undoing, and what somebody else does to the file meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from flushwork.bench.desk.builds import FIRST_CELL_MM, cut_alike
from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.job_file import spell
from flushwork.bench.desk.sheets import Sheet
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.job.read import read_job
from flushwork.store import ChangedOutsideError, digest
from tests.bench.conftest import JOB, PAGE, waited


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    made = Desk(path)
    made.open()
    yield made
    made.close()


def test_a_try_builds_but_writes_nothing(desk: Desk) -> None:
    first = waited(desk)
    desk.try_text(PAGE, JOB.replace("depth: 2 mm", "depth: 1.5 mm"))
    second = waited(desk, PAGE)
    assert second.made.job.inlays[0].depth_mm == 1.5
    assert second.generation > first.generation
    assert desk.path.read_text("utf-8") == JOB
    assert desk.status(PAGE).trying
    assert not desk.status().trying
    assert waited(desk) is first


def test_another_colour_is_first_seen_in_the_cells_of_the_check(desk: Desk) -> None:
    before = waited(desk)
    seen: list[Snapshot] = []
    put = desk._put

    def putting(sheet: Sheet, snapshot: Snapshot) -> None:
        put(sheet, snapshot)
        seen.append(snapshot)

    desk._put = putting  # type: ignore[method-assign]
    desk.try_text(PAGE, JOB.replace("[deep teal flake]", "[deep teal flake, white powder]"))
    waited(desk)
    desk.try_text(PAGE, JOB.replace("30 mm x 20 mm", "30 mm x 21 mm"))
    waited(desk)
    cells = [(snapshot.coarse, snapshot.made.replay.spec.cell_mm) for snapshot in seen]
    cell = before.made.replay.spec.cell_mm
    assert cells == [(True, cell), (False, cell), (True, FIRST_CELL_MM), (False, cell)]
    assert seen[0].film is seen[1].film, "the check repaints what was seen first"
    assert seen[0].film is not before.film


def test_jobs_that_differ_in_what_is_poured_are_cut_alike(desk: Desk) -> None:
    job = read_job(desk.path, JOB)
    for text in (JOB.replace("pieces: 2", "pieces: 5"), JOB.replace("deep teal", "teal")):
        assert text != JOB
        assert cut_alike(job, read_job(desk.path, text))
    for was, now in (("depth: 2 mm", "depth: 1 mm"), ("x 20 mm", "x 21 mm"), ("through", "4 mm")):
        assert not cut_alike(job, read_job(desk.path, JOB.replace(was, now)))


def test_a_slip_is_told_with_its_line_and_the_last_picture_stays(desk: Desk) -> None:
    first = waited(desk)
    desk.try_text(PAGE, JOB.replace("depth: 2 mm", "depth: 2"))
    again = waited(desk, PAGE)
    now = desk.status(PAGE)
    assert again is first
    assert [slip.source.line for slip in now.slips if slip.source] == [11]


def test_saving_keeps_comments_order_and_line_ends(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + JOB.replace("\n", "\r\n").encode())
    desk = Desk(path)
    now = desk.status()
    assert now.text == JOB
    desk.save(JOB.replace("pieces: 2", "pieces: 3"), now.digest)
    wanted = b"\xef\xbb\xbf" + JOB.replace("pieces: 2", "pieces: 3").replace("\n", "\r\n").encode()
    assert path.read_bytes() == wanted


def test_two_windows_and_an_outside_edit_never_lose_a_change(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    was = desk.status().digest
    first = desk.save(f"{JOB}# one\n", was)
    with pytest.raises(ChangedOutsideError):
        desk.save(f"{JOB}# two\n", was)
    assert path.read_text("utf-8") == f"{JOB}# one\n"
    path.write_text(f"{JOB}# theirs\n", encoding="utf-8")
    with pytest.raises(ChangedOutsideError):
        desk.save(f"{JOB}# mine\n", first)
    assert path.read_text("utf-8") == f"{JOB}# theirs\n"
    assert desk.status().text == f"{JOB}# theirs\n"
    assert not desk.status().outside


def test_undoing_goes_back_step_by_step(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text("a: 1\n", encoding="utf-8")
    desk = Desk(path)
    for text in ("a: 2\n", "a: 3\n"):
        desk.save(text, desk.status().digest)
    for text, left in (("a: 2\n", 1), ("a: 1\n", 0)):
        desk.undo(desk.status().digest)
        assert path.read_text("utf-8") == text
        assert desk.status().undo == left
    assert desk.undo(desk.status().digest) == digest(b"a: 1\n")


def test_a_file_taken_away_is_noticed(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text("a: 1\n", encoding="utf-8")
    desk = Desk(path)
    path.unlink()
    assert desk.status().outside


def test_what_has_not_changed_is_not_done_again(desk: Desk) -> None:
    seen = waited(desk)
    first = seen.made
    desk.try_text(PAGE, "# one line more\n" + JOB)
    again = waited(desk, PAGE)
    second = again.made
    assert second.replay is first.replay
    assert again.film is seen.film
    assert all(new is old for new, old in zip(second.gcode_files, first.gcode_files, strict=True))
    assert [fit.reaches for fit in second.fits] == [fit.reaches for fit in first.fits]
    desk.try_text(PAGE, JOB.replace("deep teal flake", "teal flake"))
    coloured = waited(desk, PAGE)
    assert coloured.made.replay is first.replay
    assert coloured.film is not seen.film


@pytest.mark.parametrize("data", [b"a\nb\n", b"a\r\nb\r\n", b"\xef\xbb\xbfa\n", b"no end"])
def test_a_spelling_comes_back_as_it_was(data: bytes) -> None:
    text, spelling = spell(data)
    assert "\r" not in text
    assert spelling.write(text) == data
