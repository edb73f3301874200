"""What a person does with the jobs of a shop: whatever the order, nothing is lost or replaced."""

from __future__ import annotations

import os
import tempfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

import flushwork
from flushwork.core.findings import FlushworkError
from flushwork.usecases.jobs import StartError, starter_job_text, starter_shop_text
from flushwork.usecases.shop_jobs import (
    ATTIC,
    JobState,
    ShopError,
    copy_job,
    from_attic,
    rename_job,
    shop_jobs,
    start_job,
    to_attic,
)
from tests.many import examples

WORDS = st.text(
    st.characters(exclude_categories=("Cs", "Cc", "Cf", "Zl", "Zp", "Co", "Cn")), max_size=30
)
TITLES = st.one_of(
    WORDS,
    st.sampled_from(
        ["null", "[a]", "yes", "~", '"q', "'", "x: y # z", "- a", "{a}", "%", "a\nb", "*a", "&b"]
    ),
)
ACTS = st.lists(
    st.tuples(
        st.sampled_from(("start", "copy", "rename", "attic", "back")), st.integers(0, 5), TITLES
    ),
    max_size=9,
)


@dataclass
class Model:
    """What the folder should hold: titles of the jobs in the shop and in its attic."""

    jobs: list[str] = field(default_factory=list)
    attic: list[str] = field(default_factory=list)


def everything(folder: Path) -> Counter[bytes]:
    return Counter(path.read_bytes() for path in folder.rglob("*") if path.is_file())


def sensible(title: str) -> str:
    """Return a title as the shop takes it; empty where it takes none."""
    plain = title.strip()
    return plain if 0 < len(plain) <= 120 and plain.isprintable() else ""


def begun(folder: Path) -> Model:
    """Lay out a shop with two jobs beside one another, one with all its work beside it."""
    (folder / "shop.yaml").write_text(starter_shop_text(), "utf-8")
    (folder / "lid.yaml").write_bytes(starter_job_text("Lid").replace("\n", "\r\n").encode())
    (folder / "lid log.json").write_text('{"ticks": {}, "notes": {}, "timers": []}', "utf-8")
    (folder / "lid built").mkdir()
    (folder / "lid built" / "manifest.json").write_text('{"files": {}}', "utf-8")
    (folder / "plain.yaml").write_text("flushwork: 2\n", "utf-8")
    return Model(["Lid", "plain"])


def acted(folder: Path, model: Model, act: str, which: int, title: str) -> None:
    """Do one act to the folder and to the model; one that is refused changes neither."""
    found = shop_jobs(folder)
    before = everything(folder)
    jobs = found.attic if act == "back" else found.jobs
    job = jobs[which % len(jobs)] if jobs else None
    try:
        if act == "start":
            path = start_job(folder, title)
            model.jobs.append(flushwork.load(path).title)
        elif job is None:
            return
        elif act == "copy":
            assert copy_job(job.path).is_file()
            model.jobs.append(f"{job.title[:113]} (copy)")
        elif act == "rename":
            rename_job(job.path, title)
            model.jobs.remove(job.title)
            model.jobs.append(sensible(title))
            before = everything(folder)
        elif act == "attic":
            to_attic(job.path, folder)
            model.jobs.remove(job.title)
            model.attic.append(job.title)
        else:
            from_attic(job.path, folder)
            model.attic.remove(job.title)
            model.jobs.append(job.title)
    except FlushworkError:
        assert everything(folder) == before
        assert act in ("attic", "back") or not sensible(title)
    assert not before - everything(folder), "something is gone or replaced"


@given(ACTS)
@settings(max_examples=examples(25), deadline=None)
@example([("attic", 0, ""), ("back", 0, ""), ("copy", 0, ""), ("attic", 0, ""), ("back", 0, "")])
def test_whatever_is_done_the_folder_holds_what_a_model_of_it_does(
    acts: list[tuple[str, int, str]],
) -> None:
    with tempfile.TemporaryDirectory() as at:
        folder = Path(at)
        model = begun(folder)
        for act, which, title in acts:
            acted(folder, model, act, which, title)
            found = shop_jobs(folder)
            assert sorted(job.title for job in found.jobs) == sorted(model.jobs)
            assert sorted(job.title for job in found.attic) == sorted(model.attic)


@given(TITLES)
@settings(max_examples=examples(40), deadline=None)
def test_a_title_is_read_back_as_it_was_typed_and_all_else_stays(title: str) -> None:
    with tempfile.TemporaryDirectory() as at:
        path = Path(at) / "job.yaml"
        before = starter_job_text("Lid", shop="").replace("title: Lid", "title: Lid   # mine")
        path.write_text(before, "utf-8")
        if not sensible(title):
            with pytest.raises(ShopError):
                rename_job(path, title)
            assert path.read_text("utf-8") == before
            return
        rename_job(path, title)
        assert flushwork.load(path).title == title.strip()
        after = path.read_text("utf-8").splitlines()
        changed = [line for line in after if line not in before.splitlines()]
        assert all(line.startswith("title: ") and line.endswith("   # mine") for line in changed)


def test_what_belongs_to_a_job_goes_with_it_and_comes_back(tmp_path: Path) -> None:
    begun(tmp_path)
    (tmp_path / "lid photos").mkdir()
    (tmp_path / "leaf.svg").write_text("<svg/>", "utf-8")
    to_attic(tmp_path / "lid.yaml", tmp_path)
    attic = tmp_path / ATTIC
    assert {each.name for each in attic.iterdir()} == {
        "lid.yaml",
        "lid log.json",
        "lid built",
        "lid photos",
    }
    # a drawing may serve other jobs
    assert (tmp_path / "leaf.svg").is_file()
    (tmp_path / "lid built").mkdir()
    with pytest.raises(FlushworkError, match="stands in"):
        from_attic(attic / "lid.yaml", tmp_path)
    assert (attic / "lid log.json").is_file(), "half of it was moved"
    (tmp_path / "lid built").rmdir()
    assert from_attic(attic / "lid.yaml", tmp_path) == tmp_path / "lid.yaml"
    assert not list(attic.iterdir())


def test_a_shop_of_three_hundred_hostile_jobs_is_listed_whole(tmp_path: Path) -> None:
    text = starter_job_text("A lid", shop="")
    for number in range(150):
        (tmp_path / f"job {number}.yaml").write_text(text, "utf-8")
        (tmp_path / f"of its own {number}").mkdir()
        (tmp_path / f"of its own {number}" / "job.yaml").write_text(text, "utf-8")
    (tmp_path / "broken.yaml").write_text("flushwork: 2\ntitle: [\n", "utf-8")
    (tmp_path / "no text.yaml").write_bytes(b"\xff\xfe\x00flushwork: 2")
    (tmp_path / "long.yaml").write_bytes(b"flushwork: 2\n" + b"#" * 400_000)
    (tmp_path / "other.yaml").write_text("a: b\n", "utf-8")
    (tmp_path / "link.yaml").symlink_to(tmp_path / "job 1.yaml")
    (tmp_path / "linked").symlink_to(tmp_path / "of its own 1")
    (tmp_path / "round").symlink_to(tmp_path)
    (tmp_path / "lid <b>.yaml").write_text(text, "utf-8")
    (tmp_path / "lid built").mkdir()
    (tmp_path / "lid built" / "manifest.json").write_text("{}", "utf-8")
    (tmp_path / "lid built" / "resolved-job.yaml").write_text(text, "utf-8")
    named = [b"n\xff\xfe.yaml", b"two\nlines.yaml"]
    for name in named:
        Path(os.fsdecode(os.path.join(os.fsencode(tmp_path), name))).write_text(text, "utf-8")
    found = shop_jobs(tmp_path)
    assert len(found.jobs) == 300 + 3 + 1 + len(named)
    assert found.linked == 3
    assert {job.name for job in found.jobs if job.state is JobState.UNREADABLE} == {
        "no text.yaml",
        "long.yaml",
    }
    for job in found.jobs:
        assert f"{job.title}{job.name}{job.shop}".isprintable()
        assert f"{job.title}{job.name}".encode()


@pytest.mark.parametrize("log", ["[", "[]", '{"ticks": 3}', '{"ticks": {"a": 3}}', "\x00"])
def test_a_log_that_is_none_is_left_alone(tmp_path: Path, log: str) -> None:
    begun(tmp_path)
    (tmp_path / "lid log.json").write_text(log, "utf-8")
    assert {job.state for job in shop_jobs(tmp_path).jobs} == {JobState.UNCHECKED}
    assert (tmp_path / "lid log.json").read_text("utf-8") == log


@pytest.mark.parametrize(
    "size",
    [("20 mm", "90 mm", "12 mm"), ("wide", "1", "1"), ("90 mm", "90 mm", "1 kg"), ("", "", "")],
)
def test_a_first_board_that_cannot_be_is_refused_in_words(
    tmp_path: Path, size: tuple[str, str, str]
) -> None:
    with pytest.raises(StartError):
        start_job(tmp_path, "Lid", size=size)
    with pytest.raises(StartError, match="a circle or a rectangle"):
        start_job(tmp_path, "Lid", trim="star")
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("units", "size"),
    [
        ("inch", None),
        ("metric", ("50 mm", "70 mm", "4 mm")),
        ("inch", ("7 in", "4 1/2 in", "3/4 in")),
    ],
)
def test_a_first_board_is_ok_to_cut_as_it_is(
    tmp_path: Path, units: str, size: tuple[str, str, str] | None
) -> None:
    flushwork.new(tmp_path / "new", "Lid", units)
    (tmp_path / "new" / "shop.yaml").rename(tmp_path / "shop.yaml")
    path = start_job(tmp_path, "Lid", size=size, pieces=2, trim="rectangle")
    assert not any(face.worked for face in flushwork.load(path).faces), "nothing is on it yet"
    made = flushwork.build(path)
    assert made.ok_to_cut, [each.message for each in made.findings]
    assert (made.job.pieces, made.job.shop.units) == (2, units)
