"""A question of the page that fails: said in words, and what is no longer true is taken away."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.bench.conftest import JOB, Served, hold, keep, until

BROKEN = "It has broken here."
Do = Callable[[Page], None]


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("unanswered") / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    return Served(path)


@pytest.fixture
def opened(desk_context: BrowserContext, own: Served) -> Iterator[Page]:
    page = desk_context.new_page()
    amiss: list[str] = []
    page.on("pageerror", lambda error: amiss.append(str(error)))
    page.goto(own.address)
    page.wait_for_selector("html[data-picture=checked]")
    expect(page.locator("#odds")).not_to_have_class(re.compile("waiting"))
    yield page
    page.close()
    assert not amiss, "no question that fails is an error nobody has caught"


def broken(page: Page, pattern: str) -> None:
    """Have every question of a kind refused from now on."""

    def refuse(route: Route) -> None:
        route.fulfill(status=500, json={"error": BROKEN})

    page.route(re.compile(pattern), refuse)


def drag(page: Page, *shares: tuple[float, float]) -> None:
    """Press at the first place of the board, go to the others, and let go."""
    box = page.locator("#live").bounding_box()
    assert box is not None
    at = [(box["x"] + box["width"] * x, box["y"] + box["height"] * y) for x, y in shares]
    page.mouse.move(*at[0])
    page.mouse.down()
    for place in at[1:]:
        page.mouse.move(*place, steps=4)
    page.mouse.up()


def sawn(page: Page) -> None:
    page.click('button[data-mode="section"]')
    drag(page, (0.45, 0.25), (0.55, 0.8))


def inked(page: Page) -> int:
    """Return how many pixels of the section are drawn."""
    return int(
        page.evaluate(
            "(() => { const c = document.getElementById('cut');"
            " const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;"
            " let n = 0; for (let i = 3; i < d.length; i += 4) n += d[i] > 0; return n; })()"
        )
    )


DRAWN = """() => {
  const { section, board } = bench;
  return !section.asking && !section.drawing
    && JSON.stringify(section.drawn) === JSON.stringify(board.line);
}"""
"""The section of the line in sight is drawn, and nothing is asked any more."""


def settled(page: Page) -> int:
    """Return how many pixels of the section of this line are drawn, as high as it comes to be."""
    page.wait_for_function(DRAWN)
    page.evaluate("() => { bench.section.tall = 0; bench.section.draw(); }")
    return inked(page)


def test_a_section_that_fails_leaves_no_old_picture(opened: Page) -> None:
    sawn(opened)
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))
    assert inked(opened) > 1000
    broken(opened, "/section")
    drag(opened, (0.4, 0.4), (0.6, 0.45))
    expect(opened.locator("#unanswered")).to_contain_text("No section is shown: it has broken here")
    expect(opened.locator("#cut")).to_have_attribute("aria-label", "No section is shown")
    assert inked(opened) == 0
    for name in ("heights", "column", "cut-times"):
        expect(opened.locator(f"#{name}")).to_have_text("")
    keep(opened, "desk-unanswered")
    opened.unroute(re.compile("/section"))
    drag(opened, (0.4, 0.5), (0.6, 0.52))
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))
    expect(opened.locator("#unanswered")).to_be_hidden()


def test_a_click_without_a_drag_leaves_the_section_as_it_is(opened: Page) -> None:
    sawn(opened)
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))
    line, before = opened.evaluate("bench.board.line"), settled(opened)
    for _ in range(3):
        drag(opened, (0.3, 0.3))
        drag(opened, (0.7, 0.6), (0.701, 0.6))
    assert opened.evaluate("bench.board.line") == line
    assert settled(opened) == before
    expect(opened.locator("#unanswered")).to_be_hidden()


def test_a_line_of_one_face_is_none_on_the_other(opened: Page) -> None:
    sawn(opened)
    expect(opened.locator("#section-where")).to_have_text("From A to B.")
    opened.locator("#turn").click()
    expect(opened.locator("#section-where")).to_contain_text("Along the middle")
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("on the back"))
    opened.locator("#turn").click()
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("on the front"))


def test_the_depth_said_beside_the_slider_is_the_one_drawn(opened: Page) -> None:
    sawn(opened)
    slider, said = opened.locator("#cut-depth"), opened.locator("#cut-times")
    expect(opened.locator("#cut")).to_have_attribute("aria-label", re.compile("^Section"))
    opened.evaluate(
        "window.written = []; const pen = bench.section.pen, was = pen.fillText.bind(pen);"
        "pen.fillText = (text, ...at) => { written.push(text); was(text, ...at); }; 0"
    )

    def drawn() -> str:
        return str(opened.evaluate("written.filter((each) => each.startsWith('depth ')).at(-1)"))

    snapshot = set()
    for asked in (1, 2, 3, 30):
        slider.fill(str(asked))
        until(opened, lambda: drawn() == f"depth {said.inner_text()} times")
        told = said.inner_text()
        assert float(told) <= asked + 0.06
        assert slider.get_attribute("aria-valuetext") == f"{told} times"
        snapshot.add(told)
    assert len(snapshot) > 2


def measured(page: Page) -> None:
    page.click('button[data-mode="measure"]')
    drag(page, (0.5, 0.5))


def pressed(sheet: str, selector: str) -> Do:
    def press(page: Page) -> None:
        hold(page, sheet)
        page.locator(selector).first.click()

    return press


def filled(sheet: str, selector: str, value: str) -> Do:
    def fill(page: Page) -> None:
        hold(page, sheet)
        page.locator(selector).first.fill(value)

    return fill


UNANSWERED = "#unanswered"
ASKED: tuple[tuple[str, Do, str, str, str], ...] = (
    ("/column", measured, UNANSWERED, "What lies there is not known", "#readout"),
    ("/path/", pressed("setup/1", "#cuts button.path"), UNANSWERED, "Where the bit goes is not",
     "#player"),
    ("/pockets", pressed("pour/1", "button.pockets"), UNANSWERED, "The pockets are not shown", ""),
    ("/scaled", filled("pour/1", "form.other [name=pieces]", "5"), "form.other output",
     "No card for", ".pour .card"),
    ("/weighed", filled("pour/1", "form.along [name=resin]", "9"), "form.along output",
     "Nothing can be", ""),
    ("/form", pressed("text", "#small summary"), "#small-said", "The small forms are not",
     "#small-fields"),
    ("/asking/keys", pressed("odds", "#sweep-box summary"), "#sweep-said", "could not be listed",
     ""),
)  # fmt: skip
"""Questions of one act each: what is refused, the act, where and how it is said, what goes."""
TYPED: tuple[tuple[str, str, str, str], ...] = (
    ("/asking/.*/odds", "#odds-words", "The odds are not known", "#outcomes"),
    ("/asking/.*/stakes", UNANSWERED, "What is at stake", "#stakes"),
    ("/doing/.*/days$", UNANSWERED, "Whether other days", ""),
)
"""Questions asked once a change is checked."""
POLLED: tuple[tuple[str, str], ...] = (
    ("/parts", "What is in sight is that of before"),
    ("/standing", "The page is not as the bench has it"),
    ("/try", "What you typed is not being tried"),
)


def gone(page: Page, selector: str) -> None:
    if selector:
        left = page.locator(selector).first
        assert left.is_hidden() or left.inner_text() == "", selector


def test_each_question_of_an_act_that_fails_is_said(opened: Page) -> None:
    for pattern, act, where, words, left in ASKED:
        broken(opened, pattern)
        act(opened)
        said = opened.locator(where).first
        expect(said).to_contain_text(words)
        expect(said).to_contain_text(re.compile("broken here|can still be typed"))
        gone(opened, left)
        opened.unroute(re.compile(pattern))


def test_each_question_of_a_change_that_fails_is_said(opened: Page) -> None:
    for pattern, *_ in TYPED:
        broken(opened, pattern)
    hold(opened, "text")
    area = opened.locator("#job")
    area.fill(JOB.replace("pieces: 2", "pieces: 3"))
    for pattern, where, words, left in TYPED:
        expect(opened.locator(where)).to_contain_text(words)
        gone(opened, left)
        opened.unroute(re.compile(pattern))
    area.fill(JOB)
    expect(opened.locator(UNANSWERED)).to_be_hidden()
    expect(opened.locator("#odds")).not_to_have_class(re.compile("waiting"))
    for number, (pattern, words) in enumerate(POLLED):
        broken(opened, pattern)
        area.fill(JOB.replace("pieces: 2", f"pieces: {4 + number}"))
        expect(opened.locator(UNANSWERED)).to_contain_text(words)
        opened.unroute(re.compile(pattern))
        area.fill(JOB)
        expect(opened.locator(UNANSWERED)).to_be_hidden()


def test_questions_asked_at_the_beginning_that_fail_are_said(opened: Page) -> None:
    broken(opened, "/asking/sweep")
    broken(opened, "/network$")
    opened.reload()
    expect(opened.locator("#net-said")).to_contain_text("Whether the door is open is not known")
    expect(opened.locator("#sweep-state")).to_contain_text("is not known")


def test_no_script_of_the_page_takes_an_answer_without_looking(own: Served) -> None:
    """Whatever is fetched goes by ``ask``, or has its ``ok`` looked at right after."""
    static = Path(__file__).parents[2] / "src" / "flushwork" / "bench" / "static"
    for script in sorted(static.glob("*.js")):
        lines = script.read_text("utf-8").splitlines()
        for number, line in enumerate(lines):
            if re.search(r"(?<![.\w])(?<!async )fetch\(", line):
                near = "\n".join(lines[number : number + 8])
                assert re.search(r"\.ok\b|\bask\(|return fetch\(|return ask\(|/leave", near), (
                    f"{script.name}:{number + 1}: {line.strip()}"
                )
