"""Fire and fumes: every pair of a hazard and a heat is decided, and what is decided is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import product
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from flushwork.art.draw import draw_faces
from flushwork.checks.rules.work.hazard_rules import (
    hazards_guessed,
    heat_near_what_burns,
    oxidiser_in_mix,
    used,
)
from flushwork.core.findings import Finding, Severity
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.job.read import read_job
from flushwork.job.records import Job
from flushwork.process.exposure import exposures
from flushwork.process.infer_stages import infer_plan
from flushwork.process.stages import Plan, StageKind
from flushwork.shelf import tables
from flushwork.shelf.hazards import CHOSEN, Basis, Hazard, HazardState, Heat, Verdict, pair, pairs
from flushwork.shelf.known_hazards import Item, hazards_of
from tests.checks.hearing import written
from tests.many import examples
from tests.scenarios.texts import job

HOT = ("flame", "hot air", "heat lamp", "warm box", "hot wood")


def planned(folder: Path, text: str, shop: str = "") -> tuple[Job, Plan]:
    """Return a job and its plan, as far as hazards need them."""
    read = read_job(written(folder, text, shop))
    return read, infer_plan(read, draw_faces(read))


def told(read: Job, plan: Plan) -> tuple[Finding, ...]:
    case = SimpleNamespace(job=read, plan=plan)
    rules = (heat_near_what_burns, hazards_guessed, oxidiser_in_mix)
    return tuple(item for rule in rules for item in rule(case))  # type: ignore[arg-type]


def heard(folder: Path, text: str, shop: str = "") -> tuple[Finding, ...]:
    return told(*planned(folder, text, shop))


def field(mix: str, more: str = "", depth: str = "2 mm") -> str:
    text = job(
        f"{more}front: {{inlays: [{{name: field, circle: 20 mm, depth: {depth}, fill: sea}}]}}\n"
    )
    return only(f"sea: {{resin: coating epoxy, {mix}}}", text)


def only(mix: str, text: str) -> str:
    """Return a job with other mixes in place of its own."""
    before, rest = text.split("mixes:\n")
    return f"{before}mixes:\n  {mix}\n{rest[rest.index('  clear:') :]}"


# the table


def test_every_pair_is_decided_once_and_with_a_reason() -> None:
    assert set(pairs()) == set(product(Hazard, HazardState, Heat))
    assert all(each.reason for each in pairs().values())
    for each in pairs().values():
        assert bool(each.line) == (each.verdict is Verdict.WARNING), each


MUST = {
    ("highly flammable", "wet"): (*HOT, "spindle", "sanding"),
    ("highly flammable", "fresh"): HOT,
    ("flammable", "wet"): (*HOT, "spindle", "sanding"),
    ("sensitiser", "wet"): ("spindle", "sanding"),
    ("sensitiser", "fresh"): ("spindle", "sanding"),
    ("metal dust", "dry powder"): ("flame", "hot air", "heat lamp", "spindle", "sanding"),
    ("metal dust", "wet"): ("flame", "hot air", "heat lamp", "spindle", "sanding"),
    ("metal dust", "fresh"): ("spindle", "sanding"),
    ("oxidiser", "dry powder"): (*HOT, "spindle", "sanding"),
    ("oxidiser", "wet"): (*HOT, "spindle", "sanding"),
}
WARNED = {
    ("highly flammable", "wet"): ("motor", "left in a heap"),
    ("highly flammable", "fresh"): ("spindle", "sanding", "motor"),
    ("flammable", "wet"): ("motor", "left in a heap"),
    ("flammable", "fresh"): HOT,
    ("self heating", "wet"): (*HOT, "sanding", "left in a heap"),
    ("self heating", "fresh"): (*HOT, "sanding", "left in a heap"),
    ("sensitiser", "wet"): (*HOT, "left in a heap"),
    ("sensitiser", "fresh"): HOT,
    ("sensitiser", "cured"): ("flame", "hot air", "spindle", "sanding"),
    ("sensitiser", "dry powder"): ("spindle", "sanding"),
    ("corrosive", "wet"): HOT,
    ("metal dust", "dry powder"): ("warm box", "hot wood", "motor", "left in a heap"),
    ("metal dust", "wet"): ("warm box", "hot wood", "motor", "left in a heap"),
    ("metal dust", "cured"): ("spindle", "sanding", "motor", "left in a heap"),
    ("explosible dust", "dry powder"): (*HOT[:3], "spindle", "sanding", "motor"),
    ("fine dust", "dry powder"): tuple(Heat),
    ("fine dust", "cured"): ("spindle", "sanding"),
    ("harmful wood dust", "dry powder"): (*HOT[:3], "spindle", "sanding", "motor"),
    ("oxidiser", "dry powder"): ("motor", "left in a heap"),
    ("oxidiser", "wet"): ("motor", "left in a heap"),
    ("dye", "dry powder"): tuple(Heat),
}
"""What must be fixed and what is warned of, written down a second time; all else is nothing."""


@pytest.mark.parametrize(("hazard", "state"), list(product(Hazard, HazardState)))
def test_the_table_is_the_one_agreed(hazard: Hazard, state: HazardState) -> None:
    for heat in Heat:
        wanted = Verdict.NOTHING
        if heat in WARNED.get((hazard, state), ()):
            wanted = Verdict.WARNING
        if heat in MUST.get((hazard, state), ()):
            wanted = Verdict.MUST_FIX
        assert pair(hazard, state, heat).verdict is wanted, heat


# the shelf

LISTED = {
    "highly flammable": {"ethanol", "acetone", "isopropanol", "shellac", "sanding sealer"},
    "flammable": {"wiping varnish", "hard-wax oil"},
    "self heating": {"wiping varnish", "hard-wax oil"},
    "sensitiser": {each.name for each in tables.starter_shop().resins}
    | {"seal coat", "mahogany", "African mahogany", "teak", "padauk", "purpleheart", "wenge"},
    "corrosive": {each.name for each in tables.starter_shop().resins} | {"seal coat"},
    "metal dust": set(),
    "explosible dust": {"black powder", "red powder"},
    "fine dust": {each.name for each in tables.starter_shop().pigments if "dye" not in each.name},
    "harmful wood dust": {each.name for each in tables.starter_shop().woods},
    "oxidiser": set(),
    "dye": {each.name for each in tables.starter_shop().pigments if "dye" in each.name},
}


def packaged() -> Iterator[object]:
    yield from tables.starter_shop().resins
    yield from tables.starter_shop().thinners
    yield from tables.starter_shop().sealers
    yield from tables.starter_shop().finishes
    yield from tables.starter_shop().pigments
    yield from tables.starter_shop().woods


@pytest.mark.parametrize("hazard", Hazard)
def test_what_the_packaged_shelf_carries(hazard: Hazard) -> None:
    carries = {item.name for item in packaged() if hazard in hazards_of(item)}  # type: ignore[attr-defined, arg-type]
    assert carries == LISTED[hazard]


def test_every_packaged_thing_is_listed() -> None:
    for item in packaged():
        known = hazards_of(item)  # type: ignore[arg-type]
        assert known.basis is Basis.LISTED, item
        assert known.source, item


PIGMENT = (
    "pigments: [teal flake, {{name: {name}, {like}{more}colour: '#aaaaaa', "
    "density: {density} g/cm3}}]\n"
)
NEW = "kind: powder, bulk density: 0.5 g/cm3, least share: 1 %, most share: 5 %, flake size: \
0.02 mm, hides at: 0.3 mm, bleeds: no, "


def with_pigment(
    folder: Path, name: str, density: float, *, like: str = "like: silver flake, ", more: str = ""
) -> tuple[Finding, ...]:
    shop = PIGMENT.format(name=name, like=like, more=more, density=density)
    return heard(folder, field(f"pigments: [{name}], bubbles: flame", "sealer: none\n"), shop)


@pytest.mark.parametrize("name", ["aluminium powder", "Aluminum flake", "fine alu", "bronze dust"])
@pytest.mark.parametrize("like", ["like: silver flake, ", NEW], ids=["like", "new"])
def test_a_metal_by_its_name_is_a_guess_and_says_so(tmp_path: Path, name: str, like: str) -> None:
    found = with_pigment(tmp_path, name, 2.7, like=like)
    (guess,) = [item for item in found if item.code == "hazards-guessed"]
    assert guess.severity is Severity.WARNING
    assert "guessed" in guess.message
    assert guess.subject == name
    assert guess.source is not None
    (stop,) = [item for item in found if item.code == "heat-near-dust"]
    assert stop.stands
    assert "guessed from its name" in stop.message


@pytest.mark.parametrize("name", ["iron oxide powder", "aluminium oxide", "heavy grey", "my gold"])
def test_no_density_and_no_oxide_makes_a_metal(tmp_path: Path, name: str) -> None:
    assert not [each for each in with_pigment(tmp_path, name, 8.5) if each.code == "heat-near-dust"]


def test_a_key_overrules_any_name(tmp_path: Path) -> None:
    said = with_pigment(tmp_path / "a", "aluminium powder", 2.7, more="hazards: [fine dust], ")
    assert not said
    plain = with_pigment(tmp_path / "b", "grey", 2.7, more="hazards: [metal dust], ")
    (stop,) = [item for item in plain if item.code == "heat-near-dust"]
    assert "guessed" not in stop.message


def test_what_nobody_lists_is_taken_with_care_and_said(tmp_path: Path) -> None:
    (told_of,) = [
        item
        for item in with_pigment(tmp_path, "grey", 2.7, like=NEW)
        if item.code == "hazards-guessed"
    ]
    assert told_of.severity is Severity.NOTE
    assert "fine dust" in told_of.message


# jobs

SEALERS = {
    "none": None,
    "seal coat": None,
    "shellac": (12.0, 1.0),
    "sanding sealer": (4.0, 2.0),
    "slow": (12.0, 25.0),
    "mild": (45.0, 1.0),
}
"""Flash point and hours to dry."""
THINNERS = {"ethanol": 12.0, "acetone": -20.0, "mild thinner": 40.0, "heavy thinner": 80.0}
PIGMENTS = {"teal flake": "", "metal": "metal dust", "feeder": "oxidiser", "black powder": ""}
SHOP = (
    "sealers: [shellac, seal coat, sanding sealer, {name: slow, like: shellac, dry after: 25 h},\n"
    "  {name: mild, film: 0.02 mm, dry after: 1 h, flammable: yes, flash point: 45 degC,\n"
    "   hazards: none}]\n"
    "thinners: [ethanol, acetone, {name: mild thinner, density: 0.8 g/cm3, evaporates: 100 %,\n"
    "  flammable: yes, flash point: 40 degC}, {name: heavy thinner, density: 0.9 g/cm3,\n"
    "  evaporates: 50 %, flammable: no, flash point: 80 degC}]\n"
    "pigments: [teal flake, black powder, {name: metal, like: teal flake, hazards: metal dust},\n"
    "  {name: feeder, like: teal flake, hazards: [oxidiser, fine dust]}]\n"
)


@settings(max_examples=examples(60), deadline=None)
@given(
    bubbles=st.sampled_from(["left", "flame", "hot air", "vacuum", "pick"]),
    heated=st.sampled_from(["nothing", "heat lamp", "warm box", "hot wood"]),
    sealer=st.sampled_from(sorted(SEALERS)),
    thinner=st.one_of(st.none(), st.sampled_from(sorted(THINNERS))),
    pigment=st.sampled_from(sorted(PIGMENTS)),
    depth=st.sampled_from(["2 mm", "4 mm"]),
)
@example("hot air", "nothing", "none", "acetone", "teal flake", "4 mm")
@example("flame", "nothing", "shellac", None, "teal flake", "2 mm")
@example("flame", "nothing", "none", None, "metal", "2 mm")
@example("left", "warm box", "slow", "mild thinner", "teal flake", "2 mm")
@example("left", "warm box", "mild", None, "teal flake", "2 mm")
def test_whatever_is_mixed_what_lights_is_told_and_nothing_else(
    bubbles: str, heated: str, sealer: str, thinner: str | None, pigment: str, depth: str
) -> None:
    thin = "" if thinner is None else f"thinner: {{name: {thinner}, share: 20 %}}, "
    mix = f"{thin}pigments: [{pigment}], bubbles: {bubbles}, heated by: {heated}"
    with TemporaryDirectory() as folder:
        found = heard(Path(folder), field(mix, f"sealer: {sealer}\n", depth), SHOP)
    at_pour = {heat for heat in (bubbles, heated) if heat in HOT and heat != "warm box"}
    at_cure = {heated} & {"heat lamp", "warm box"}
    coat = SEALERS[sealer]
    flash = 99.0 if thinner is None else THINNERS[thinner]
    fresh = coat is not None and coat[1] < 24.0
    wanted = set()
    if (flash <= 60.0 and at_pour) or (flash < 23.0 and at_cure):
        wanted.add("flame-near-solvent")
    if fresh and coat is not None and coat[0] < 23.0 and (at_pour or at_cure):
        wanted.add("flame-near-solvent")
    if PIGMENTS[pigment] == "metal dust" and at_pour - {"hot wood"}:
        wanted.add("heat-near-dust")
    if PIGMENTS[pigment] == "oxidiser" and at_pour:
        wanted.add("heat-near-dust")
    if PIGMENTS[pigment] == "oxidiser" and flash <= 60.0:
        wanted.add("oxidiser-in-mix")
    stops = {item.code for item in found if item.severity is Severity.MUST_FIX}
    assert stops == wanted
    assert stops <= set(NEVER_ACCEPTED)
    for item in found:
        assert "None" not in item.message
        assert item.remedy
        if item.severity is Severity.MUST_FIX:
            assert item.source is not None
            assert item.source.key == "mixes.sea"
    careful = any(item.code == "heat-with-care" for item in found)
    burning = pigment == "black powder" and at_pour & {"flame", "hot air", "heat lamp"}
    metal = PIGMENTS[pigment] == "metal dust" and "hot wood" in at_pour
    mild = (fresh and coat is not None and coat[0] >= 23.0 and (at_pour or at_cure)) or (
        23.0 <= flash <= 60.0 and at_cure - at_pour
    )
    assert careful == bool(burning or metal or mild)


def test_the_solvent_of_one_colour_meets_the_flame_of_the_next(tmp_path: Path) -> None:
    two = (
        "sealer: none\nfront:\n  inlays:\n"
        "    - {name: left, circle: 9 mm, at: [-20 mm, 0 mm], depth: 2 mm, fill: sea}\n"
        "    - {name: right, circle: 9 mm, at: [20 mm, 0 mm], depth: 2 mm, fill: sky}\n"
    )
    text = only(
        "sea: {resin: coating epoxy, thinner: {name: ethanol, share: 5 %}}\n"
        "  sky: {resin: coating epoxy, bubbles: flame}",
        job(two),
    )
    (stop,) = [item for item in heard(tmp_path, text) if item.code == "flame-near-solvent"]
    assert stop.subject == "sky"
    assert "ethanol of sea" in stop.message


def test_sanding_and_cutting_meet_what_the_table_says_of_them(tmp_path: Path) -> None:
    shop = "pigments: [{name: grey, like: silver flake, hazards: [metal dust]}]\n"
    read, plan = planned(
        tmp_path,
        field("pigments: [grey]", "finish: hard-wax oil\nsealer: shellac\n").replace(
            "sugar maple", "mahogany"
        ),
        shop,
    )
    lines = {
        kind: {
            each.pair.line
            for each in exposures(read, plan)
            if each.stage.kind is kind and each.pair.verdict is Verdict.WARNING
        }
        for kind in StageKind
    }
    assert {"metal dust", "cured only", "wood dust", "species"} <= lines[StageKind.SAND]
    assert {"metal dust", "cured only", "wood dust", "species"} <= lines[StageKind.MILL_FLUSH]
    assert {"wood dust", "species", "aired"} <= lines[StageKind.CUT]
    assert "metal dust" not in lines[StageKind.CUT]
    assert {"solvent", "rags"} <= lines[StageKind.FINISH]
    assert "solvent" in lines[StageKind.SEAL]
    assert {"metal dust", "hot cup"} <= lines[StageKind.FILL]


@pytest.mark.parametrize(
    ("mix", "more", "words"),
    [
        ("bubbles: flame", "", "`bubbles: pick` or `bubbles: vacuum`, take a sealer that does not"),
        ("bubbles: flame", "", "let it air for a day (`dry after: 24 h`, by its safety sheet)."),
        ("heated by: warm box", "", "Write `heated by: nothing`"),
        ("bubbles: hot air, pigments: [metal]", "sealer: none\n", "weigh it apart from all heat"),
        (
            "bubbles: hot air, thinner: {name: acetone, share: 20 %}",
            "sealer: none\n",
            "warm the parts and leave the thinner out, or take a thinner resin; no flame or spark "
            "until the vapour has gone. It cannot be accepted.",
        ),
    ],
)
def test_each_stop_says_what_would_mend_it(tmp_path: Path, mix: str, more: str, words: str) -> None:
    found = heard(tmp_path, field(mix, more), SHOP)
    (stop,) = [item for item in found if item.severity is Severity.MUST_FIX]
    assert words in stop.remedy


@pytest.mark.parametrize(
    ("after", "heat"), [(StageKind.CUT, "the spindle"), (StageKind.SAND, "sanding")]
)
def test_a_step_that_comes_while_the_sealer_is_wet_is_a_stop(
    tmp_path: Path, after: StageKind, heat: str
) -> None:
    read, plan = planned(tmp_path, field("pigments: [teal flake]"))
    seal = next(stage for stage in plan.stages if stage.kind is StageKind.SEAL)
    later = next(stage for stage in plan.stages if stage.kind is after)
    hasty = replace(plan, stages=(replace(seal, number=1, lag_s=0.0), replace(later, number=2)))
    (stop,) = [item for item in told(read, hasty) if item.severity is Severity.MUST_FIX]
    assert heat in stop.message
    assert "wet there" in stop.message
    assert "let it dry and air the room" in stop.remedy


def test_everything_used_is_asked_after(tmp_path: Path) -> None:
    read, _ = planned(
        tmp_path, field("thinner: {name: ethanol, share: 5 %}, pigments: [teal flake]")
    )
    names = {item.name for item in used(read)}
    assert {"sugar maple", "shellac", "wiping varnish", "coating epoxy", "ethanol"} <= names
    assert "teal flake" in names


def test_the_heat_that_a_job_asks_for_is_told_apart_from_the_rest() -> None:
    assert {str(heat) for heat in CHOSEN} == set(HOT)


@settings(max_examples=examples(8), deadline=None)
@given(
    dry_min=st.integers(1, 120),
    burns=st.booleans(),
    thinner=st.one_of(st.none(), st.sampled_from(sorted(THINNERS))),
)
@example(dry_min=5, burns=True, thinner="acetone")
def test_vapour_has_time_to_leave(dry_min: int, burns: bool, thinner: str | None) -> None:
    kind = "highly flammable" if burns else "none"
    shop = SHOP.replace(
        "sealers: [shellac,",
        f"sealers: [{{name: quick, film: 0.02 mm, dry after: {dry_min} min, flammable: no, "
        f"hazards: {kind}}}, shellac,",
    )
    thin = "" if thinner is None else f"thinner: {{name: {thinner}, share: 5 %}}, "
    with TemporaryDirectory() as folder:
        _, plan = planned(
            Path(folder), field(f"{thin}pigments: [teal flake]", "sealer: quick\n"), shop
        )
    for stage in plan.stages:
        gives_off = (stage.kind is StageKind.SEAL and burns) or (
            stage.kind is StageKind.FILL and thinner is not None and THINNERS[thinner] <= 60.0
        )
        gives_off = gives_off or stage.kind is StageKind.FINISH
        aired_s = max(1800.0, 60.0 * dry_min) if stage.kind is StageKind.SEAL else 1800.0
        assert stage.airing_s == (aired_s if gives_off else 0.0), stage.title
        if stage.kind is StageKind.SEAL:
            assert stage.lag_s == max(60.0 * dry_min, 1800.0 if burns else 0.0)
        if stage.kind is StageKind.FINISH:
            assert stage.lag_s >= 1800.0


UNLISTED = (
    "woods: [{name: iroko, like: white oak}, {name: plain, radial movement: 0.1 %,\n"
    "  tangential movement: 0.2 %, gravity: 0.5, hardness: 4000 N, pores: closed,\n"
    "  colour: '#aa9977', grain colour: '#887755'}]\n"
    "sealers: [{name: a, film: 0.02 mm, dry after: 1 h, flammable: yes},\n"
    "  {name: b, film: 0.02 mm, dry after: 1 h, flammable: no}]\n"
    "finishes: [{name: c, film: 0.02 mm, recoat after: 1 h, flammable: yes},\n"
    "  {name: d, film: 0.02 mm, recoat after: 1 h, flammable: no},\n"
    "  {name: e, film: 0.02 mm, recoat after: 1 h, flammable: yes, flash point: 50 degC}]\n"
    "thinners: [{name: f, density: 0.8 g/cm3, evaporates: 100 %, flammable: yes,\n"
    "  flash point: 22 degC}, {name: g, density: 0.8 g/cm3, evaporates: 100 %, flammable: yes,\n"
    "  flash point: 23 degC}, {name: h, density: 0.8 g/cm3, evaporates: 100 %, flammable: no,\n"
    "  flash point: 61 degC}]\n"
    "pigments: [{name: tint, like: blue dye}, {name: dust, "
    + NEW
    + "colour: '#aaaaaa', density: 2 g/cm3},\n  {name: stain, "
    + NEW.replace("powder", "dye")
    + "colour: '#aaaaaa', density: 2 g/cm3}]\n"
)


def test_what_is_taken_of_each_sort_that_nobody_lists(tmp_path: Path) -> None:
    text = field("pigments: [tint]", "sealer: a\nfinish: c\n").replace("sugar maple", "plain")
    shop = planned(tmp_path, text, UNLISTED)[0].shop
    things: list[Item] = [*shop.woods, *shop.sealers, *shop.finishes]
    things += [*shop.thinners, *shop.pigments]
    carries = {each.name: (hazards_of(each).classes, hazards_of(each).basis) for each in things}
    wood, fine = Hazard.WOOD_DUST, Hazard.FINE_DUST
    lit, mild, heats = Hazard.VERY_FLAMMABLE, Hazard.FLAMMABLE, Hazard.SELF_HEATING
    assert carries["iroko"] == ((wood, Hazard.SENSITISER), Basis.GUESSED)
    assert carries["plain"] == ((wood,), Basis.ASSUMED)
    assert carries["a"] == ((lit,), Basis.ASSUMED)
    assert carries["b"] == ((Hazard.SENSITISER,), Basis.ASSUMED)
    assert carries["c"] == ((lit, heats), Basis.ASSUMED)
    assert carries["d"] == ((), Basis.ASSUMED)
    assert carries["e"] == ((heats, mild), Basis.ASSUMED)
    assert [carries[name][0] for name in "fgh"] == [(lit,), (mild,), ()]
    assert carries["tint"] == ((Hazard.DYE,), Basis.LISTED)
    assert carries["dust"] == ((fine, Hazard.EXPLOSIBLE_DUST), Basis.ASSUMED)
    assert carries["stain"] == ((fine, Hazard.DYE), Basis.ASSUMED)


CAPPED = (
    "sealer: none\nfront:\n  inlays:\n"
    "    - {name: line, circle: 9 mm, depth: 2 mm, fill: sea, how: scraped flush and capped, cap: "
    "sky}\nback: {inlays: [{name: other, circle: 9 mm, at: [30 mm, 0 mm], depth: 2 mm, fill: "
    "sky}]}\n"
)
SKY = "sky: {resin: coating epoxy, bubbles: flame}"


@pytest.mark.parametrize(
    ("mix", "stops"),
    [
        ("pigments: [metal]", set[str]()),
        ("pigments: [metal], bubbles: flame", {"heat-near-dust"}),
        ("thinner: {name: ethanol, share: 5 %}", {"flame-near-solvent"}),
        ("thinner: {name: mild thinner, share: 5 %}", set[str]()),
    ],
)
def test_what_has_set_under_a_cap_is_fresh_and_no_longer_weighed(
    tmp_path: Path, mix: str, stops: set[str]
) -> None:
    text = only(f"sea: {{resin: coating epoxy, {mix}}}\n  {SKY}", job(CAPPED))
    found = heard(tmp_path, text, SHOP)
    assert {item.code for item in found if item.severity is Severity.MUST_FIX} == stops


def test_only_the_face_that_holds_the_metal_makes_dust_of_it(tmp_path: Path) -> None:
    text = only(f"sea: {{resin: coating epoxy, pigments: [metal]}}\n  {SKY}", job(CAPPED))
    read, plan = planned(tmp_path, text, SHOP)
    faces = {
        each.stage.face
        for each in exposures(read, plan)
        if each.stage.kind is StageKind.SAND and each.pair.line == "metal dust"
    }
    assert faces == {"front"}
