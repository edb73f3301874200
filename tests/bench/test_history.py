"""All that was done to a job: each step undone and redone leaves the file's bytes as they were."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Page, expect

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.job_file import MOST_STEPS, JobFile
from flushwork.bench.pages.history_views import history_view
from flushwork.store import digest
from tests.bench.conftest import JOB, Served, ask, hold
from tests.many import examples

ends = st.sampled_from(["\n", "\r\n", "\r"])
texts = st.lists(st.tuples(st.sampled_from("abü€ #"), ends), max_size=6).map(
    lambda lines: "".join(line + end for line, end in lines)
)
acts = st.lists(
    st.one_of(
        st.tuples(st.just("save"), texts),
        st.tuples(st.just("outside"), texts),
        st.tuples(st.sampled_from(["undo", "redo", "again"]), st.just("")),
    ),
    max_size=30,
)


def act(file: JobFile, what: str, text: str) -> None:
    """Do one thing to a file, and hold undoing and redoing it to the bytes before and after."""
    before = file.path.read_bytes()
    match what:
        case "outside":
            file.path.write_bytes(text.encode())
            file.take_theirs()
        case "undo" if file.undoable:
            file.undo(file.digest)
        case "redo" if file.redoable:
            file.redo(file.digest)
        case "save":
            file.save(text.replace("\r\n", "\n").replace("\r", "\n"), file.digest)
    after = file.path.read_bytes()
    assert file.digest == digest(after)
    if what in ("save", "outside") and after != before:
        for _ in range(2):
            file.undo(file.digest)
            assert file.path.read_bytes() == before
            file.redo(file.digest)
            assert file.path.read_bytes() == after


@given(texts, acts)
@settings(max_examples=examples(40), deadline=None)
def test_every_step_undone_and_redone_leaves_the_bytes_as_before(
    first: str, done: list[tuple[str, str]]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.yaml"
        path.write_bytes(first.encode())
        file = JobFile(path)
        for what, text in done:
            if what == "again":
                # the bench is closed and opened: what was done is still known
                known = (file.texts(), file.undoable, file.redoable)
                file = JobFile(path)
                assert (file.texts(), file.undoable, file.redoable) == known
            else:
                act(file, what, text)
        ahead = file.redoable
        for _ in range(file.undoable):
            file.undo(file.digest)
        assert path.read_bytes() == first.encode()
        last = file.texts()[-1]
        while file.redoable:
            file.redo(file.digest)
        assert file.text == last
        for _ in range(ahead):
            file.undo(file.digest)


def test_history_is_bounded_and_one_of_another_text_is_none(tmp_path: Path) -> None:
    path = tmp_path / "job.yaml"
    path.write_text("0\n", encoding="utf-8")
    file = JobFile(path)
    for number in range(MOST_STEPS + 5):
        file.save(f"{number + 1}\n", file.digest)
    assert file.undoable == MOST_STEPS
    path.write_text("another\n", encoding="utf-8")
    assert JobFile(path).undoable == 0


def test_steps_are_told_in_words() -> None:
    deeper = JOB.replace("depth: 2 mm", "depth: 1.5 mm")
    more = deeper.replace("pieces: 2", "pieces: 3")
    broken = more.replace("front:", "front: [")
    steps = history_view([JOB, deeper, f"{deeper}# a word\n", more, broken, more], 3)
    assert [step.words for step in steps] == [
        "As it was first opened",
        "depth of plate (front): 2 mm before, 1.5 mm now",
        "Comments or layout alone",
        "pieces: 2 before, 3 now",
        "The text, which cannot be read as it is",
        "The text, which could not be read before",
    ]
    assert [step.here for step in steps].index(True) == 3
    assert [step.undone for step in steps] == [False] * 4 + [True] * 2


def test_the_desk_goes_back_and_on_and_tells_it(tmp_path: Path) -> None:
    path = tmp_path / "lid.yaml"
    path.write_text(JOB, encoding="utf-8")
    desk = Desk(path)
    more = JOB.replace("pieces: 2", "pieces: 3")
    was = desk.status().digest
    was = ask(desk, "POST", "/save", json={"text": more, "was": was}).json()["digest"]
    was = ask(desk, "POST", "/undo", json={"was": was}).json()["digest"]
    assert path.read_text("utf-8") == JOB
    now = ask(desk, "GET", "/standing").json()
    assert (now["undo"], now["redo"]) == (0, 1)
    again = ask(desk, "POST", "/redo", json={"was": was})
    assert again.json()["text"] == more
    assert ask(desk, "POST", "/redo", json={"was": "stale"}).status_code == 200, "nothing to redo"
    assert ask(desk, "POST", "/undo", json={"was": "stale"}).status_code == 409
    told = ask(desk, "GET", "/history").json()["steps"]
    assert [step["words"] for step in told] == ["As it was first opened", "pieces: 2 before, 3 now"]
    desk.close()


def test_all_that_was_done_stands_in_the_change_sheet(page: Page, bench: Served) -> None:
    before = bench.path.read_text("utf-8")
    hold(page, "text")
    page.locator("#job").fill(before.replace("pieces: 2", "pieces: 4"))
    page.click("#save")
    expect(page.locator("#text-state")).to_have_text("Saved.")
    page.locator("#done summary").click()
    here = page.locator("#steps [aria-current=step]")
    expect(here).to_have_text("pieces: 2 before, 4 now")
    page.click("#undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert bench.path.read_text("utf-8") == before
    expect(page.locator("#steps li").first).to_have_text("pieces: 2 before, 4 now (undone)")
    page.click("#redo")
    expect(page.locator("#text-state")).to_have_text("Done again.")
    expect(here).to_have_text("pieces: 2 before, 4 now")
    page.click("#undo")
    expect(page.locator("#text-state")).to_have_text("Undone.")
    assert bench.path.read_text("utf-8") == before


def test_an_answer_overtaken_by_our_own_saving_changes_nothing(page: Page) -> None:
    """A question of before a save may be answered after it: then nothing was saved elsewhere."""
    hold(page, "text")
    page.wait_for_function("() => bench.text.digest")
    page.evaluate("bench.text.say('Saved.')")
    late = "({slips: [], generation: bench.text.seen, digest: 'of before', undo: 0, redo: 0})"
    with page.expect_response("**/text*"):
        page.evaluate(f"bench.text.standing({late})")
    page.wait_for_function("() => !bench.text.loading")
    expect(page.locator("#text-state")).to_have_text("Saved.")
