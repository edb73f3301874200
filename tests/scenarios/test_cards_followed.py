"""Every card can be followed with the tools it names, or a finding says that it cannot.

A job and a shop as text are built as a user builds them, and the cards are read as printed: in the
book's records and on the page of the bench, with nothing but the text of their steps.
"""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.bench.pages import whole_page
from flushwork.bench.server.resources import templates
from flushwork.built import Build
from flushwork.pipeline import build
from flushwork.runtime.memo import Memo
from flushwork.views.book_records import PourView
from flushwork.views.drawing.face_art import mix_letters
from flushwork.views.pour_views import pour_views
from tests.card_reader import CardReader, plain
from tests.many import examples

JOB = """\
flushwork: 2
title: Cards
shop: shop.yaml
cell: 0.4 mm
pieces: {pieces}
blank: {{wood: sugar maple, length: 80 mm, width: 60 mm, thickness: 16 mm}}
trim line: {{rectangle: 70 mm x 50 mm, round: 4 mm}}
sealer: {sealer}
mixes:
{mixes}
front:
  inlays:
    - {{name: one, rectangle: 26 mm x 20 mm, at: [-16 mm, 0 mm], round: 4 mm, depth: {deep} mm,
       fill: {first}}}
    - {{name: two, rectangle: 14 mm x 10 mm, at: [16 mm, 8 mm], round: 4 mm, depth: 2 mm,
       fill: {second}}}
"""
OUNCE_STEP_G = 0.28349523125
"""A hundredth of an ounce."""
SCALES = st.builds(
    lambda step, times, drops: (step, step * times, step * drops),
    st.sampled_from([0.01, 0.02, OUNCE_STEP_G, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0]),
    st.sampled_from([100, 500, 1000, 2000, 5000, 20000]),
    st.sampled_from([0.5, 1.0, 3.0]),
)
VESSELS = st.builds(
    lambda marks, capacity, drops: (capacity / marks, capacity, capacity / marks * drops),
    st.sampled_from([10, 20, 25, 30, 50, 60, 100]),
    st.sampled_from([1.0, 2.5, 3.0, 5.0, 10.0, 12.0, 20.0, 30.0, 60.0, 100.0]),
    st.sampled_from([0.2, 0.5, 1.0]),
)
SPOONS = st.sampled_from([0.05, 0.15, 0.33, 1.2322304, 5.0]).map(lambda v: (v, v, v / 2.0))
RESINS = ["coating epoxy", "casting epoxy", "five to one epoxy", "one to one epoxy"]
PIGMENTS = ["black powder", "white powder", "green oxide powder"]


@st.composite
def shop_texts(draw: st.DrawFn) -> str:
    """Draw a shop: up to five tools of any sort, cups, air, and what the labels say."""
    lines = ["flushwork shop: 2", "name: Any shop", "measuring tools:"]
    kinds = draw(
        st.lists(st.sampled_from(["scale", "syringe", "cup", "spoon"]), min_size=1, max_size=5)
    )
    for place, kind in enumerate(kinds, start=1):
        strategy = {"scale": SCALES, "spoon": SPOONS}.get(kind, VESSELS)
        unit = "g" if kind == "scale" else "cm3"
        step, capacity, drop = (f"{float(each):.6g} {unit}" for each in draw(strategy))
        lines.append(
            f"  - {{name: {kind} {'abcde'[place - 1]}, kind: {kind}, step: {step}, "
            f"capacity: {capacity}, drop: {drop}}}"
        )
    lines.append(f"empty cup: {draw(st.sampled_from([0, 4, 10, 35]))} g")
    lines.append(f"cup loss: {draw(st.sampled_from([0, 1, 1.5, 3]))} g")
    day = draw(st.integers(12, 34))
    lines.append(f"air: {{day temperature: {day} degC, night temperature: {day - 3} degC}}")
    lines.append("resins:")
    for name in RESINS:
        pot = draw(st.sampled_from([20, 60, 100, 200, 500]))
        off = draw(st.sampled_from([2, 3, 5]))
        lines.append(f"  - {{like: {name}, pot mass: {pot} g, ratio tolerance: {off} %}}")
    return "\n".join(lines) + "\n"


@st.composite
def job_texts(draw: st.DrawFn) -> str:
    """Draw a job: two fills of one or two mixes, thinned or not, with up to two pigments."""
    lines = []
    resin = draw(st.sampled_from(RESINS))
    for name in ("dark", "light"):
        own = draw(st.sampled_from([resin, resin, resin, *RESINS]))
        pigments = ", ".join(
            f"{{name: {pigment}, share: {draw(st.sampled_from([0.1, 0.5, 1, 2, 4, 8]))} %}}"
            for pigment in draw(st.lists(st.sampled_from(PIGMENTS), max_size=2, unique=True))
        )
        thin = draw(st.sampled_from([0, 0, 2, 5, 15]))
        thinner = f", thinner: {{name: ethanol, share: {thin} %}}" if thin else ""
        lines.append(f"  {name}: {{resin: {own}, pigments: [{pigments}]{thinner}}}")
    return JOB.format(
        pieces=draw(st.sampled_from([1, 2, 5, 12, 40])),
        sealer=draw(st.sampled_from(["shellac", "seal coat", "none"])),
        mixes="\n".join(lines),
        deep=draw(st.sampled_from([0.6, 2, 4, 5.5])),
        first="dark",
        second=draw(st.sampled_from(["dark", "light"])),
    )


class Bench:
    """One folder and one memory for all examples: the board is cut once, pours measured anew."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.memo = Memo()

    def __repr__(self) -> str:
        return "the bench"

    def built(self, job: str, shop: str) -> Build:
        (self.folder / "shop.yaml").write_text(shop, encoding="utf-8")
        (self.folder / "job.yaml").write_text(job, encoding="utf-8")
        return build(self.folder / "job.yaml", memo=self.memo)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    return Bench(tmp_path_factory.mktemp("cards"))


def words(html: str) -> str:
    return plain(re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", html))))


def page_of(view: PourView) -> str:
    """Return the card as the bench's page shows it, without its tags."""
    return words(templates().get_template("card.html.j2").render(pour=view))


def all_faults(made: Build) -> list[str]:
    """Return what cannot be followed of any card, in the book or on the page."""
    told: dict[str, frozenset[str]] = {}
    for finding in made.findings:
        for subject in (finding.subject, *finding.also):
            told[subject] = told.get(subject, frozenset()) | {finding.code}
    mixes = {pour.mix.name: pour.mix for pour in made.pours}
    reader = CardReader(made.job.shop, mixes, told)
    sight = whole_page.page_context(made, "metric", coarse=False)
    found = []
    for cards in (pour_views(sight, mix_letters(made.job)), whole_page.pours(sight)):
        with_clear = next((card for card in cards if card.clear_steps), None)
        for card in cards:
            found += [f"{card.heading}: {fault}" for fault in reader.faults(card, with_clear)]
    for card in whole_page.pours(sight):
        page, at = page_of(card), 0
        for step in (*card.clear_steps, *card.steps):
            for text in (step.what, step.add, step.tool, step.stop_between):
                place = page.find(words(text), at) if text else at
                if place < 0:
                    found.append(f"{card.heading}: the page leaves out {text}")
                at = max(at, place)
    return found


SYRINGES = """\
flushwork shop: 2
measuring tools:
  - {name: syringe a, kind: syringe, step: 0.2 cm3, capacity: 5 cm3, drop: 0.1 cm3}
  - {name: syringe b, kind: syringe, step: 1 cm3, capacity: 60 cm3, drop: 0.5 cm3}
  - {name: spoon c, kind: spoon, step: 0.33 cm3, capacity: 0.33 cm3, drop: 0.16 cm3}
"""
THINNED = JOB.format(
    pieces=40,
    sealer="none",
    mixes="  dark: {resin: one to one epoxy, pigments: [{name: black powder, share: 2 %}], "
    "thinner: {name: ethanol, share: 15 %}}\n"
    "  light: {resin: one to one epoxy, pigments: [{name: white powder, share: 0.1 %}]}",
    deep=4,
    first="dark",
    second="light",
)


POCKET_SCALE = """\
flushwork shop: 2
measuring tools:
  - {name: scale a, kind: scale, step: 0.01 g, capacity: 1 g, drop: 0.005 g}
empty cup: 0 g
"""


@given(job=job_texts(), shop=shop_texts())
@example(job=THINNED, shop=SYRINGES)
@example(job=THINNED.replace("sealer: none", "sealer: seal coat"), shop=POCKET_SCALE)
@settings(max_examples=examples(20), deadline=None)
def test_every_card_can_be_followed(job: str, shop: str, bench: Bench) -> None:
    assert all_faults(bench.built(job, shop)) == []


@pytest.mark.parametrize("name", ["coaster", "house-sign"])
def test_the_cards_of_the_examples_can_be_followed(name: str) -> None:
    path = Path(__file__).parents[2] / "examples" / name / "job.yaml"
    made = build(path)
    assert all_faults(made) == []
    assert not [f for f in made.findings if f.code == "part-cannot-be-measured"]
