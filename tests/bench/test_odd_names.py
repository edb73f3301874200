"""Names that would be scripts: shown as text everywhere, run nowhere, on every page and file."""

from __future__ import annotations

import base64
import datetime as dt
import io
import json
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.film.stills import finding_drawing
from flushwork.book.compose import book_view
from flushwork.book.html import html_text
from flushwork.built import Build
from flushwork.usecases.plan import plan_files
from tests.bench.conftest import Served, ask, hold, keep, waited
from tests.bench.odd_job import ART, NAMES, RUNS, odd, odd_job

TODAY = dt.date(2027, 2, 1)
NOTE = odd("note")


class Tags(HTMLParser):
    """All tags of a page with their attributes, and its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    handle_startendtag = handle_starttag

    def handle_data(self, data: str) -> None:
        self.words += data


def runs(text: str) -> list[str]:
    """Return the tags of a page that run something, or ask for what is not the project's own."""
    own = ("/static/", "/board/", "data:image/", "#", "/")
    return [
        f"{tag} {attributes}"
        for tag, attributes in Tags(text).tags
        if (tag == "script" and not str(attributes.get("src", "")).startswith("/static/"))
        or tag in {"iframe", "object", "embed", "base"}
        or any(name.startswith("on") for name in attributes)
        or any(
            attributes.get(name) is not None and not str(attributes[name]).startswith(own)
            for name in ("src", "href")
        )
    ]


@pytest.fixture(scope="module")
def odd_desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Desk]:
    desk = Desk(odd_job(tmp_path_factory.mktemp("odd")))
    desk.open()
    waited(desk)
    yield desk
    desk.close()


@pytest.fixture(scope="module")
def odd_shown(odd_desk: Desk) -> Snapshot:
    return waited(odd_desk)


@pytest.fixture(scope="module")
def made(odd_shown: Snapshot) -> Build:
    return odd_shown.made


@pytest.fixture(scope="module")
def book(made: Build) -> str:
    return html_text(book_view(made, {}, TODAY))


def test_the_guard_of_these_tests_would_find_a_script() -> None:
    for harm in ("<script>1</script>", "<b onclick=1>", "<img src=x>", "<a href=javascript:1>"):
        assert runs(f"<p>{harm}</p>")
    assert not runs(f"<p>{NAMES['title'].replace('<', '&lt;')}</p>")


def test_every_answer_of_the_bench_shows_names_as_text(odd_desk: Desk, odd_shown: Snapshot) -> None:
    number = odd_shown.generation
    ask(odd_desk, "POST", "/log/note", json={"stage": odd("stage"), "text": NOTE})
    words = ""
    for path in ("/", "/machine", "/shelf", "/?units=inch"):
        text = ask(odd_desk, "GET", path).text
        assert runs(text) == [], path
        words += Tags(text).words
    told = [
        *ask(odd_desk, "GET", "/parts").json()["parts"].values(),
        ask(odd_desk, "GET", f"/asking/{number}/stakes").json()["run"],
        *(
            each["html"]
            for each in ask(odd_desk, "GET", f"/asking/{number}/stakes").json()["stages"]
        ),
        ask(odd_desk, "GET", f"/doing/{number}/days").json()["html"],
        ask(odd_desk, "POST", f"/doing/{number}/pour/1/scaled", json={"pieces": 3}).json()["html"],
    ]
    for html in told:
        assert runs(html) == []
        words += Tags(html).words
    for name in ("title", "shop", "bit", "wood", "resin", "pigment", "sealer", "mix", "inlay",
                 "holes", "holding"):  # fmt: skip
        assert NAMES[name] in words, f"the {name} is shown as it is written"


def test_data_is_never_taken_for_a_page(odd_desk: Desk, odd_shown: Snapshot) -> None:
    """What is sent as data says that it is data, and no reader may guess otherwise."""
    number = odd_shown.generation
    for path in ("/standing", "/text", "/log", f"/board/{number}/film", f"/asking/{number}/stakes",
                 f"/board/{number}/column?stage=1&x=45&y=35", f"/doing/{number}/pour/1/pockets",
                 f"/doing/{number}/path/0"):  # fmt: skip
        answer = ask(odd_desk, "GET", path)
        assert answer.status_code == 200, path
        assert answer.headers["content-type"].startswith("application/json")
        assert answer.headers["x-content-type-options"] == "nosniff"


def test_the_book_shows_names_as_text(book: str) -> None:
    assert runs(book) == []
    words = Tags(book).words
    for name in ("title", "bit", "wood", "resin", "pigment", "sealer", "finish", "mix",
                 "inlay", "holes", "holding"):  # fmt: skip
        assert NAMES[name] in words, f"the {name} is shown as it is written"


def test_every_drawing_holds_names_as_text(made: Build, odd_shown: Snapshot, book: str) -> None:
    drawings = re.findall(r"<svg.*?</svg>", book, re.DOTALL)
    drawings += [
        svg
        for finding in made.findings
        if (svg := finding_drawing(odd_shown, finding, "metric")) is not None
    ]
    drawings += [
        data.decode() for name, data in plan_files(made, TODAY).items() if name.endswith(".svg")
    ]
    assert len(drawings) > 5
    for svg in drawings:
        for node in ET.fromstring(svg).iter():  # noqa: S314
            assert node.tag.rpartition("}")[2] not in {"script", "img", "foreignObject"}
            assert not [name for name in node.attrib if name.lower().startswith("on")]


def test_plan_files_and_calendar_hold_names_as_text(made: Build) -> None:
    files = plan_files(made, TODAY)
    assert {Path(name).suffix for name in files} >= {".ics", ".json"}
    for name, data in files.items():
        assert "<" not in name
        assert ">" not in name
        if name.endswith((".html", ".htm")):
            assert runs(data.decode()) == []
        if name.endswith(".json"):
            json.loads(data)
        if name.endswith(".ics"):
            lines = data.decode().replace("\r\n ", "").split("\r\n")
            known = re.compile(r"[A-Z][A-Z-]*(;[^:\n]*)?:|$")
            assert all(known.match(line) for line in lines), "no name makes a line of its own"
            assert any(line.startswith("SUMMARY") and "<script>" in line for line in lines)


def test_gcode_files_are_named_and_worded_so_that_no_name_is_a_command(made: Build) -> None:
    for file in made.gcode_files:
        assert re.fullmatch(r"[\w.,+ -]+", file.file_name)
        for line in file.text.splitlines():
            plain = re.sub(r"\([^()]*\)", "", line)
            assert "<" not in plain, line
            assert "(" not in plain, line


def test_a_photo_of_an_odd_step_has_a_plain_name(odd_desk: Desk) -> None:
    picture = io.BytesIO()
    Image.new("RGB", (8, 8), "#a06030").save(picture, "JPEG")
    answer = ask(
        odd_desk, "POST", "/log/photo", params={"stage": odd("step ../..")},
        content=picture.getvalue(), headers={"content-type": "image/jpeg"},
    )  # fmt: skip
    assert answer.status_code == 200, answer.text
    (name,) = answer.json()["photos"][odd("step ../..")]
    assert re.fullmatch(r"[\w ,.-]+\.jpg", name)
    assert ".." not in name
    folder = odd_desk.path.with_name(f"{odd_desk.path.stem} photos")
    assert [each.name for each in folder.iterdir()] == [name]


@pytest.fixture(scope="module")
def odd_bench(tmp_path_factory: pytest.TempPathFactory) -> Served:
    return Served(odd_job(tmp_path_factory.mktemp("served-odd")))


def unharmed(page: Page) -> None:
    page.wait_for_timeout(300)
    assert page.evaluate("typeof window.ran") == "undefined", "a name has run"
    assert page.locator("img[src=x]").count() == 0


def test_nothing_runs_in_the_real_page(browser: Browser, odd_bench: Served) -> None:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    page = context.new_page()
    page.goto(odd_bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    page.wait_for_selector(".odds:not(.waiting)", state="attached")
    page.wait_for_selector("#reel .held", state="attached")
    expect(page.get_by_role("heading", level=1)).to_have_text(NAMES["title"])
    hold(page, "text")
    page.locator("#small summary").click()
    expect(page.locator("#small-fields fieldset").first).to_be_visible()
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    for shot in range(page.locator("#reel .shot").count()):
        page.evaluate("at => bench.strip.go(at)", shot)
    page.locator("#live").focus()
    page.keyboard.press("m")
    page.keyboard.press("Enter")
    expect(page.locator("#readout")).to_contain_text(NAMES["sealer"])
    page.click('button[data-mode="section"]')
    page.locator("#cut").focus()
    page.keyboard.press("ArrowRight")
    for thing in page.evaluate("Object.keys(bench.hand.index.words)"):
        hold(page, thing)
        expect(page.locator("#thing-title")).to_be_visible()
    hold(page, "today")
    hold(page, "pour/1")
    page.locator("button.pockets").first.click()
    hold(page, "setup/1")
    page.locator("#cuts button.path").first.click()
    hold(page, "days")
    page.locator("#days .step-bar").filter(has_text="inlay").first.focus()
    expect(page.locator("#chart-words")).to_contain_text(NAMES["inlay"])
    text = odd_bench.path.read_text("utf-8")
    hold(page, "text")
    page.locator("#job").fill(f"{text}odd {RUNS}: 1\n")
    expect(page.locator("#slips")).to_contain_text(f"odd {RUNS}")
    page.locator("#job").fill(text.replace(f"layers: ['{NAMES['layer']}']", f"layers: ['{RUNS}']"))
    expect(page.locator("#slips")).to_contain_text(NAMES["layer"])
    hold(page, "check")
    keep(page, "desk-odd-names")
    unharmed(page)
    page.goto(f"{odd_bench.address}shelf")
    expect(page.get_by_role("rowheader").filter(has_text=NAMES["bit"])).to_be_visible()
    unharmed(page)
    context.close()


def test_nothing_runs_on_the_phone_nor_in_the_book_and_its_drawings(
    browser: Browser, odd_bench: Served, made: Build, book: str, tmp_path: Path
) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True)
    phone = context.new_page()
    phone.goto(f"{odd_bench.address}machine")
    expect(phone.locator("h1:visible")).to_be_visible()
    for _ in range(phone.locator(".screen").count() - 1):
        phone.click("#on")
    phone.locator("textarea:visible").fill(NOTE)
    phone.locator("#back").click()
    phone.reload()
    phone.click("#on")
    picture = io.BytesIO()
    Image.new("RGB", (8, 8), "#a06030").save(picture, "PNG")
    phone.locator(".snap:visible input").set_input_files(
        {"name": f"{RUNS}.png", "mimeType": "image/png", "buffer": picture.getvalue()}
    )
    expect(phone.locator(".shots:visible img")).to_have_count(1)
    keep(phone, "phone-odd-names")
    unharmed(phone)
    (tmp_path / "book.html").write_text(book, encoding="utf-8")
    phone.goto((tmp_path / "book.html").as_uri())
    assert NAMES["title"] in phone.locator("body").inner_text()
    unharmed(phone)
    for name, data in plan_files(made, TODAY).items():
        if name.endswith((".svg", ".html")):
            address = f"data:{'image/svg+xml' if name.endswith('.svg') else 'text/html'};base64,"
            phone.goto(address + base64.b64encode(data).decode())
            unharmed(phone)
    assert ART in (odd_bench.path.read_text("utf-8"))
    context.close()
