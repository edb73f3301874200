"""The shop file: the packaged shelf, changed and added to."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pytest

from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.read import read_shop
from flushwork.shelf.items import Air, BitKind, PigmentKind, Shop
from flushwork.shelf.tables import starter_shop
from flushwork.shelf.working import WorkHours


def shop(tmp_path: Path, text: str) -> Shop:
    path = tmp_path / "shop.yaml"
    path.write_text("flushwork shop: 2\n" + text, "utf-8")
    return read_shop(path)


def slips(tmp_path: Path, text: str) -> tuple[Finding, ...]:
    with pytest.raises(JobRefusedError) as refused:
        shop(tmp_path, text)
    return refused.value.findings


def test_an_empty_shop_is_the_starter_shop(tmp_path: Path) -> None:
    found = shop(tmp_path, "")
    assert [key for key, _ in found.places] == ["flushwork shop"]
    assert replace(found, places=()) == starter_shop()


def test_names_take_things_from_the_shelf(tmp_path: Path) -> None:
    found = shop(tmp_path, "bits: [6.35 mm flat, 1 mm flat]\nresins: casting epoxy\nsealers: []\n")
    assert [bit.name for bit in found.bits] == ["6.35 mm flat", "1 mm flat"]
    assert [resin.name for resin in found.resins] == ["casting epoxy"]
    assert found.sealers == ()
    assert found.pigments == starter_shop().pigments


def test_like_changes_what_it_names(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "bits:\n  - 1 mm flat\n  - {like: 1 mm flat, name: worn, diameter: 0.98 mm}\n"
        "resins:\n  - {like: coating epoxy, pot life: 20 min, ratio: '2:1 by volume'}\n",
    )
    plain, worn = found.bits
    assert (worn.diameter_mm, worn.chip_mm, worn.kind) == (0.98, plain.chip_mm, plain.kind)
    assert worn.number != plain.number
    (resin,) = found.resins
    assert (resin.pot_life_s, resin.ratio_resin, resin.by_weight) == (1200.0, 2.0, False)
    assert resin.source == "your shop file"


def test_a_bit_in_words(tmp_path: Path) -> None:
    (bit,) = shop(
        tmp_path,
        "bits:\n  - {name: pocket, kind: flat, diameter: 1/8 in, flutes: 1, flute length: 10 mm,"
        " shank: 1/8 in, reach: 18 mm, plunges: no, chip load: 0.03 mm, spindle: 16000 rpm,"
        " pass depth: 1 mm, step over: 45 %, number: 4}\n",
    ).bits
    assert bit.kind is BitKind.FLAT
    assert (bit.diameter_mm, bit.flutes, bit.flute_mm, bit.reach_mm) == (
        3.175,
        1,
        10,
        18,
    )
    assert (bit.plunges, bit.chip_mm, bit.spindle_rpm) == (False, 0.03, 16000.0)
    assert (bit.pass_mm, bit.step, bit.number) == (1.0, 0.45, 4)


def test_a_bit_of_few_words_is_scaled_from_the_nearest(tmp_path: Path) -> None:
    flat, v_bit = shop(
        tmp_path,
        "bits:\n  - {name: two, kind: flat, diameter: 2 mm}\n"
        "  - {name: v, kind: V-bit, diameter: 6 mm, angle: 45 deg}\n",
    ).bits
    near = next(each for each in starter_shop().bits if each.name == "1.588 mm flat")
    assert flat.chip_mm == pytest.approx(near.chip_mm * 2 / near.diameter_mm)
    assert flat.pass_mm == pytest.approx(near.pass_mm * 2 / near.diameter_mm)
    assert flat.reach_mm >= flat.flute_mm
    assert v_bit.angle_rad == pytest.approx(math.radians(45))
    assert {flat.number, v_bit.number} == {1, 2}


def test_things_of_your_own(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "pigments:\n  - {name: moss, kind: powder, colour: '#445533', density: 4 g/cm3,"
        " bulk density: 0.7 g/cm3, least share: 1 %, most share: 4 %,"
        " flake size: 0.001 mm, hides at: 0.3 mm,"
        " bleeds: no}\n"
        "woods:\n  - {like: black cherry, name: old cherry, colour: '#8a5a33'}\n"
        "thinners:\n  - {like: ethanol, evaporates: 90 %}\n"
        "measuring tools: [{name: gram scale, kind: scale, step: 1 g, capacity: 5 kg, drop: 1 g},"
        " {like: 12 cm3 syringe, step: 0.5 ml}]\n"
        "holding: [{name: vacuum, how: vacuum, locates by: pins, repeatability: 0.03 mm}]\n"
        "finishes: [{name: lacquer, film: 0.02 mm, recoat after: 4 h, flammable: yes}]\n",
    )
    assert found.pigments[0].kind is PigmentKind.POWDER
    assert len(found.woods) == len(starter_shop().woods) + 1
    assert found.woods[-1].radial_per_pct == found.woods[0].radial_per_pct
    assert found.thinners[0].evaporates == 0.9
    assert [tool.step for tool in found.tools] == [1.0, 0.5]
    assert found.holdings[0].repeat_mm == 0.03
    assert found.finishes[0].recoat_s == 14400.0


def test_machine_air_and_hours(tmp_path: Path) -> None:
    found = shop(
        tmp_path,
        "name: Barn\nmachine:\n  travel: [24 in, 400 mm, 80 mm]\n  feed: 100 in/min\n"
        "  gcode files: {units: inch, arcs: no, drilling cycles: no, program end: M30,"
        " tool change: number}\n"
        "air: {day temperature: 68 degF, night temperature: 8 degC, day from: 8:00,"
        " day until: 18:00, humidity: 60 %}\n"
        "hours: {opens: 7:30, closes: 16:00}\ndays: [Saturday, Monday]\n"
        "cup loss: 2 g\n",
    )
    machine = found.machine
    assert (machine.travel_x_mm, machine.feed_mm_min) == pytest.approx((609.6, 2540.0))
    assert machine.plunge_mm_min == starter_shop().machine.plunge_mm_min
    dialect = machine.dialect
    assert (dialect.inch, dialect.arcs, dialect.cycles, dialect.decimals) == (True, False, False, 5)
    assert (dialect.program_end, dialect.tool_change) == ("M30", "number")
    assert found.air == Air(20.0, 8.0, 8.0, 18.0, 0.6)
    assert found.hours == WorkHours(7.5, 16.0)
    assert (found.days, found.cup_loss_g) == ((0, 5), 2.0)


@pytest.mark.parametrize(
    ("text", "code", "line", "remedy"),
    [
        ("bits: [1mm flat]", "name-unknown", 2, "`1 mm flat`"),
        ("bits:\n  - {like: 2 mm flat, diameter: 2 mm}", "name-unknown", 3, "it has"),
        ("bits:\n  - {name: x}", "key-missing", 3, "like"),
        ("bits:\n  - {name: x, kind: V-bit, diameter: 6 mm, tip: 6 mm}", "value-out", 3, "less"),
        ("bits: [1 mm flat, 1 mm flat]", "name-twice", 2, "of its own"),
        (
            "bits:\n  - {like: 1 mm flat, name: a, number: 4}\n  - 3.175 mm flat",
            "number",
            4,
            "own",
        ),
        ("bits: []", "wrong-shape", 2, "at least 1"),
        ("machine: {gcode files: {file ending: n/c}}", "ending-unfit", 2, "such as `nc`"),
        ("bits: {name: x, kind: flat, diameter: 125}", "wrong-shape", 2, "a list"),
        ("bits: [{name: x, kind: flat, diameter: 0.125}]", "unit-missing", 2, "0.125 mm or"),
        ("resins: [{name: mine, pot life: 20 min}]", "key-missing", 2, "like"),
        ("machine: {feed: 3000 mm}", "unit-of-another-kind", 2, "mm/min"),
        ("machine: {travel: [600 mm, 400 mm]}", "wrong-shape", 2, "at least 3"),
        ("machine: {slowest spindle: 30000 rpm}", "value-out-of-range", 2, "at most"),
        ("pigments: [{like: red dye, most share: 0 %}]", "value-out-of-range", 2, "more than"),
        ("pigments: [{like: red dye, least share: 9 %}]", "value-out-of-range", 2, "least"),
        ("resins: [{like: coating epoxy, recoat from: 30 h}]", "value-out-of-range", 2, "longer"),
        ("resins: [{like: coating epoxy, pot life: 0 s}]", "value-out-of-range", 2, "more than"),
        ("bits: [{like: 1 mm flat, reach: 1 mm}]", "value-out-of-range", 2, "longer"),
        ("air: {day from: 8}", "time-unreadable", 2, "8:00"),
        ("air: {night temperature: 16}", "unit-missing", 2, "16 degC or 16 degF"),
        ("hours: {opens: 18:00, closes: 8:00}", "value-out-of-range", 2, "later"),
        ("days: [monday]", "word-unknown", 2, "`Monday`"),
        ("measuring tools: [{like: fine scale, step: 1 mm}]", "unit-of-another-kind", 2, ""),
        ("pigmnts: []", "key-unknown", 2, "`pigments`"),
    ],
)
def test_slips(tmp_path: Path, text: str, code: str, line: int, remedy: str) -> None:
    found = slips(tmp_path, text)
    assert found[0].code.startswith(code)
    assert len(found) == 1
    assert found[0].source is not None
    assert found[0].source.line == line
    assert remedy in found[0].remedy


def test_a_job_without_a_version_is_told(tmp_path: Path) -> None:
    path = tmp_path / "shop.yaml"
    path.write_text("name: x\n", "utf-8")
    with pytest.raises(JobRefusedError) as refused:
        read_shop(path)
    assert [finding.code for finding in refused.value.findings] == ["key-missing"]


def test_a_time_zone_is_one_of_the_database(tmp_path: Path) -> None:
    (found,) = slips(tmp_path, "time zone: Europe/Berlinn\n")
    assert found.code == "time-zone-unknown"
    assert "Europe/Berlinn" in found.message
    assert found.source is not None
    assert (found.source.line, found.source.key) == (2, "time zone")
    assert shop(tmp_path, "time zone: Europe/Berlin\n").zone == "Europe/Berlin"


def test_a_number_belongs_to_one_bit(tmp_path: Path) -> None:
    text = (
        "bits:\n  - {like: 1 mm flat, number: 4}\n  - {like: 6.35 mm flat, number: %d}\n"
        "  - {like: 25 mm facing bit, number: 6}\n"
    )
    (found,) = slips(tmp_path, text % 4)
    assert found.code == "number-twice"
    assert "'6.35 mm flat' and '1 mm flat' both have number 4" in found.message
    assert found.source is not None
    assert found.source.line == 4
    assert [bit.number for bit in shop(tmp_path, text % 5).bits] == [4, 5, 6]
