"""The text pane: completion from the schema, slips in the margin, one row of all that was done."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from flushwork.usecases.jobs import schema
from tests.bench.conftest import JOB, Served, hold, keep, until
from tests.bench.test_access import violations
from tests.many import examples

WRITTEN = ".cm-content"


@pytest.fixture
def editor(page: Page) -> Page:
    """Have the text in hand, and its editor there."""
    opened(page)
    return page


def opened(page: Page) -> None:
    hold(page, "text")
    expect(page.locator(WRITTEN)).to_be_visible()
    page.wait_for_function("() => bench.text.digest")


def at_end(page: Page) -> None:
    page.locator(WRITTEN).focus()
    page.keyboard.press("Control+End")


def test_a_key_is_offered_taken_tried_and_taken_back_by_keys_alone(editor: Page) -> None:
    area = editor.locator("#job")
    at_end(editor)
    editor.keyboard.type("bac")
    offer = editor.locator(".cm-tooltip-autocomplete li[aria-selected]")
    expect(offer).to_have_text("back")
    expect(editor.locator(".cm-completionInfo")).to_have_text("The other face.")
    keep(editor, "desk-completion")
    editor.keyboard.press("Enter")
    expect(area).to_have_value(f"{JOB}back: ")
    editor.keyboard.type("{}")
    expect(area).to_have_value(f"{JOB}back: {{}}")
    expect(editor.locator("#slips li")).to_have_count(0)
    expect(editor.locator("#text-state")).to_have_text("Not saved.")
    until(editor, lambda: bool(editor.evaluate("bench.text.tried === bench.text.area.value")))
    editor.keyboard.press("Tab")
    assert editor.evaluate("document.activeElement.id") == "save", "Tab goes on"
    editor.keyboard.press("Shift+Tab")
    assert editor.evaluate("document.activeElement.id") == "editor"
    for _ in range(8):
        if editor.evaluate("bench.text.dirty"):
            editor.keyboard.press("Control+z")
    expect(area).to_have_value(JOB)
    expect(editor.locator("#unsaved")).to_be_hidden()


def test_a_slip_is_marked_in_the_margin_at_its_line(editor: Page) -> None:
    editor.locator("#job").fill(JOB.replace("depth: 2 mm", "depth: 2"))
    expect(editor.locator(".cm-lint-marker-error")).to_have_count(1)
    line = JOB[: JOB.index("depth: 2 mm")].count("\n")
    place = editor.locator(".cm-line").nth(line).bounding_box()
    mark = editor.locator(".cm-lint-marker-error").bounding_box()
    assert place
    assert mark
    assert place["y"] <= mark["y"] + mark["height"] / 2 <= place["y"] + place["height"]
    expect(editor.locator(WRITTEN)).to_have_attribute("aria-invalid", "true")
    editor.locator("#slips .line").first.click()
    assert editor.evaluate("document.activeElement.id") == "editor"
    editor.keyboard.press("End")
    assert violations(editor) == []
    keep(editor, "desk-slip-marked")
    editor.locator("#unsaved-drop").click()
    expect(editor.locator(".cm-lint-marker-error")).to_have_count(0)
    expect(editor.locator(WRITTEN)).to_have_attribute("aria-invalid", "false")


def test_typed_over_a_file_that_changed_while_the_page_was_closed(
    browser: Browser, tmp_path: Path
) -> None:
    """Neither is lost unasked: not what was typed, nor what somebody else has written since."""
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    served, context = Served(path), browser.new_context()
    page = context.new_page()
    page.goto(served.address)
    opened(page)
    at_end(page)
    page.keyboard.type("# mine")
    expect(page.locator("#unsaved")).to_be_visible()
    context.set_offline(True)
    theirs = f"{JOB}# theirs\n"
    path.write_text(theirs, encoding="utf-8")
    context.set_offline(False)
    page.reload()
    expect(page.locator("#job")).to_have_value(f"{JOB}# mine")
    expect(page.locator("#conflict")).to_be_visible()
    page.locator("#unsaved-save").click()
    expect(page.locator("#text-state")).to_contain_text("changed elsewhere")
    assert path.read_text("utf-8") == theirs
    hold(page, "text")
    page.click("#keep")
    expect(page.locator("#text-state")).to_contain_text("saved over theirs")
    assert path.read_text("utf-8") == f"{JOB}# mine"
    page.click("#undo")
    until(page, lambda: path.read_text("utf-8") == theirs)
    context.close()


@pytest.fixture
def plain(desk_context: BrowserContext, bench: Served) -> Iterator[Page]:
    page = desk_context.new_page()
    page.route("**/codemirror.js", lambda route: route.abort())
    page.goto(bench.address)
    page.wait_for_selector("html[data-picture=checked]")
    yield page
    page.close()


def test_without_its_editor_the_text_is_changed_in_a_plain_field(plain: Page) -> None:
    hold(plain, "text")
    expect(plain.locator("#unanswered")).to_contain_text("stands in a plain field")
    area = plain.locator("#job")
    area.press("End")
    area.fill(JOB.replace("depth: 2 mm", "depth: 2"))
    expect(plain.locator("#lines .marked")).to_have_count(1)
    plain.locator("#undo").click()
    expect(area).to_have_value(JOB)


ACTS = """async (acts) => {
  const { Steps } = await import('/static/steps.js');
  const steps = new Steps(), told = [];
  let [text, days, saved, past, next] = [0, 0, 0, [], []];
  for (const [what, to, at] of acts) {
    if (what === 'text') { steps.did({ what, before: text, after: to }, at); text = to; }
    if (what === 'days') { steps.did({ what, before: days, after: to }); days = to; }
    if (what === 'save' && text !== saved) {
      past.push(saved);
      [next, saved] = [[], text];
      steps.saved();
    }
    const step = what === 'back' ? steps.last : steps.first;
    if (what === 'back' || what === 'on') {
      const [from, onto] = what === 'back' ? [past, next] : [next, past];
      const side = what === 'back' ? 'before' : 'after';
      if (!step || step.what === 'saved') {
        if (text === saved && from.length) {
          onto.push(saved);
          text = saved = from.pop();
          steps[what]();
        }
      } else { if (step.what === 'days') days = step[side]; else text = step[side]; steps[what](); }
    }
    told.push([text, days, saved, past.length]);
  }
  return told;
}"""
"""The steps as the page goes through them, beside a bench that keeps what was saved."""


def test_whatever_was_done_is_taken_back_to_the_beginning_and_done_again(page: Page) -> None:
    for seed in range(examples(6)):
        lots, acts, now = random.Random(seed), list[list[Any]](), 0  # noqa: S311
        for _ in range(300):
            now += lots.choice((10, 400, 5000))
            what = lots.choice(("text", "text", "days", "save", "back", "on"))
            acts.append([what, lots.randrange(1, 9), now])
        ends = [["back", 0, 0]] * 320
        told = page.evaluate(ACTS, [*acts, *ends, *[["on", 0, 0]] * 320])
        begun = told[len(acts) + 319]
        assert begun == [0, 0, 0, 0], "back at the first text and days, all of them saved"
        # all that was done, and what had been taken back and not given up, is done again
        again = page.evaluate(ACTS, [*acts, *[["on", 0, 0]] * 320])
        assert told[-1] == again[-1], seed


IN_REMARK = re.compile(r"(?:^|\s)#[^\n]*\Z")
PLACES = """async ([cases, schema]) => {
  const { placeOf, offered, namesUnder } = await import('/static/completion.js');
  return cases.map((text) => {
    const at = text.indexOf('|'), whole = text.replace('|', ''), place = placeOf(whole, at);
    if (!place) return null;
    const named = () => namesUnder(whole, 'mixes');
    const labels = offered(schema, place, named).map((each) => each.label);
    return [place.path, place.word, place.value, labels];
  });
}"""
LID = "flushwork: 2\nmixes:\n  teal: {resin: coating epoxy}\nfront:\n  inlays:\n"
INLAY: list[str | None] = ["front", "inlays", None]
CASES: tuple[tuple[str, list[str | None], str, set[str], set[str]], ...] = (
    ("fl|", [], "fl", {"flushwork", "blank", "front"}, set()),
    (f"{LID}    - name: a\n      dep|", INLAY, "dep", {"depth", "fill"}, {"name", "blank"}),
    (f"{LID}  - name: a\n    |", INLAY, "", {"depth"}, {"name"}),
    (f"{LID}    - {{name: a, fi|}}", INLAY, "fi", {"fill", "depth"}, {"name"}),
    (f"{LID}    - {{name: a, fill: te|}}", [*INLAY, "fill"], "te", {"teal"}, set()),
    (f"{LID}    - {{name: a, points: [[1 mm, 2 mm]], de|", INLAY, "de", {"depth"}, {"points"}),
    ("blank:\n  wo|", ["blank"], "wo", {"wood", "length"}, {"front"}),
    (f"{LID}back|", [], "back", {"back"}, {"mixes", "flushwork"}),
    (f"{LID}    - {{name: 'it # is: {{odd', dep|", INLAY, "dep", {"depth"}, {"name"}),
)
"""A text with its place, the keys that lead there, what is written, what is offered, what not."""


def test_what_is_offered_is_what_may_stand_there(page: Page) -> None:
    told = page.evaluate(PLACES, [[case[0] for case in CASES], schema("job")])
    for (text, path, word, some, none), found in zip(CASES, told, strict=True):
        assert (found[0], found[1]) == (path, word), text
        assert some <= set(found[3]), (text, found[3])
        assert not none & set(found[3]), (text, found[3])
    remarks = ["blank: {wood: oak}  # wo|", "# fl|", "front: # in|"]
    assert page.evaluate(PLACES, [remarks, schema("job")]) == [None] * 3


def test_every_key_of_the_examples_is_offered_where_it_stands(page: Page) -> None:
    """Whether they are laid out line by line or between braces."""
    seen = 0
    for example in sorted((Path(__file__).parents[2] / "examples").glob("*/job.yaml")):
        text = example.read_text("utf-8")
        keys = re.finditer(r"(?:^ *(?:- )?(?:\{)?|, |\{)([a-z][a-z ]*): ?", text, re.MULTILINE)
        # the text before a key is all that is known where it is typed
        ends = [found.end(1) for found in keys if not IN_REMARK.search(text[: found.end(1)])]
        told = page.evaluate(PLACES, [[f"{text[:end]}|" for end in ends], schema("job")])
        for end, found in zip(ends, told, strict=True):
            # the names of mixes are the job's own
            if found[0] and found[0][-1] == "mixes":
                continue
            assert found[1] in found[3], (example.parent.name, text[:end][-60:], found[0])
            seen += 1
    assert seen > 100
