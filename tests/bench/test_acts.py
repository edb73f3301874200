"""Random acts through the page's own questions: each undone and redone, the file's bytes as before.

What a sheet's form changes, a fix that is taken, what is typed, tried, taken out, dropped, and what
another program does to the file meanwhile.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.desk.desk import Desk
from flushwork.bench.server.app import bench_app
from tests.bench.conftest import HOST, JOB, PAGE, ask_app, noon
from tests.many import examples

ACTS: Final = 30
"""So many acts are one story; ten stories are tried in every run."""


class Tab:
    """A page of the bench, as far as it asks and sends: it keeps the text and its digest."""

    def __init__(self, path: Path) -> None:
        self.path = path
        # nothing is built: no act waits for a picture
        self.app = bench_app(Desk(path), frozenset({HOST}), noon)
        self.text = self.digest = ""
        self.load()

    @property
    def data(self) -> bytes:
        return self.path.read_bytes()

    def get(self, path: str) -> Any:
        return ask_app(self.app, "GET", path).json()

    def post(self, where: str, **sent: Any) -> Any:
        answer = ask_app(self.app, "POST", where, json={"page": PAGE, **sent})
        return answer.json() if answer.status_code == 200 else None

    def load(self) -> None:
        now = self.get("/text")
        self.text, self.digest = now["text"], now["digest"]

    def save(self, told: Any) -> None:
        """Save the text a question was answered with; one that was refused changes nothing."""
        if told is None:
            return
        saved = self.post("/save", text=told["text"], was=self.digest)
        assert saved is not None
        self.text, self.digest = saved["text"], saved["digest"]

    def step(self, way: str) -> None:
        """Undo or redo one step."""
        now = self.post(way, was=self.digest)
        assert now is not None
        self.text, self.digest = now["text"], now["digest"]


def in_the_form(tab: Tab, pick: int, value: str) -> None:
    """Change one field of the small forms to another choice, or to a figure."""
    fields = [
        field for group in tab.post("/form", text=tab.text)["groups"] for field in group["fields"]
    ]
    if fields:
        field = fields[pick % len(fields)]
        chosen = field["choices"][pick % len(field["choices"])] if field["choices"] else value
        tab.save(tab.post("/edit", text=tab.text, path=field["path"], value=chosen))


def taken_out(tab: Tab, pick: int, _value: str) -> None:
    """Take a field out of the job by its small button."""
    fields = [
        field
        for group in tab.post("/form", text=tab.text)["groups"]
        for field in group["fields"]
        if field["otherwise"] and field["value"]
    ]
    if fields:
        path = fields[pick % len(fields)]["path"]
        tab.save(tab.post("/edit", text=tab.text, path=path, out=True))


def by_a_fix(tab: Tab, pick: int, value: str) -> None:
    """Take what a finding offers: one key or several, set, added or taken out."""
    plate = ["front", "inlays", "plate"]
    fixes = (
        [{"steps": [*plate, "depth"], "value": value}],
        [
            {"steps": [*plate, "how"], "value": "scraped flush"},
            {"steps": ["pieces"], "value": str(1 + pick % 5)},
        ],
        [{"steps": ["blank", "thickness"], "value": value}],
        [{"steps": [*plate, "how"], "value": None}],
    )
    tab.save(tab.post("/edit", text=tab.text, changes=fixes[pick % len(fixes)]))


def typed(tab: Tab, pick: int, value: str) -> None:
    """Type something into the text, have it tried, and save it; good or not."""
    lines = tab.text.split("\n")
    lines.insert(pick % (len(lines) + 1), ("# ü €", "", "  a: [", f"# {value}")[pick % 4])
    text = "\n".join(lines)
    tab.post("/try", text=text)
    tab.save({"text": text})


def dropped(tab: Tab, _pick: int, value: str) -> None:
    """Try something and drop it again: nothing of it is in the file."""
    before = tab.data
    tab.post("/try", text=tab.text.replace("2 mm", value))
    tab.post("/leave")
    assert tab.data == before


def outside(tab: Tab, pick: int, value: str) -> None:
    """Have another program change the file, its line ends too; the page takes that."""
    text = tab.text.replace("title: Trial", f"title: {value} Trial", 1)
    tab.path.write_bytes(text.replace("\n", ("\n", "\r\n", "\r")[pick % 3]).encode())
    tab.post("/theirs")
    tab.load()


def back_and_on(tab: Tab, pick: int, _value: str) -> None:
    """Go some steps back; what is done next begins from there."""
    for _ in range(pick % 4):
        tab.step("/undo")


Act = Callable[[Tab, int, str], None]
acts = st.sampled_from([in_the_form, taken_out, by_a_fix, typed, dropped, outside, back_and_on])
values = st.sampled_from(["1.5 mm", "2.75 mm", "0.1 in", "12 mm", "no length", "yes"])


@given(st.lists(st.tuples(acts, st.integers(0, 999), values), min_size=ACTS, max_size=ACTS))
@settings(max_examples=examples(10), deadline=None)
def test_each_act_undone_and_redone_leaves_the_bytes_as_before(
    story: list[tuple[Act, int, str]],
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lid.yaml"
        path.write_text(JOB, encoding="utf-8")
        tab = Tab(path)
        for act, pick, value in story:
            before = tab.data
            act(tab, pick, value)
            after = tab.data
            if after == before or act is back_and_on:
                continue
            for _ in range(2):
                tab.step("/undo")
                assert tab.data == before, act.__name__
                tab.step("/redo")
                assert tab.data == after, act.__name__
        last, steps = tab.data, tab.get("/history")["steps"]
        here = next(each["number"] for each in steps if each["here"])
        assert all(each["words"] for each in steps)
        assert tab.get("/standing")["undo"] == here
        for _ in range(here):
            tab.step("/undo")
        assert tab.data == JOB.encode()
        for _ in range(here):
            tab.step("/redo")
        assert tab.data == last
