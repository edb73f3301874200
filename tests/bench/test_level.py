"""What the bench keeps is bounded: over many changes, with all a page asks, it stays level."""

from __future__ import annotations

import gc
from pathlib import Path

from flushwork.bench.desk.desk import Desk
from flushwork.built import Build
from tests.bench.conftest import PAGE, ask, waited
from tests.bench.test_trials import LID

CHANGES = 9
MOST_BUILDS = 4
"""The saved job, what one page tries, its first picture, and one more that is just being let go."""


def alive() -> int:
    """Return how many builds something still holds."""
    gc.collect()
    return sum(isinstance(each, Build) for each in gc.get_objects())


def asked(desk: Desk, generation: int) -> None:
    """Ask all that a page asks of what it shows, days put off by hand among it."""
    for path in (
        f"/parts?page={PAGE}",
        f"/parts?page={PAGE}&units=inch",
        f"/board/{generation}/film",
        f"/board/{generation}/still?stage=1",
        f"/board/{generation}/section?stage=2&face=front&x0=2&y0=9&x1=30&y1=9",
        f"/board/{generation}/place/0",
        f"/board/{generation}/drawn/0",
        f"/asking/{generation}/stakes",
        f"/doing/{generation}/days",
        f"/doing/{generation}/path/0",
        "/machine",
    ):
        assert ask(desk, "GET", path).status_code in (200, 404), path
    assert ask(desk, "POST", f"/asking/{generation}/odds", json={}).status_code == 200


def test_builds_of_before_are_let_go_however_many_changes(tmp_path: Path) -> None:
    before = alive()
    path = tmp_path / "lid.yaml"
    text = LID.format(title="level", depth="2 mm")
    path.write_text(text, encoding="utf-8")
    desk = Desk(path)
    desk.open()
    first = waited(desk).generation
    wish: dict[str, object] = {"first": "2026-05-04", "off": None, "held": []}
    assert ask(desk, "POST", f"/doing/{first}/days", json=wish).status_code == 200
    held, taken = [], []
    for number in range(CHANGES):
        # by turns a depth, a size, a number of pieces, each on top of the one before
        was, now = (
            ("depth: 2", f"depth: {2 + (number + 1) / 10:.1f}"),
            ("16 mm x", f"{16 + (number + 1) / 10:.1f} mm x"),
            ("pieces: 1", f"pieces: {2 + number}"),
        )[number % 3]
        desk.try_text(PAGE, text.replace(was, now))
        asked(desk, waited(desk, PAGE).generation)
        if number % 5 == 4:
            desk.save(text.replace(was, now), desk.status().digest)
            waited(desk)
        held.append(alive() - before)
        memo = desk._builds._memo
        assert memo is not None
        taken.append(memo.shrink(10**12))
    desk.close()
    assert max(held) <= MOST_BUILDS, held
    assert max(taken[CHANGES // 2 :]) <= 1.1 * max(taken[: CHANGES // 2]), taken
