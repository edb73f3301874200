"""What the page works out by itself: where the eye is, what is touched, how it is named."""

from __future__ import annotations

import random
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Page
from shapely.geometry import Point, Polygon

from tests.many import examples

SEEN = """async (cases) => {
  const { Camera } = await import('/static/camera.js');
  return cases.map(({ set, at, zoom, by }) => {
    const camera = Object.assign(new Camera(), set);
    const there = camera.toScreen(...at), back = camera.toBoard(...there);
    camera.zoom(zoom, ...there);
    const zoomed = camera.toScreen(...at);
    camera.pan(...by);
    const panned = camera.toScreen(...at);
    return { there, back, zoomed, panned };
  });
}"""


def test_a_place_of_the_board_is_found_again_on_the_picture_and_stays_under_the_pointer(
    page: Page,
) -> None:
    lots, cases = random.Random(5), list[dict[str, Any]]()  # noqa: S311
    for _ in range(examples(60)):
        u = lots.uniform
        cases.append({
            "set": {"x": u(-50, 500), "y": u(-50, 300), "scale": u(0.5, 40), "lean": u(0, 1.2),
                    "spin": u(-3, 3), "flip": lots.choice((1, -1)), "flipX": lots.random() < 0.5,
                    "width": u(200, 1900), "height": u(200, 1000)},
            "at": [u(0, 400), u(0, 250)], "zoom": u(0.5, 2), "by": [u(-90, 90), u(-90, 90)],
        })  # fmt: skip
    for case, told in zip(cases, page.evaluate(SEEN, cases), strict=True):
        # the page works in single precision
        assert told["back"] == pytest.approx(case["at"], abs=0.02), case
        assert told["zoomed"] == pytest.approx(told["there"], abs=1.0)
        moved = [a - b for a, b in zip(told["panned"], told["zoomed"], strict=True)]
        assert moved == pytest.approx(case["by"], abs=1.0)


UNDER = """async (cases) => {
  const { under } = await import('/static/hand.js');
  return cases.map(([shape, x, y]) => under(shape, x, y));
}"""


def test_what_lies_under_a_place_is_what_geometry_says(page: Page) -> None:
    """Against Shapely: inside or not, and how far from the edge."""
    lots, cases = random.Random(6), list[list[Any]]()  # noqa: S311
    wanted: list[tuple[bool, float]] = []
    while len(cases) < examples(60):
        ring = [(lots.uniform(0, 60), lots.uniform(0, 40)) for _ in range(lots.randrange(3, 8))]
        shape = Polygon(ring)
        if not shape.is_valid or shape.area < 1.0:
            continue
        hole = shape.buffer(-lots.uniform(1, 4))
        inner = [hole.exterior.coords] if isinstance(hole, Polygon) and not hole.is_empty else []
        whole = Polygon(ring, inner)
        rings = [list(each.coords) for each in (whole.exterior, *whole.interiors)]
        x, y = lots.uniform(-5, 65), lots.uniform(-5, 45)
        cases.append([{"rings": rings}, x, y])
        wanted.append((whole.contains(Point(x, y)), whole.boundary.distance(Point(x, y))))
    for _ in range(examples(20)):
        x, y, radius = lots.uniform(0, 20), lots.uniform(0, 20), lots.uniform(1, 6)
        cases.append([{"at": [[10, 10]], "radius": radius}, x, y])
        far = Point(10, 10).distance(Point(x, y)) - radius
        wanted.append((far <= 0, max(0.0, far)))
    assert len({inside for inside, _ in wanted}) == 2
    for told, (inside, far) in zip(page.evaluate(UNDER, cases), wanted, strict=True):
        assert told["inside"] == inside
        assert told["far"] == pytest.approx(far, abs=1e-9)


NAMES = ("plate", "a/b", "100 %", "two words", "#1?", "Käse 木", "<b>", "", "%2F")
ADDRESSES = """async (keys) => {
  const { addressOf, keyOf } = await import('/static/hand.js');
  return keys.map((key) => [addressOf(key), keyOf(new URL(addressOf(key), location.href).hash)]);
}"""


def test_every_thing_is_found_again_by_its_address(page: Page) -> None:
    keys = [f"{kind}/{name}" for kind in ("inlay/front", "pour", "finding") for name in NAMES]
    for key, (address, back) in zip(keys, page.evaluate(ADDRESSES, keys), strict=True):
        assert back == key
        assert address.startswith("#")
        assert not set(' "<>#?') & set(address[1:])
    assert page.evaluate("import('/static/hand.js').then((own) => own.keyOf('#%E0%A4%A'))") == ""


WEIGHED = """async ([values, answer]) => {
  const { weighAlong } = await import('/static/along.js');
  const form = document.createElement('form');
  Object.assign(form.dataset, { g: '1', unit: 'g', beside: '0' });
  for (const [name, value] of Object.entries(values)) {
    const input = document.createElement('input');
    Object.assign(input, { name, value });
    form.append(input);
  }
  const told = document.createElement('output'), sent = [];
  form.append(told);
  await weighAlong(form, async (body) => {
    sent.push(body);
    if (typeof answer === 'string') throw new Error(answer);
    return answer;
  });
  return [told.textContent, sent];
}"""
FINE = {"fine": True, "target_g": 16.416, "low_g": 16.4, "high_g": 16.5, "step_g": 0.01}
ALONG: tuple[tuple[dict[str, str], object, str, int], ...] = (
    ({"resin": "", "before": "", "after": ""}, FINE, "", 0),
    ({"resin": "11.4", "before": "11.4", "after": ""}, FINE,
     "Add hardener until it shows 16.42 g; stop between 16.40 g and 16.50 g.", 1),
    ({"resin": "11.4", "before": "9", "after": ""}, FINE,
     "Before the hardener it cannot show less than with the resin alone.", 0),
    ({"resin": "11.4", "before": "", "after": ""}, {**FINE, "fine": False},
     "This is too little for this scale", 1),
    ({"resin": "11.4", "before": "", "after": "16.9"},
     {**FINE, "kind": "resin", "over": 0.094, "add_g": 1.07, "then_g": 17.97},
     "9.4 % too much hardener. Add 1.07 g of resin, until it shows 17.97 g.", 1),
    ({"resin": "11.4", "before": "", "after": "16.42"}, {**FINE, "kind": "", "over": 0.001},
     "The ratio holds (0.1 % off). Stir.", 1),
    ({"resin": "11.4", "before": "", "after": ""}, "the bench does not answer.",
     "Nothing can be told: the bench does not answer.", 1),
)  # fmt: skip


def test_weighing_along_tells_what_to_add_and_nothing_it_does_not_know(page: Page) -> None:
    for values, answer, words, asked in ALONG:
        told, sent = page.evaluate(WEIGHED, [values, answer])
        assert told == words if not words.startswith("This is") else told.startswith(words)
        assert len(sent) == asked, values


CHANGES = """async (pairs) => {
  const { changeOf } = await import('/static/steps.js');
  return pairs.map(([before, after]) => changeOf(before, after));
}"""


def test_the_least_change_makes_one_text_the_other(page: Page) -> None:
    lots = random.Random(7)  # noqa: S311
    texts = ["".join(lots.choices("ab\n", k=lots.randrange(9))) for _ in range(examples(80))]
    pairs = list(pairwise(texts))
    for (before, after), told in zip(pairs, page.evaluate(CHANGES, pairs), strict=True):
        start, end = told["from"], told["to"]
        assert 0 <= start <= end <= len(before)
        assert before[:start] + told["insert"] + before[end:] == after
        if before != after and told["insert"] and end > start:
            assert told["insert"][0] != before[start]
