"""A job of several parts on the page: the first is shown, the others are told of and pictured."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from flushwork.bench.desk.desk import Desk
from flushwork.bench.pages.whole_page import check, job_view, page_context
from tests.bench.conftest import ask, waited
from tests.scenarios.test_several_parts import BOTH

LEAST_BYTES = 2000
"""A picture of a face takes more."""


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    path = tmp_path_factory.mktemp("parts") / "job.yaml"
    text = BOTH.replace("circle: 30 mm, depth: 2 mm", "circle: 30 mm, depth: 8 mm")
    path.write_text(text, "utf-8")
    made = Desk(path)
    made.open()
    yield made
    made.close()


def test_the_page_tells_of_the_other_parts_and_shows_their_faces(desk: Desk) -> None:
    snapshot = waited(desk)
    page = ask(desk, "GET", "/").text
    assert (
        "This page shows board, its steps and days. Lid: checked, poured and planned with it"
        in page
    )
    (address,) = re.findall(r'src="(/board/\d+/part/0\?face=front)"', page)
    picture = ask(desk, "GET", address)
    assert picture.status_code == 200
    assert picture.content[1:4] == b"PNG"
    assert len(picture.content) > LEAST_BYTES
    assert ask(desk, "GET", f"/board/{snapshot.generation}/part/1?face=front").status_code == 404


def test_what_is_found_in_another_part_is_told_but_pinned_on_no_face(desk: Desk) -> None:
    context = page_context(waited(desk).made, "metric", coarse=False)
    pins = [pin for group in check(context) for pin in group.pins]
    lid = [pin for pin in pins if pin.view.message.startswith("lid: ")]
    assert any(pin.view.mark == "must-fix" for pin in lid)
    assert any(item.part == "lid" and item.place for item in context.build.findings)
    for pin in lid:
        assert (pin.view.number, pin.face, pin.picture) == (0, "", -1)
        assert not pin.drawn
        assert not pin.fixable
    assert job_view(context).verdict.mark == "must-fix"
