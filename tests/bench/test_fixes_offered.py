"""A fix is offered only once the whole build has heard it: obeyed, it holds."""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.desk.desk import Desk
from flushwork.bench.desk.fix_search import BY_TEXT, Finder, Search
from flushwork.bench.desk.snapshot import Snapshot
from flushwork.bench.server.app import bench_app
from flushwork.bench.server.rendering import rendered_parts
from flushwork.core.findings import Finding, Severity
from flushwork.pipeline import build
from flushwork.runtime.memo import Memo
from tests.bench.conftest import HOST, JOB, PAGE, PATIENCE_MS, ask, ask_app, noon, waited
from tests.checks.hearing import written
from tests.checks.test_fixes import ALIKE, CASES
from tests.many import examples
from tests.small_jobs import PLAIN, changed

FAULTY = {
    **{code: text for code, (text, _) in CASES.items()},
    "three alike": ALIKE,
    "outside": changed("at: [-18 mm, 0 mm], round", "at: [-29 mm, 0 mm], round"),
    "holes out": changed("at: [20 mm, 0 mm]", "at: [33 mm, 0 mm]"),
    "deep": changed("depth: 2 mm", "depth: 14.5 mm"),
    "through": changed("depth: 8 mm", "depth: 80 mm"),
    "poor": changed("depth: 2 mm", "depth: 0.3 mm"),
    "thin blank": changed("thickness: 16 mm", "thickness: 4 mm"),
}
"""Jobs in which something is wrong, as people write them: between braces and in blocks."""
LONGEST_S = PATIENCE_MS / 1000.0


@contextmanager
def on_the_desk(folder: Path, text: str) -> Iterator[tuple[Desk, Snapshot]]:
    """Have a job checked on a desk of its own."""
    desk = Desk(written(folder, text))
    desk.open()
    try:
        yield desk, waited(desk)
    finally:
        desk.close()


def loud(findings: Sequence[Finding]) -> dict[tuple[str, str], int]:
    """Return how heavy each finding is that nobody has accepted: 2 must fix, 1 a warning."""
    heavy = {Severity.MUST_FIX: 2, Severity.WARNING: 1}
    told: dict[tuple[str, str], int] = {}
    for finding in findings:
        if finding.accepted is None and finding.severity in heavy:
            for subject in (finding.subject, *finding.also):
                key = (finding.code, subject)
                told[key] = max(told.get(key, 0), heavy[finding.severity])
    return told


class Bench:
    """One application of a desk, asked again and again."""

    def __init__(self, desk: Desk) -> None:
        self.app = bench_app(desk, frozenset({HOST}), noon)

    def look(self, snapshot: Snapshot, number: object, page: str = PAGE) -> httpx.Response:
        """Press the button of a finding."""
        sent = {"finding": number, "page": page}
        return ask_app(self.app, "POST", f"/asking/{snapshot.generation}/fix", json=sent)

    def found(self, snapshot: Snapshot, number: int, page: str = PAGE) -> dict[str, Any]:
        """Press the button of a finding and wait for what comes of it."""
        answer = self.look(snapshot, number, page)
        assert answer.status_code == 200, answer.text
        until = time.monotonic() + LONGEST_S
        while (told := answer.json())["busy"] and time.monotonic() < until:
            time.sleep(0.05)
            answer = ask_app(self.app, "GET", f"/asking/fix/{told['number']}")
        assert not told["busy"], "the search did not end"
        assert "failed" not in told["words"], told["words"]
        return dict(told)


def obeyed(desk: Desk, text: str, fix: Sequence[dict[str, Any]]) -> str:
    """Return the text that the page puts in when a fix is tried."""
    changes = [{"steps": edit["steps"], "value": edit["value"]} for edit in fix]
    answer = ask(desk, "POST", "/edit", json={"text": text, "changes": changes})
    assert answer.status_code == 200, answer.text
    return str(answer.json()["text"])


def comments(text: str) -> list[str]:
    return sorted(line.partition("# ")[2] for line in text.splitlines() if "# " in line)


def fixes_hold(text: str) -> int:
    """Hold what is offered for each finding of a job to its promise; return how much there was."""
    offers = 0
    with TemporaryDirectory() as folder, on_the_desk(Path(folder), text) as (desk, snapshot):
        before, bench = loud(snapshot.made.findings), Bench(desk)
        for number, finding in enumerate(snapshot.made.findings):
            if finding.severity is Severity.NOTE or finding.accepted is not None:
                continue
            told = bench.found(snapshot, number)
            assert told["words"]
            for fix in told["fixes"]:
                tried = obeyed(desk, snapshot.text, fix)
                assert comments(tried) == comments(snapshot.text)
                after = loud(build(desk.path, text=tried).findings)
                mine = {(finding.code, name) for name in (finding.subject, *finding.also)}
                assert not mine & set(after), (finding.code, fix)
                assert all(before.get(key, 0) >= heavy for key, heavy in after.items()), fix
                offers += 1
    return offers


@st.composite
def slipped(draw: st.DrawFn) -> str:
    """Return a job with some of its figures slipped."""
    text = PLAIN
    for old, values in (
        ("depth: 2 mm", ["0.3 mm", "5.5 mm", "9 mm", "14.5 mm"]),
        (
            "at: [-18 mm, 0 mm], round",
            [f"at: [{x} mm, {y} mm], round" for x in (-29, 3) for y in (0, 19)],
        ),
        ("at: [20 mm, 0 mm]", ["at: [33 mm, 0 mm]", "at: [2 mm, -3 mm]"]),
        ("depth: 8 mm", ["depth: 14.8 mm", "depth: 80 mm"]),
        ("thickness: 16 mm", ["thickness: 4 mm", "thickness: 9 mm"]),
        ("share: 3 %", ["share: 0.2 %", "share: 14 %"]),
    ):
        slip = draw(st.none() | st.sampled_from(values))
        if slip is not None:
            text = changed(
                old, slip if slip.startswith(old.partition(" ")[0]) else f"depth: {slip}", text
            )
    return text


@given(st.sampled_from(sorted(FAULTY)).map(FAULTY.__getitem__) | slipped())
@settings(max_examples=examples(2), deadline=None)
def test_each_fix_offered_takes_its_finding_away_and_raises_nothing(text: str) -> None:
    fixes_hold("# a job as it was written: this stays\n" + text)


def test_a_fix_of_several_keys_is_one_and_another_is_offered_beside_it() -> None:
    """Two pours meet: both scraped, in one press."""
    with TemporaryDirectory() as folder:
        desk_of_it = on_the_desk(Path(folder), FAULTY["proud-fills-meet"])
        with desk_of_it as (desk, snapshot):
            codes = [finding.code for finding in snapshot.made.findings]
            told = Bench(desk).found(snapshot, codes.index("proud-fills-meet"))
    first = told["fixes"][0]
    assert {tuple(edit["steps"][-2:]) for edit in first} == {("left", "how"), ("right", "how")}
    words = {edit["words"] for edit in first}
    assert words == {"filling of left (front)", "filling of right (front)"}
    assert {(edit["was"], edit["told"], edit["number"]) for edit in first} == {
        ("", "scraped flush", False)
    }
    assert told["words"].endswith("fixes were found: the finding goes, and nothing as heavy comes.")


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Desk, Snapshot]]:
    folder = tmp_path_factory.mktemp("faulty")
    with on_the_desk(folder, FAULTY["wood-between-too-thin"]) as told:
        yield told


def numbers(snapshot: Snapshot, wanted: Severity) -> list[int]:
    return [at for at, each in enumerate(snapshot.made.findings) if each.severity is wanted]


def test_a_page_is_answered_for_what_it_tries_and_no_other(tmp_path: Path) -> None:
    """Two pages, two texts: each finding is that of the text in sight."""
    with on_the_desk(tmp_path, FAULTY["wood-between-too-thin"]) as (desk, snapshot):
        wood_between = next(
            at
            for at, each in enumerate(snapshot.made.findings)
            if each.code == "wood-between-too-thin"
        )
        desk.try_text("page2", snapshot.text.replace("depth: 6 mm", "depth: 6.1 mm"))
        other = waited(desk, "page2")
        at = next(
            n for n, each in enumerate(other.made.findings) if each.code == "wood-between-too-thin"
        )
        bench = Bench(desk)
        assert bench.look(snapshot, wood_between, "page2").status_code == 409
        mine, theirs = bench.found(snapshot, wood_between), bench.found(other, at, "page2")
    values = [float(told["fixes"][0][0]["value"].removesuffix(" mm")) for told in (mine, theirs)]
    assert mine["fixes"][0][0]["was"] == "6 mm"
    assert theirs["fixes"][0][0]["was"] == "6.1 mm"
    assert values[1] < values[0]


def test_what_cannot_be_fixed_is_refused_in_words(faulty: tuple[Desk, Snapshot]) -> None:
    desk, snapshot = faulty
    bench = Bench(desk)
    for number in (
        "x",
        None,
        True,
        -1,
        len(snapshot.made.findings),
        *numbers(snapshot, Severity.NOTE),
    ):
        assert bench.look(snapshot, number).status_code == 400, number
    assert ask(desk, "POST", "/asking/9999/fix", json={"finding": 0}).status_code == 410
    assert ask(desk, "GET", "/asking/fix/77").status_code == 410
    refused: list[Any] = [
        [],
        "x",
        [{"steps": [], "value": "1"}],
        [{"steps": [1], "value": "1"}],
        [{}],
    ]
    for sent in refused:
        answer = ask(desk, "POST", "/edit", json={"text": snapshot.text, "changes": sent})
        assert answer.status_code == 400, sent


def test_what_is_known_of_a_finding_is_told_at_once(faulty: tuple[Desk, Snapshot]) -> None:
    desk, snapshot = faulty
    number = (numbers(snapshot, Severity.MUST_FIX) or numbers(snapshot, Severity.WARNING))[0]
    Bench(desk).found(snapshot, number)
    assert not Bench(desk).look(snapshot, number).json()["busy"]


def search_of(finder: Finder, snapshot: Snapshot, code: str) -> Search:
    finding = next(each for each in snapshot.made.findings if each.code == code)
    snapshot.known.pop((Finder, finding), None)
    search = finder.start(snapshot, finding)
    until = time.monotonic() + LONGEST_S
    while finder.busy and time.monotonic() < until:
        time.sleep(0.02)
    return search


def test_a_search_gives_up_in_time_and_says_so(faulty: tuple[Desk, Snapshot]) -> None:
    desk, snapshot = faulty
    finder = Finder(desk.path, lambda: False, Memo, longest_s=0.0)
    told = search_of(finder, snapshot, "wood-between-too-thin").data()
    assert not told["busy"]
    assert not told["fixes"]
    assert told["words"].startswith("Nothing found in 0 seconds: 0 of ")


def test_a_search_gives_way_and_to_another_search_its_place(faulty: tuple[Desk, Snapshot]) -> None:
    desk, snapshot = faulty
    at_work = True
    finder = Finder(desk.path, lambda: at_work, desk.memo_copy)
    finding = next(each for each in snapshot.made.findings if each.code == "wood-between-too-thin")
    snapshot.known.pop((Finder, finding), None)
    first = finder.start(snapshot, finding)
    time.sleep(0.4)
    assert finder.busy
    assert first.tried == 0
    second = finder.start(snapshot, finding)
    assert first.left
    assert finder.status(first.number) is None
    at_work = False
    until = time.monotonic() + LONGEST_S
    while finder.busy and time.monotonic() < until:
        time.sleep(0.02)
    assert second.offers
    assert not first.offers
    finder.stop(second.number)
    assert second.words() != "The search was left."


def test_a_fix_that_only_the_text_itself_can_take_is_not_offered(tmp_path: Path) -> None:
    """The artwork's place is shared by a reference: to change it would move another as well."""
    text = changed(
        "{name: plate, rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm]",
        "{name: plate, rectangle: 24 mm x 16 mm, at: &here [-29 mm, 0 mm], scale: &one 1",
    ).replace("at: [20 mm, 0 mm]", "at: *here", 1)
    with on_the_desk(tmp_path, text) as (desk, snapshot):
        codes = [each.code for each in snapshot.made.findings]
        told = Bench(desk).found(snapshot, codes.index("outside-trim-line"))
        assert not told["fixes"]
        assert told["words"] == BY_TEXT


def test_the_page_offers_to_look_where_something_stands_and_nothing_untried(
    faulty: tuple[Desk, Snapshot],
) -> None:
    _, snapshot = faulty
    page = str(rendered_parts(snapshot, "metric")["parts"]["check"])
    status = [
        each
        for each in snapshot.made.findings
        if each.severity is not Severity.NOTE and each.accepted is None
    ]
    assert page.count('class="look"') == len(status) > 0
    assert "Try it" not in page


def test_nothing_is_offered_for_a_job_that_nothing_speaks_against(snapshot: Snapshot) -> None:
    page = str(rendered_parts(snapshot, "metric")["parts"]["check"])
    assert page.count('class="look"') == len(numbers(snapshot, Severity.WARNING))
    assert snapshot.text == JOB
