"""What may never be accepted stays; what is accepted is printed wherever the work is done."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages.machine_views import screens
from flushwork.bench.pages.whole_page import job_view, page_context, pours, setups
from flushwork.built import Build
from flushwork.checks.all_rules import judged
from flushwork.checks.catalogue import catalogue
from flushwork.cli.building import fix_words
from flushwork.core.findings import Finding, Severity, Source, Subject
from flushwork.gcode.corrected import Correction, corrected
from flushwork.gcode.head_comments import plain_words
from flushwork.job.keys.lists import Acceptance
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.views.figures import clean
from tests.many import examples
from tests.small_jobs import PLAIN, changed, found, made

HAZARDS = {
    "a move into what holds the blank": ("clamp-hit",),
    "a move past the machine": ("outside-machine", "below-spoilboard"),
    "a rapid through material": ("rapid-through-material",),
    "a holder or shank that touches": ("holder-touches", "flutes-too-short"),
    "a bit over its speed": ("bit-over-speed",),
    "resin cut or sanded before it is hard": ("cut-before-cure", "cure-cut-short"),
    "fire": ("flame-near-solvent",),
    "a batch that runs away": ("cup-runs-away",),
    "a piece that comes free": ("trim-without-tabs", "tabs-missing"),
    "a bit misused in the wood": ("plunge-too-fast", "spindle-backwards", "dwell-in-cut"),
    "a bit that stands in the wood": ("ends-in-wood", "pause-in-wood"),
}
DEEP = changed("depth: 2 mm", "depth: 9 mm")
WORDS = st.text(
    st.characters(min_codepoint=33, max_codepoint=0x2FF, categories=("L", "N", "P", "S")),
    min_size=1,
    max_size=60,
)


def stop(code: str, subject: str = "plate") -> Finding:
    return Finding(code, Severity.MUST_FIX, "It is so.", "Mend it.", (Subject("inlay", subject),))


@pytest.mark.parametrize("hazard", HAZARDS)
def test_every_hazard_has_its_codes(hazard: str) -> None:
    assert set(HAZARDS[hazard]) <= set(NEVER_ACCEPTED)


def test_the_page_of_findings_says_the_same_of_each_code() -> None:
    told = {
        code for code, entry in catalogue().items() if "cannot be accepted" in entry.cause.lower()
    }
    assert told == set(NEVER_ACCEPTED)


@settings(max_examples=examples(30), deadline=None)
@given(
    codes=st.lists(st.sampled_from(sorted(NEVER_ACCEPTED)), min_size=1, max_size=6, unique=True),
    there=st.booleans(),
    subject=st.sampled_from(["", "plate", "lid"]),
)
@example(codes=["clamp-hit"], there=True, subject="")
def test_an_acceptance_of_a_hazard_is_refused_at_its_line_and_the_stop_stays(
    codes: list[str], there: bool, subject: str
) -> None:
    job = SimpleNamespace(
        accepted=tuple(
            Acceptance(code, subject, "I will be quick", Source("job.yaml", 20 + at, 5, "accept"))
            for at, code in enumerate(codes)
        )
    )
    told = judged(job, [stop(code) for code in codes] if there else [])  # type: ignore[arg-type]
    refused = [item for item in told if item.code == "acceptance-refused"]
    assert [item.source for item in refused] == [each.source for each in job.accepted]
    assert all(code in item.message for code, item in zip(codes, refused, strict=True))
    assert all(item.stands for item in told if item.code in codes)
    assert not [item for item in told if item.code == "acceptance-idle"]


def test_being_quick_lifts_no_clamp_out_of_the_way(tmp_path: Path) -> None:
    text = PLAIN.replace(
        "front:\n",
        "keep clear of: [{name: clamp, at: [-18 mm, 0 mm], from: centre, size: [20 mm, 20 mm], "
        "height: 30 mm}]\n"
        "accept: [{finding: clamp-hit, because: I will be quick}]\nfront:\n",
    )
    result = made(tmp_path, text)
    assert found(result, "clamp-hit")
    assert all(item.stands for item in found(result, "clamp-hit"))
    (told,) = found(result, "acceptance-refused")
    assert told.source is not None
    assert told.source.line == text[: text.index("finding: clamp-hit")].count("\n") + 1
    assert not result.ok_to_cut


def places(result: Build) -> Iterator[tuple[str, str]]:
    """Yield everywhere that work at the machine is read from: what it is, and its words."""
    for file in result.gcode_files:
        yield file.file_name, file.text
    sight = page_context(result, "metric", coarse=False)
    yield "the page", job_view(sight).verdict.detail
    for card in setups(sight):
        yield card.heading, " ".join(card.warnings)
    for screen in screens(sight):
        if screen.files or "Fill plate" in screen.title:
            yield screen.title, " ".join(screen.warnings)
    for pour in pours(sight):
        yield pour.heading, " ".join(pour.warnings)


def unwrapped(text: str) -> str:
    """Return a text without spaces, breaks (a line may end at a hyphen) and comment brackets."""
    return "".join(re.sub(r"[()]+", " ", text).split())


@settings(max_examples=examples(2), deadline=None)
@given(because=WORDS)
@example(because="0AA-PPcdi000000")
@example(
    because="three layers; I (know) it \N{EM DASH} d\N{LATIN SMALL LETTER E WITH ACUTE}j\u00e0"
)
def test_what_is_accepted_is_printed_in_header_card_page_and_step(because: str) -> None:
    quoted = because.replace("\\", "\\\\").replace('"', '\\"')
    text = DEEP + f'accept: [{{finding: pour-too-deep, subject: plate, because: "{quoted}"}}]\n'
    with TemporaryDirectory() as folder:
        result = made(Path(folder), text)
    assert result.ok_to_cut
    for where, words in places(result):
        told = unwrapped(words)
        reason = plain_words(because) if where.endswith(".nc") else clean(because)
        assert "pour-too-deep" in told, where
        assert unwrapped(reason) in told, where
    shown = {
        screen.title: screen.warnings
        for screen in screens(page_context(result, "metric", coarse=False))
    }
    assert not [line for line in shown["Surface the front"] if "pour-too-deep" in line]
    moved = Correction((0.1, 0.0), (0.0, 0.0), 0.0, 0.0, 0.0)
    for file in result.gcode_files:
        assert "pour-too-deep" in corrected(file, moved, ("moved",)).text


def test_nothing_is_printed_where_nothing_is_accepted(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN)
    for _, words in places(result):
        assert "ccepted" not in words


def test_a_file_says_nothing_of_what_was_refused(tmp_path: Path) -> None:
    result = made(tmp_path, PLAIN + "accept: [{finding: clamp-hit, because: quick}]\n")
    assert all("clamp-hit" not in file.text for file in result.gcode_files)


def test_accepting_one_thing_leaves_another_of_its_name() -> None:
    job = SimpleNamespace(
        accepted=(Acceptance("pour-too-deep", "lid", "why", Source("j", 1, 1, "accept")),)
    )
    kept = judged(job, [stop("pour-too-deep"), stop("pour-too-deep", "lid")])  # type: ignore[arg-type]
    assert {item.subject: item.stands for item in kept} == {"plate": True, "lid": False}


@given(
    codes=st.sets(st.sampled_from([*NEVER_ACCEPTED, "plug-shows", "depth-past-core"]), min_size=1)
)
@example(codes={"flame-near-solvent"})
@settings(max_examples=examples(30), deadline=None)
def test_only_what_a_reason_lifts_is_offered_after_a_stopped_build(codes: set[str]) -> None:
    lines = fix_words([stop(code) for code in codes])
    offered = set(re.findall(r"finding: ([a-z-]+)", " ".join(lines)))
    assert offered == codes - NEVER_ACCEPTED.keys()
    assert ("accept" in " ".join(lines)) == bool(offered)
    assert sum("accept:" in line for line in lines) <= 1
