from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.colour.kubelka_munk import NEVER_HIDES_MM, hides_from_opacity
from flushwork.colour.spaces import (
    BROAD_LIGHTNESS,
    FINE_LIGHTNESS,
    Triple,
    apart,
    ciede2000,
    difference,
    parse_hex,
    to_lab,
)
from flushwork.core.findings import Source
from flushwork.job.records import (
    Allowances,
    Blank,
    Face,
    Inlay,
    Job,
    Manner,
    MeasuredFrom,
    Mix,
    MixPigment,
    Outline,
)
from flushwork.shelf.items import (
    Air,
    Dialect,
    Holding,
    Machine,
    Pigment,
    PigmentKind,
    Resin,
    Shop,
    Wood,
)
from flushwork.strata.palette import mix_colour, palette_of
from tests.many import examples

HERE = Source("job.yaml", 1, 1, "")
RESIN = Resin(
    name="coating epoxy",
    kind="coating",
    ratio_resin=100.0,
    ratio_hardener=44.0,
    by_weight=True,
    density_resin_g_cm3=1.15,
    density_hardener_g_cm3=1.0,
    tolerance=0.03,
    pot_life_s=1500.0,
    pot_mass_g=100.0,
    viscosity_pa_s=0.7,
    recoat_from_s=1.0,
    recoat_until_s=2.0,
    sandable_s=3.0,
    cure_s=4.0,
    at_c=25.0,
    floor_c=15.0,
    layer_mm=6.0,
    shrinkage=0.03,
    source="assumed",
)
FLAKE = Pigment(
    "gold flake", PigmentKind.FLAKE, "#c9a227", 2.9, 0.4, 0.01, 0.05, 0.06, 0.6, False, "assumed"
)
CHERRY = Wood(
    "black cherry", 0.00126, 0.00248, 0.5, 4200.0, "closed", "#b4794c", "#8f5a36", "GTR-190"
)


def make_mix(name: str, colour: str, opacity: float, *, flake: bool = False) -> Mix:
    return Mix(
        name=name,
        resin=RESIN,
        ratio_resin=100.0,
        ratio_hardener=44.0,
        by_weight=True,
        thinner=None,
        thinner_share=0.0,
        pigments=(MixPigment(FLAKE, 0.03),) if flake else (),
        colour=colour,
        opacity=opacity,
        bubbles="left",
        source=HERE,
    )


GOLD = make_mix("gold line", "#c9a227", 0.99, flake=True)
CLEAR = make_mix("clear", "#f3ead6", 0.0)


def make_job() -> Job:
    shop = Shop(
        name="shop",
        machine=Machine("router", 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, 1.0, Dialect()),
        holdings=(),
        bits=(),
        woods=(),
        resins=(),
        thinners=(),
        pigments=(),
        tools=(),
        sealers=(),
        finishes=(),
        air=Air(20.0, 16.0, 8.0, 18.0, 0.5),
        days=(0,),
    )
    line = Inlay(
        name="line",
        face="front",
        artwork=(),
        seam=None,
        depth_mm=1.0,
        measured_from=MeasuredFrom.FINISHED,
        mix=GOLD,
        manner=Manner.CAPPED,
        cap=CLEAR,
        cap_mm=0.3,
        second_pass_of=(),
        after=(),
        v_bit=False,
        bits=(),
        sealed=True,
        source=HERE,
        depth_source=HERE,
    )
    return Job(
        title="test",
        file="job.yaml",
        folder=".",
        pieces=1,
        test_pieces=0,
        blank=Blank(CHERRY, 100.0, 50.0, 19.0, True, True, 0.08, True, HERE, HERE),
        outline=Outline(None, 0.0, 4, 5.0, 1.5, None, HERE),
        allowances=Allowances(0.5, 0.0, 0.15, 0.2, 0.05, 0.4, 1.0, 3.0),
        faces=(Face("front", (line,), ()),),
        mixes=(GOLD,),
        sealer=None,
        finish=None,
        shop=shop,
        holding=Holding("tape", "tape", "corner", 0.1, "assumed"),
        cell_mm=None,
        accepted=(),
        source=HERE,
    )


def test_a_mix_covers_where_a_fiftieth_shows() -> None:
    assert (1.0 - 0.9) ** hides_from_opacity(0.9) == pytest.approx(0.02)
    assert hides_from_opacity(0.0) == NEVER_HIDES_MM
    assert 0.1 < hides_from_opacity(1.0) < 0.11
    assert hides_from_opacity(1e-12) == NEVER_HIDES_MM
    assert math.isfinite(hides_from_opacity(0.5))


def test_flake_and_clear_are_told_apart() -> None:
    gold, clear = mix_colour(GOLD), mix_colour(CLEAR)
    assert (gold.flake, gold.clear) == (True, False)
    assert (clear.flake, clear.clear) == (False, True)
    # coloured by the maker: no pigment of ours, yet not clear
    assert not mix_colour(replace(CLEAR, opacity=0.5)).clear


def test_the_palette_has_the_wood_the_mixes_and_the_caps() -> None:
    palette = palette_of(make_job())
    assert palette.wood.hex == "#b4794c"
    assert palette.grain == parse_hex("#8f5a36")
    assert palette.hex_by_mix() == {"gold line": "#c9a227", "clear": "#f3ead6"}


def test_thin_strokes_want_more_contrast() -> None:
    fine, middle, broad = (apart((0.5,) * 3, (0.5,) * 3, width) for width in (0.5, 2.0, 5.0))
    assert fine.lightness_wanted == FINE_LIGHTNESS
    assert broad.lightness_wanted == BROAD_LIGHTNESS
    assert BROAD_LIGHTNESS < middle.lightness_wanted < FINE_LIGHTNESS
    assert not any(each.seen for each in (fine, middle, broad))


def test_lightness_and_difference_of_neighbours() -> None:
    black, white = parse_hex("#000000"), parse_hex("#ffffff")
    assert apart(black, white, 1.0).lightness == pytest.approx(100.0, abs=1e-3)
    assert difference(black, black) == 0.0
    assert difference(black, white) == pytest.approx(100.0, abs=1e-3)


bands = st.floats(0.0, 1.0)
colours = st.tuples(bands, bands, bands)


@given(colours, colours, st.floats(0.2, 8.0), st.floats(0.2, 8.0), st.booleans())
@settings(max_examples=examples(100), deadline=None)
def test_colour_counts_where_strokes_are_broad_enough(
    first: Triple, second: Triple, width: float, other: float, lettering: bool
) -> None:
    found = apart(first, second, width, lettering=lettering)
    light = abs(to_lab(first)[0] - to_lab(second)[0])
    if light >= 30.0:
        assert found.seen
    if width <= 1.0 or (lettering and width < 3.0):
        # fine strokes and lettering are read by lightness alone
        assert found.seen == (light >= 30.0 - 5.0 * min(2.0, max(0.0, width - 1.0)))
    elif ciede2000(to_lab(first), to_lab(second)) >= 30.0:
        assert found.seen
    # drawn broader a shape never fades, and lettering asks for no less than a shape
    assert apart(first, second, max(width, other), lettering=lettering).seen >= found.seen
    assert apart(first, second, width).seen >= found.seen
