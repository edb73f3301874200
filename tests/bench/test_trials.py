"""A trial belongs to its page; all else knows the saved job only, in whatever order."""

from __future__ import annotations

import re
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.sheets import MOST_TRIALS, SILENT_S, Sheets
from flushwork.store import digest
from tests.bench.conftest import PATIENCE_MS, ask, waited
from tests.many import examples

LID = """\
flushwork: 2
title: Lid {title}
cell: 0.5 mm
pieces: 1
blank: {{wood: sugar maple, length: 80 mm, width: 60 mm, thickness: 12 mm}}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: plate, rectangle: 16 mm x 10 mm, depth: {depth}, fill: dark}}
"""
TEXTS = (
    LID.format(title="one", depth="2 mm"),
    LID.format(title="one", depth="1.6 mm"),
    LID.format(title="two", depth="2 mm"),
    LID.format(title="three", depth="14 mm"),
    LID.format(title="four", depth="2"),
)
"""Two that differ in a depth alone, one in its title, one that is stopped, one that is no job."""
SLIP = 4
TABS = ("tab1", "tab2")


@dataclass
class Saved:
    """What a desk tells of a job that was saved and nothing else."""

    machine: str
    shelf: str
    files: tuple[str, ...]
    ok_to_cut: bool


def bare(html: str) -> str:
    """Return a page without the numbers that count what was built before it."""
    return re.sub(r'data-(mark|generation)="[^"]*"|/(board|doing)/\d+/', "", html)


@cache
def of_saved(text: str) -> Saved:
    """Return what a fresh desk tells of a text."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lid.yaml"
        path.write_text(text, encoding="utf-8")
        desk = Desk(path)
        desk.open()
        made = waited(desk).made
        machine, shelf = (bare(ask(desk, "GET", at).text) for at in ("/machine", "/shelf"))
        desk.close()
        return Saved(machine, shelf, tuple(f.text for f in made.gcode_files), made.ok_to_cut)


@dataclass
class Tab:
    """A page as a browser has it: its text, and the digest of the file it began with."""

    text: str
    digest: str


@dataclass
class World:
    """A desk, its pages, and every text that was ever saved."""

    desk: Desk
    tabs: dict[str, Tab] = field(default_factory=dict)
    ever: list[str] = field(default_factory=list)

    @property
    def saved(self) -> str:
        return self.desk.path.read_text("utf-8")

    def get(self, path: str) -> Any:
        answer = ask(self.desk, "GET", path)
        assert answer.status_code == 200, (path, answer.text)
        return answer.json() if "json" in answer.headers["content-type"] else answer.text

    def post(self, path: str, **sent: Any) -> Any:
        return ask(self.desk, "POST", path, json=sent)

    def load(self, name: str) -> None:
        now = self.get("/text")
        self.tabs[name] = Tab(now["text"], now["digest"])

    def do(self, act: tuple[str, str, int]) -> None:
        what, name, which = act
        tab, text = self.tabs[name], TEXTS[which]
        match what:
            case "type":
                tab.text = text
                self.post("/try", page=name, text=text)
            case "drop":
                self.load(name)
                self.post("/try", page=name, text=self.tabs[name].text)
            case "save" if tab.text:
                before = self.saved
                answer = self.post("/save", page=name, text=tab.text, was=tab.digest)
                theirs = digest(before.encode()) != tab.digest
                assert answer.status_code == (409 if theirs else 200)
                assert self.saved == (before if theirs else tab.text)
                if not theirs:
                    self.load(name)
            case "undo":
                self.load(name)
                assert self.post("/undo", page=name, was=self.tabs[name].digest).status_code == 200
                self.load(name)
            case "outside":
                # a file's time is told in steps of some milliseconds
                time.sleep(0.02)
                self.desk.path.write_text(text, encoding="utf-8")
                time.sleep(0.02)
            case "close":
                self.post("/leave", page=name)
                self.load(name)
            case "wait":
                assert self.desk.wait(PATIENCE_MS / 1000.0)
        self.ever.append(self.saved)

    def look(self) -> None:
        """Hold what is seen at any moment to what was ever saved."""
        titles = {re.search(r"title: (.+)", text)[1] for text in self.ever}  # type: ignore[index]
        for path in ("/machine", "/"):
            html = self.get(path)
            seen = set(re.findall(r"Lid \w+", html.partition('<textarea id="job"')[0]))
            assert seen <= titles, (path, seen, titles)
        assert self.saved in self.get("/").replace("&#34;", '"'), "a fresh page has the saved text"
        for name in self.tabs:
            now = self.get(f"/standing?page={name}")
            answer = ask(self.desk, "GET", f"/doing/{now['generation']}/file/0")
            if answer.status_code == 200:
                assert self.saved != TEXTS[SLIP]
                assert answer.text == of_saved(self.saved).files[0]

    def rest(self) -> None:
        """Hold what is seen once all is built to what fresh desks tell of the same texts."""
        self.get("/standing")
        assert self.desk.wait(PATIENCE_MS / 1000.0)
        saved, machine = self.saved, self.get("/machine")
        if saved != TEXTS[SLIP]:
            assert bare(machine) == of_saved(saved).machine
            assert bare(self.get("/shelf")) == of_saved(saved).shelf
            stopped = "must not be cut" in machine
            assert stopped != of_saved(saved).ok_to_cut
        else:
            assert "screen" not in machine or "cannot be read" in machine
        for name, tab in self.tabs.items():
            now = self.get(f"/standing?page={name}")
            own = self.desk.status(name)
            if now["trying"]:
                assert own.text == saved != tab.text
            if (tab.text if now["trying"] else saved) == TEXTS[SLIP]:
                assert now["slips"]
            else:
                assert own.snapshot is not None
                assert own.snapshot.text == (tab.text if now["trying"] else saved)
                assert not own.snapshot.coarse
                for what in ("file/0", "days.ics") if now["trying"] else ():
                    at = f"/doing/{now['generation']}/{what}"
                    assert ask(self.desk, "GET", at).status_code == 409
                told = self.get(f"/parts?page={name}")
                assert told["generation"] == now["generation"]


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    yield from opened(tmp_path)


def opened(folder: Path) -> Iterator[World]:
    path = folder / "lid.yaml"
    path.write_text(TEXTS[0], encoding="utf-8")
    made = World(Desk(path), ever=[TEXTS[0]])
    made.desk.open()
    for name in TABS:
        made.load(name)
    yield made
    made.desk.close()


ACTS = st.tuples(
    st.sampled_from(["type", "type", "type", "save", "drop", "undo", "outside", "close", "wait"]),
    st.sampled_from(TABS),
    st.integers(0, len(TEXTS) - 1),
)


@given(st.lists(ACTS, min_size=3, max_size=9))
@example([("wait", "tab1", 0), ("type", "tab1", 1), ("wait", "tab1", 0)])
@example([("type", "tab1", 3), ("save", "tab1", 0), ("type", "tab2", 1), ("save", "tab2", 0)])
@example([("type", "tab1", 2), ("wait", "tab1", 0), ("outside", "tab1", 1), ("save", "tab1", 0)])
@example([("type", "tab1", 4), ("save", "tab1", 0), ("wait", "tab1", 0), ("undo", "tab2", 0)])
@example([("type", "tab1", 2), ("undo", "tab1", 0)])
@example([("type", "tab1", 1), ("wait", "tab1", 1), ("type", "tab1", 1)])
@settings(max_examples=examples(4), deadline=None)
def test_whatever_two_tabs_a_phone_and_an_editor_do(acts: list[tuple[str, str, int]]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for world in opened(Path(folder)):
            for act in acts:
                world.do(act)
                world.look()
            world.rest()


def test_a_trial_is_seen_by_its_page_alone(world: World) -> None:
    first = waited(world.desk)
    world.do(("type", "tab1", 3))
    tried = waited(world.desk, "tab1")
    assert tried.made.job.title == "Lid three"
    assert not tried.made.ok_to_cut
    assert waited(world.desk, "tab2") is waited(world.desk) is first
    for path in ("/", "/machine", "/shelf", "/parts", "/parts?page=tab2"):
        assert "Lid three" not in str(world.get(path))
    assert "Lid three" in str(world.get("/parts?page=tab1"))
    film = world.get(f"/board/{tried.generation}/film")
    assert film["shots"], "the page asks by the number of what it shows"
    world.do(("close", "tab1", 0))
    assert ask(world.desk, "GET", f"/board/{tried.generation}/film").status_code == 410


def test_what_a_page_has_proved_is_the_saved_job_as_soon_as_it_is_saved(world: World) -> None:
    waited(world.desk)
    world.do(("type", "tab1", 1))
    tried = waited(world.desk, "tab1")
    world.do(("save", "tab1", 0))
    assert world.desk.status().snapshot is tried, "nothing is built twice"
    assert not world.desk.status("tab1").trying


def test_the_machines_page_says_where_it_is_not_the_saved_job(world: World) -> None:
    assert waited(world.desk).text == TEXTS[0]
    assert world.get("/machine/saved")["words"] == ""
    world.do(("type", "tab1", SLIP))
    world.do(("save", "tab1", 0))
    world.do(("wait", "tab1", 0))
    assert "cannot be read (line" in world.get("/machine")
    before = world.get("/machine/saved")
    assert before["grave"]
    world.do(("undo", "tab1", 0))
    world.do(("wait", "tab1", 0))
    now = world.get("/machine/saved")
    assert now["words"] == ""
    assert now["mark"] != before["mark"], "a page that is open learns that it has to look again"
    world.do(("outside", "tab1", 3))
    world.get("/machine")
    world.do(("wait", "tab1", 0))
    assert "must not be cut" in world.get("/machine")


def test_few_trials_are_kept_and_those_of_silent_pages_go(monkeypatch: pytest.MonkeyPatch) -> None:
    sheets = Sheets("saved")
    clock = [1000.0]
    monkeypatch.setattr("flushwork.bench.desk.sheets.time.monotonic", lambda: clock[0])
    for number in range(MOST_TRIALS + 2):
        clock[0] += 1.0
        sheet = sheets.put(f"p{number}", f"text {number}")
        assert sheet is not None
        sheets.want(sheet)
    assert [*sheets.trials] == [f"p{number}" for number in range(2, MOST_TRIALS + 2)]
    assert len(sheets.wanted) == MOST_TRIALS
    clock[0] += SILENT_S
    sheets.heard("p4")
    assert "p4" in sheets.trials
    clock[0] += 1.0
    sheets.heard("p4")
    assert [*sheets.trials] == ["p4"]
    assert sheets.put("p4", "saved") is None
    assert not sheets.trials
    assert not sheets.wanted
