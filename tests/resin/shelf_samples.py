"""Generic shelf records for the tests of this room; their figures are made up but plausible."""

from __future__ import annotations

from dataclasses import replace

from flushwork.core.findings import Source
from flushwork.job.records import Mix, MixPigment
from flushwork.shelf.items import (
    Air,
    Dialect,
    Machine,
    MeasuringTool,
    Pigment,
    PigmentKind,
    Resin,
    Shop,
    Thinner,
    ToolKind,
)

NOWHERE = Source("job.yaml", 1, 1, "mixes")

COATING = Resin(
    name="coating epoxy",
    kind="coating",
    ratio_resin=100.0,
    ratio_hardener=44.0,
    by_weight=True,
    density_resin_g_cm3=1.15,
    density_hardener_g_cm3=1.0,
    tolerance=0.03,
    pot_life_s=25.0 * 60.0,
    pot_mass_g=100.0,
    viscosity_pa_s=0.7,
    recoat_from_s=4.0 * 3600.0,
    recoat_until_s=18.0 * 3600.0,
    sandable_s=24.0 * 3600.0,
    cure_s=7.0 * 86400.0,
    at_c=25.0,
    floor_c=15.0,
    layer_mm=6.0,
    shrinkage=0.03,
    source="assumed",
)
FIVE_TO_ONE = replace(
    COATING,
    name="five to one",
    ratio_resin=5.0,
    ratio_hardener=1.0,
    by_weight=False,
    tolerance=0.05,
)
ETHANOL = Thinner("ethanol", 0.789, 1.0, True, 13.0, "NIOSH Pocket Guide, ethyl alcohol")
FLAKE = Pigment(
    "gold flake", PigmentKind.FLAKE, "#c9a227", 2.8, 0.4, 0.01, 0.06, 0.04, 0.6, False, "assumed"
)
DYE = Pigment("navy dye", PigmentKind.DYE, "#10204a", 1.0, 1.0, 0.002, 0.02, 0.0, 3.0, True, "")

TENTH_SCALE = MeasuringTool("0.1 g scale", ToolKind.SCALE, 0.1, 500.0, 0.03)
FINE_SCALE = MeasuringTool("0.01 g scale", ToolKind.SCALE, 0.01, 100.0, 0.03)
SYRINGE = MeasuringTool("12 cm3 syringe", ToolKind.SYRINGE, 0.2, 12.0, 0.03)
SMALL_SYRINGE = MeasuringTool("1 cm3 syringe", ToolKind.SYRINGE, 0.02, 1.0, 0.01)
SPOON = MeasuringTool("0.33 cm3 spoon", ToolKind.SPOON, 0.33, 0.33, 0.05)

MACHINE = Machine(
    "router",
    600.0,
    400.0,
    80.0,
    3000.0,
    1000.0,
    5000.0,
    8000.0,
    24000.0,
    400.0,
    5.0,
    Dialect(),
)


def make_mix(
    name: str = "gold line",
    resin: Resin = COATING,
    thinner_share: float = 0.0,
    pigments: tuple[MixPigment, ...] = (),
) -> Mix:
    """Return a mix at its resin's own ratio."""
    return Mix(
        name=name,
        resin=resin,
        ratio_resin=resin.ratio_resin,
        ratio_hardener=resin.ratio_hardener,
        by_weight=resin.by_weight,
        thinner=ETHANOL if thinner_share else None,
        thinner_share=thinner_share,
        pigments=pigments,
        colour="",
        opacity=0.0,
        bubbles="",
        source=NOWHERE,
    )


def make_shop(*tools: MeasuringTool, cup_loss_g: float = 1.5) -> Shop:
    """Return a shop with these measuring tools and nothing else that matters here."""
    return Shop(
        name="test shop",
        machine=MACHINE,
        holdings=(),
        bits=(),
        woods=(),
        resins=(COATING, FIVE_TO_ONE),
        thinners=(ETHANOL,),
        pigments=(FLAKE, DYE),
        tools=tools,
        sealers=(),
        finishes=(),
        air=Air(20.0, 16.0, 8.0, 18.0, 0.5),
        days=(0, 1, 2, 3, 4),
        cup_loss_g=cup_loss_g,
    )
