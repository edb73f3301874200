"""A finding is told of a thing of the job, not of its name: two of one name stay apart."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.bench.film.stills import about
from flushwork.built import Build
from flushwork.checks.fixes.fix import Question, figure_after
from flushwork.checks.odds.variation import Critical, single
from flushwork.core.findings import Finding, Severity, Subject
from tests.many import examples
from tests.small_jobs import PLAIN, made

SWAPPED = PLAIN.replace(
    "  clear: {resin: coating epoxy}", "  plate: {resin: coating epoxy}"
).replace(
    "depth: 2 mm, fill: dark}",
    "depth: 2 mm, fill: dark}\n"
    "    - {name: dark, rectangle: 8 mm x 8 mm, at: [-18 mm, 20 mm], depth: 2 mm, fill: plate}",
)
"""Two inlays, each with the name of the mix that fills the other."""
NAMES = st.text("abc over", min_size=1, max_size=12).map(str.strip).filter(bool)


@pytest.fixture(scope="module")
def build(tmp_path_factory: pytest.TempPathFactory) -> Build:
    folder: Path = tmp_path_factory.mktemp("swapped")
    return made(folder, SWAPPED)


def told(*subjects: Subject) -> Finding:
    return Finding("trial", Severity.WARNING, "It is so.", "Mend it.", subjects)


@pytest.mark.parametrize(("mix", "fills"), [("dark", "plate"), ("plate", "dark")])
def test_a_mix_is_shown_by_what_it_fills_not_by_its_namesake(
    build: Build, mix: str, fills: str
) -> None:
    region = next(drawn.region for drawn in build.inlays if drawn.inlay.name == fills)
    shown = about(build, told(Subject("mix", mix))).regions
    assert shown.symmetric_difference(region).area < 1e-6
    assert build.source_of(Subject("mix", mix)).key.startswith("mixes")
    assert build.source_of(Subject("inlay", mix)).key.startswith("front")


@pytest.mark.parametrize("name", ["dark", "plate"])
def test_a_fix_is_sought_at_the_thing_itself(build: Build, name: str) -> None:
    asked = Question(told(Subject("mix", name)), build.job, build.faces)
    assert asked.inlay is None
    assert not asked.inlays
    assert [mix.name for mix in asked.mixes] == [name]
    asked = Question(told(Subject("inlay", name)), build.job, build.faces)
    assert asked.inlay is not None
    assert asked.inlay.name == name
    assert not asked.mixes


@settings(max_examples=examples(60), deadline=None)
@given(st.lists(NAMES, min_size=4, max_size=4, unique=True))
def test_the_figure_after_a_fix_is_that_of_the_same_things(names: list[str]) -> None:
    front, back, other, last = (Subject("inlay", name) for name in names)
    held = [
        single(Critical.WOOD_BETWEEN_FACES, (one, two), "front", (0.0, 0.0), value, 0.3, (), 1)
        for one, two, value in ((front, back, 2.0), (other, last, 1.0))
    ]
    for own, least in ((front, 2.0), (back, 2.0), (other, 1.0), (last, 1.0)):
        finding = Finding("wood-between-too-thin", Severity.MUST_FIX, "Thin.", "Deeper.", (own,))
        assert figure_after(finding, held) == ("wood between faces", least, 0.3)
