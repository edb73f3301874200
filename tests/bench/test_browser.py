"""The real page in a browser, used as a person would; pictures are kept to be looked at."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from flushwork.views.figures import MINUS
from tests.bench.conftest import AT_REST, JOB, Served, hold, keep, until

Colour = tuple[int, int, int]


def resin(colour: Colour) -> bool:
    """Whether it is the resin of the job."""
    return colour[0] < colour[2]


def bare(colour: Colour) -> bool:
    """Whether it is bare wood."""
    return colour[0] > colour[2] + 25


def painted(page: Page, holds: Callable[[Colour], bool]) -> None:
    """Wait until the middle of the painted board has a colour: it is painted behind the page."""
    until(page, lambda: holds(colour_at(page, 0.5, 0.5)))


def colour_at(page: Page, across: float, down: float) -> Colour:
    """Return the colour of the painted board at a share of its canvas."""
    picture = Image.open(io.BytesIO(page.locator("#live").screenshot())).convert("RGB")
    at = (int(picture.width * across), int(picture.height * down))
    red, green, blue = picture.getpixel(at)  # type: ignore[misc]
    return red, green, blue


def test_the_board_lives(page: Page) -> None:
    keep(page, "desk-head")
    painted(page, resin)
    page.locator('.shot[data-stage="0"]').click()
    painted(page, bare)
    expect(page.locator("#stage-title")).to_have_text("The blank as sawn")
    page.locator('.shot[aria-selected="true"]').press("End")
    expect(page.locator("#stage-title")).to_contain_text("Finish")
    page.click("#turn")
    painted(page, bare)
    page.click("#turn")
    page.click("#tilt")
    page.wait_for_function(AT_REST)
    keep(page, "desk-tilted")
    page.click("#tilt")


def test_light_makes_flakes_flash(page: Page) -> None:
    page.locator('.shot[data-stage="6"]').click()
    page.click('button[data-mode="light"]')
    box = page.locator("#live").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def light_from(dx: float) -> None:
        page.mouse.move(x + dx, y)
        page.mouse.down()
        page.mouse.move(x + dx + 1, y)
        page.mouse.up()
        page.wait_for_function(AT_REST)

    light_from(-250)
    first = page.locator("#live").screenshot()
    light_from(0)
    until(page, lambda: page.locator("#live").screenshot() != first)
    keep(page, "desk-light")


def test_sawing_across_and_measuring(page: Page) -> None:
    page.click('button[data-mode="section"]')
    box = page.locator("#live").bounding_box()
    assert box is not None
    y = box["y"] + box["height"] / 2
    page.mouse.move(box["x"] + box["width"] * 0.35, y)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] * 0.65, y + 10, steps=5)
    page.mouse.up()
    page.click('button[data-mode="section"]')
    expect(page.locator("#cut")).to_have_attribute(
        "aria-label", re.compile(r"^Section .* least wood")
    )
    page.locator("#cut").hover(position={"x": 400, "y": 60})
    expect(page.locator("#column")).to_contain_text("from A")
    keep(page, "desk-section")
    page.click('button[data-mode="measure"]')
    box = page.locator("#live").bounding_box()
    assert box is not None
    y = box["y"] + box["height"] / 2
    page.mouse.click(box["x"] + box["width"] * 0.45, y)
    page.mouse.click(box["x"] + box["width"] * 0.55, y)
    expect(page.locator("#readout")).to_contain_text("apart")
    keep(page, "desk-measure")


def test_the_line_of_a_section_is_typed_moved_with_keys_and_goes_to_middles(page: Page) -> None:
    """Places count from the middle of the trim line; the bar of the scale is as long as told."""
    line = (
        "() => { const { line, origin: [ox, oy] } = bench.board;"
        " return line.map(([x, y]) => [x - ox, y - oy]); }"
    )
    page.wait_for_function("() => bench.hand.index")
    page.click('button[data-mode="section"]')
    for name, value in (("A-right", "-20"), ("A-up", "5"), ("B-right", "2.2 cm"), ("B-up", "-3,5")):
        field = page.locator(f"#line-form [name={name}]")
        field.fill(value)
        field.press("Tab")
    assert page.evaluate(line) == [pytest.approx([-20, 5]), pytest.approx([22, -3.5])]
    expect(page.locator("#line-long")).to_have_text("42.85 mm long")
    page.locator("#line-form [name=A-up]").fill("far")
    page.locator("#line-form [name=A-up]").press("Tab")
    expect(page.locator("#line-form [name=A-up]")).to_have_value("5.00")
    page.locator("#live").focus()
    page.keyboard.press("ArrowRight")
    assert page.evaluate(line) == [pytest.approx([-19, 5]), pytest.approx([23, -3.5])]
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowUp")
    assert page.evaluate(line) == [pytest.approx([-19, 5.1]), pytest.approx([23, -3.5])]
    # its end B is dragged to within a few pixels of a hole: it goes to the middle of that
    spot = (
        "([right, up]) => { const { board } = bench, [ox, oy] = board.origin,"
        " box = board.canvas.getBoundingClientRect();"
        " const [x, y] = board.camera.toScreen(ox + right, oy + up);"
        " return [box.left + x, box.top + y]; }"
    )
    page.mouse.move(*page.evaluate(spot, [23, -3.5]))
    page.mouse.down()
    x, y = page.evaluate(spot, [30, 0])
    page.mouse.move(x + 3, y + 2, steps=4)
    page.mouse.up()
    assert page.evaluate(line) == [pytest.approx([-19, 5.1]), pytest.approx([30, 0])]
    x, y = page.evaluate(spot, [12, -7])
    page.mouse.move(x, y)
    told = page.locator("#place").inner_text()
    plain = told.replace(MINUS, "-")
    right, up = (float(each) for each in re.findall(r"(-?[\d.]+) mm", plain))
    near = 1.0 / page.evaluate("bench.board.camera.scale")
    assert right == pytest.approx(12, abs=near)
    assert up == pytest.approx(-7, abs=near)
    told_mm = page.locator("#over .scale-words").last.text_content() or ""
    long_mm = float(told_mm.removesuffix(" mm"))
    bar = page.locator("#over .scale").last.evaluate("e => e.getBBox().width")
    assert bar == pytest.approx(long_mm * page.evaluate("bench.board.camera.scale"), abs=0.2)
    page.click('button[data-mode="move"]')


def test_change_and_see(page: Page, bench: Served) -> None:
    hold(page, "text")
    area = page.locator("#job")
    expect(area).to_have_value(JOB)
    area.fill(JOB.replace("depth: 2 mm", "depth: 2"))
    expect(page.locator("#slips li").first).to_contain_text("line 11")
    keep(page, "desk-slip")
    area.fill(JOB.replace("pieces: 2", "pieces: 3"))
    expect(page.locator("#slips li")).to_have_count(0)
    expect(page.locator("#head .caps")).to_contain_text("3 pieces")
    assert bench.path.read_text("utf-8") == JOB
    area.press("Control+s")
    expect(page.locator("#text-state")).to_have_text("Saved.")
    assert bench.path.read_text("utf-8") == JOB.replace("pieces: 2", "pieces: 3")
    page.click("#undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert bench.path.read_text("utf-8") == JOB


def test_small_forms_change_the_text(page: Page, bench: Served) -> None:
    hold(page, "text")
    area = page.locator("#job")
    expect(area).to_have_value(JOB)
    page.locator("#small summary").click()
    depth = page.get_by_role("group", name="plate, front").get_by_label("depth")
    expect(depth).to_have_value("2 mm")
    depth.fill("1.5 mm")
    depth.press("Enter")
    expect(page.locator("#small-said")).to_contain_text("2 mm before, 1.5 mm now")
    expect(area).to_have_value(JOB.replace("depth: 2 mm", "depth: 1.5 mm"))
    expect(page.locator("#cuts .figures").first).to_contain_text("1.70 mm")
    keep(page, "desk-forms")
    page.click("#revert")
    expect(depth).to_have_value("2 mm")
    assert bench.path.read_text("utf-8") == JOB


def test_a_small_form_takes_a_value_out_again(page: Page, bench: Served) -> None:
    hold(page, "text")
    area = page.locator("#job")
    expect(area).to_have_value(JOB)
    page.locator("#small summary").click()
    run = page.get_by_role("group", name="the run")
    pieces = run.get_by_label("pieces", exact=True)
    expect(pieces).to_have_value("2")
    run.get_by_role("button", name="Take out pieces of the run; then: 1").click()
    expect(page.locator("#small-said")).to_contain_text("2 before, taken out now, so: 1")
    expect(area).to_have_value(JOB.replace("pieces: 2\n", ""))
    expect(run.get_by_role("button")).to_have_count(0)
    keep(page, "desk-form-taken-out")
    page.click("#save")
    expect(page.locator("#text-state")).to_have_text("Saved.")
    assert bench.path.read_text("utf-8") == JOB.replace("pieces: 2\n", "")
    page.click("#undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert bench.path.read_text("utf-8") == JOB
    expect(area).to_have_value(JOB)


def test_an_outside_edit_is_never_overwritten_unasked(page: Page, bench: Served) -> None:
    hold(page, "text")
    area = page.locator("#job")
    expect(area).to_have_value(JOB)
    area.fill(f"{JOB}# mine\n")
    bench.path.write_text(f"{JOB}# theirs\n", encoding="utf-8")
    expect(page.locator("#conflict")).to_be_visible()
    keep(page, "desk-conflict")
    assert bench.path.read_text("utf-8") == f"{JOB}# theirs\n"
    page.click("#take")
    expect(area).to_have_value(f"{JOB}# theirs\n")
    area.fill(JOB)
    page.click("#save")
    expect(page.locator("#text-state")).to_have_text("Saved.")
    assert bench.path.read_text("utf-8") == JOB


def test_keys_alone_reach_everything(page: Page) -> None:
    """Tab visits the strip, the board, every tool, each sheet; keys do what dragging does."""
    seen: list[str] = []
    page.locator('button[data-mode="section"]').click()
    for sheet in ("text", "beside"):
        hold(page, sheet)
        if sheet == "text":
            expect(page.locator("#editor .cm-content")).to_be_visible()
        page.evaluate("document.activeElement.blur()")
        for _ in range(60):
            page.keyboard.press("Tab")
            name = page.evaluate(
                "document.activeElement.id || document.activeElement.dataset.mode || ''"
            )
            seen.append(name)
    page.locator('button[data-mode="move"]').click()
    assert "net-on" in seen
    for wanted in (
        "inch", "shade", "reel", "live", "section", "turn", "tilt", "closer", "whole", "cut",
        "editor",
    ):  # fmt: skip
        assert wanted in seen, f"{wanted} is not reached; {seen}"
    page.locator("#reel").focus()
    page.keyboard.press("Home")
    expect(page.locator("#stage-title")).to_have_text("The blank as sawn")
    page.locator("#live").focus()
    page.keyboard.press(".")
    expect(page.locator("#stage-title")).to_contain_text("1.")
    page.keyboard.press("s")
    expect(page.locator('button[data-mode="section"]')).to_have_attribute("aria-checked", "true")
    page.keyboard.press("m")
    page.keyboard.press("Enter")
    expect(page.locator("#readout")).to_contain_text("Here:")


def test_without_webgl_there_are_still_pictures(page: Page, bench: Served) -> None:
    page.goto(f"{bench.address}?still")
    page.wait_for_selector("html[data-picture=checked]")
    painted(page, resin)
    expect(page.locator("#tilt")).to_be_disabled()
    keep(page, "desk-still")


def test_inches_and_the_dark_page(page: Page, bench: Served) -> None:
    page.click("#inch")
    page.wait_for_url("**/?units=inch")
    page.wait_for_selector("html[data-picture=checked]")
    expect(page.locator("#inch")).to_be_checked()
    expect(page.locator("#head .lead")).to_contain_text(" in. ")
    page.click('button[data-mode="section"]')
    expect(page.locator("#heights")).to_contain_text("Heights in inches: as sawn 0.000")
    page.select_option("#shade", "dark")
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == (
        "rgb(27, 25, 23)"
    )
    keep(page, "desk-dark")
    page.select_option("#shade", "")


def test_the_page_fits_a_phone(browser: Browser, bench: Served) -> None:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, has_touch=True, device_scale_factor=2
    )
    phone = context.new_page()
    phone.goto(bench.address)
    phone.wait_for_selector("html[data-picture=checked]")
    keep(phone, "phone-head")
    phone.wait_for_selector(".odds:not(.waiting)", state="attached")
    phone.wait_for_function(AT_REST)
    keep(phone, "phone-board")
    wide = phone.evaluate("document.documentElement.scrollWidth")
    assert wide <= 390, f"the page is {wide} wide"
    context.close()


def test_a_closed_bench_loses_nothing(browser: Browser, tmp_path: Path) -> None:
    """With every request failing the page says so in words and keeps what was typed."""
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    served = Served(path)
    context = browser.new_context()
    page = context.new_page()
    page.goto(served.address)
    expect(page.locator("#job")).to_have_value(JOB)
    hold(page, "text")
    context.set_offline(True)
    page.locator("#job").fill(f"{JOB}# typed while away\n")
    expect(page.locator("#work")).to_contain_text("closed")
    context.set_offline(False)
    page.reload()
    expect(page.locator("#job")).to_have_value(f"{JOB}# typed while away\n")
    assert path.read_text("utf-8") == JOB
    context.close()
