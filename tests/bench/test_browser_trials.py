"""Unsaved changes in the browser: said at the top, seen on no other page, lost on none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.bench.conftest import JOB, Served, hold, keep

TRIED = JOB.replace("depth: 2 mm", "depth: 1.3 mm")


@pytest.fixture(scope="module")
def own(tmp_path_factory: pytest.TempPathFactory) -> Served:
    path = tmp_path_factory.mktemp("tried") / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    return Served(path)


@pytest.fixture
def tabs(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport={"width": 1280, "height": 800}, reduced_motion="reduce")
    yield context
    context.close()


def opened(tabs: BrowserContext, own: Served, path: str = "") -> Page:
    page = tabs.new_page()
    page.goto(f"{own.address}{path}")
    if not path:
        page.wait_for_selector("html[data-picture=checked]")
        hold(page, "text")
    return page


def tried(page: Page) -> None:
    """Type a change and wait until it is checked."""
    page.locator("#job").fill(TRIED)
    expect(page.locator("#cuts .figures").first).to_contain_text("1.50 mm")


def test_unsaved_changes_are_said_at_the_top_of_the_page_always(
    tabs: BrowserContext, own: Served
) -> None:
    page = opened(tabs, own)
    banner = page.locator("#unsaved")
    expect(banner).to_be_hidden()
    page.locator("#job").press_sequentially(" ")
    expect(banner).to_be_visible()
    expect(page).to_have_title(re.compile("^Not saved: "))
    tried(page)
    for part in ("today", "check", "pours", "days"):
        hold(page, part)
        expect(banner).to_be_in_viewport()
    keep(page, "desk-unsaved")
    page.emulate_media(color_scheme="dark")
    keep(page, "desk-unsaved-dark")
    page.emulate_media(color_scheme="light", media="print")
    expect(banner).to_be_visible()
    page.emulate_media(media="screen")
    page.set_viewport_size({"width": 390, "height": 844})
    expect(banner).to_be_in_viewport()
    keep(page, "phone-unsaved")
    page.set_viewport_size({"width": 1280, "height": 800})
    page.reload()
    expect(banner).to_be_visible()
    expect(page.locator("#cuts .figures").first).to_contain_text("1.50 mm")
    page.locator("#unsaved-drop").click()
    expect(banner).to_be_hidden()
    expect(page.locator("#cuts .figures").first).to_contain_text("2.20 mm")
    expect(page).not_to_have_title(re.compile("^Not saved"))
    page.close()


def test_no_other_page_sees_a_trial_until_it_is_saved(tabs: BrowserContext, own: Served) -> None:
    first = opened(tabs, own)
    machine = opened(tabs, own, "machine")
    expect(machine.locator("main")).to_contain_text("\N{MINUS SIGN}2.20")
    tried(first)
    second = opened(tabs, own)
    expect(second.locator("#cuts .figures").first).to_contain_text("2.20 mm")
    expect(second.locator("#unsaved")).to_be_hidden()
    machine.reload()
    expect(machine.locator("main")).not_to_contain_text("\N{MINUS SIGN}1.50")
    expect(machine.locator("#saved")).to_be_hidden()
    expect(first.locator("a.file").first).to_have_class(re.compile("stale"))
    expect(second.locator("a.file").first).not_to_have_class(re.compile("stale"))
    first.locator("#unsaved-save").click()
    expect(first.locator("#unsaved")).to_be_hidden()
    expect(second.locator("#job")).to_have_value(TRIED)
    expect(second.locator("#cuts .figures").first).to_contain_text("1.50 mm")
    expect(machine.locator("#saved")).to_contain_text("look again")
    machine.set_viewport_size({"width": 390, "height": 844})
    keep(machine, "phone-saved-anew")
    machine.locator("#look-again").click()
    expect(machine.locator("main")).to_contain_text("\N{MINUS SIGN}1.50")
    first.locator("#undo").click()
    expect(second.locator("#job")).to_have_value(JOB)
    for each in (first, second, machine):
        each.close()


def test_a_verdict_is_none_while_the_text_cannot_be_read(tabs: BrowserContext, own: Served) -> None:
    page = opened(tabs, own)
    verdict = page.locator("#head .verdict")
    before = verdict.inner_text()
    page.locator("#job").fill(JOB.replace("depth: 2 mm", "depth: 2"))
    expect(verdict).to_contain_text("Not checked")
    keep(page, "desk-not-checked")
    page.locator("#unsaved-drop").click()
    expect(verdict).to_have_text(before, use_inner_text=True)
    page.close()


def test_an_outside_edit_under_an_unsaved_text_is_a_conflict_and_the_saved_job(
    tabs: BrowserContext, own: Served
) -> None:
    page = opened(tabs, own)
    tried(page)
    theirs = JOB.replace("pieces: 2", "pieces: 4")
    own.path.write_text(theirs, encoding="utf-8")
    expect(page.locator("#conflict")).to_be_visible()
    fresh = opened(tabs, own)
    expect(fresh.locator("#head .caps")).to_contain_text("4 pieces")
    fresh.close()
    expect(page.locator("#job")).to_have_value(TRIED)
    page.locator("#take").click()
    expect(page.locator("#job")).to_have_value(theirs)
    expect(page.locator("#unsaved")).to_be_hidden()
    expect(page.locator("#head .caps")).to_contain_text("4 pieces")
    expect(page.locator("#conflict")).to_be_hidden()
    page.locator("#undo").click()
    expect(page.locator("#job")).to_have_value(JOB)
    assert Path(own.path).read_text("utf-8") == JOB
    page.close()
