"""Twelve coasters and a set of four names, each set from one plank: cut in one run and parted."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.fixes.fix import applied
from flushwork.core.findings import Severity
from flushwork.gcode.reader.program_text import read_program
from flushwork.pipeline import build
from flushwork.schedule.cost import cents
from flushwork.usecases.odds import odds
from flushwork.usecases.plan import cost
from flushwork.usecases.what_if import fixes_worth_trying
from flushwork.usecases.write import files_of
from flushwork.views.labels import labels_of
from tests.many import examples

SHOP = """\
flushwork shop: 2
name: Corner shop
prices:
  currency: crowns
  hour of work: 25.00
  hour of machine: 4.00
  sundries: 1.50
  wood: {sugar maple: 9.00}
  resin: {coating epoxy: 30.00}
"""
COASTERS = """\
flushwork: 2
title: Coasters
shop: shop.yaml
cell: 0.4 mm
blank: {{wood: sugar maple, length: {length} mm, width: {width} mm, thickness: 10 mm}}
trim line: {{circle: 90 mm}}
{many}
mixes:
  navy: {{resin: coating epoxy, pigments: [{{name: ultramarine powder, share: 4 %}}]}}
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: ring, ring: {{outside: 60 mm, inside: 44 mm}}, depth: 2 mm, fill: navy}}
    - {{name: star, polygon: {{sides: 5, diameter: 32 mm, inner: 16 mm}}, depth: 2 mm, fill: dark}}
"""
KNOT = "defects: [{circle: 12 mm, at: [10 mm, -10 mm], from: upper left}]"
SIGNS = f"""\
flushwork: 2
title: Four door signs
cell: 0.4 mm
blank: {{wood: sugar maple, length: 256 mm, width: 130 mm, thickness: 10 mm}}
trim line: {{rectangle: 110 mm x 50 mm, round: 6 mm}}
from one plank:
  names: [ANNA, BEN, CLEOPATRA, DAVID]
  {KNOT.replace("12 mm, at: [10 mm, -10 mm]", "8 mm, at: [3 mm, -3 mm]")}
mixes:
  dark: {{resin: coating epoxy, pigments: [{{name: black powder, share: 3 %}}]}}
front:
  inlays:
    - {{name: names, text: <name>, font: sans black, size: 26 mm, spacing: 10 %, depth: 1.5 mm,
       most width: 92 mm, least size: 12 mm, fill: dark}}
"""


def made(folder: Path, text: str) -> Build:
    (folder / "shop.yaml").write_text(SHOP, "utf-8")
    (folder / "job.yaml").write_text(text, "utf-8")
    return build(folder / "job.yaml")


@pytest.fixture(scope="module")
def plank(tmp_path_factory: pytest.TempPathFactory) -> Build:
    many = f"from one plank: {{pieces: 12, {KNOT}}}"
    return made(tmp_path_factory.mktemp("plank"), COASTERS.format(length=400, width=310, many=many))


@pytest.fixture(scope="module")
def alone(tmp_path_factory: pytest.TempPathFactory) -> Build:
    return made(
        tmp_path_factory.mktemp("alone"), COASTERS.format(length=106, width=106, many="pieces: 12")
    )


def piece_labels(result: Build) -> list[str]:
    assert result.schedule is not None
    labels = labels_of(
        result.job.title, result.plan, result.schedule, result.pours, parted=result.parted
    )
    return [label.name for label in labels if "front up: this side" in label.lines]


def test_twelve_coasters_are_cut_in_one_run_and_parted(plank: Build) -> None:
    assert plank.ok_to_cut, plank.findings
    face = plank.faces[0]
    assert len(face.trim.geoms) == 12
    assert face.laid is not None
    assert all(not piece.intersects(face.laid.defects) for piece in face.trim.geoms)
    apart = shapely.STRtree(list(face.trim.geoms))
    for piece in face.trim.geoms:
        near = apart.query(piece, predicate="dwithin", distance=4.0)
        assert len(near) == 1
    # one file parts them, each in the order of its number, and none is cut into by another's cut
    parting = plank.gcode_files[-1]
    reach_mm = parting.order.bit.diameter_mm / 2.0
    low = min(move.z_mm for move in parting.program.moves)
    deep = [move for move in parting.program.moves if move.z_mm < low + 0.01]
    order: list[int] = []
    for move in deep:
        place = shapely.Point(move.x_mm, move.y_mm)
        away = [piece.distance(place) for piece in face.trim.geoms]
        assert min(away) > reach_mm - 0.05
        at = away.index(min(away))
        if min(away) < reach_mm + 0.05 and (not order or order[-1] != at):
            order.append(at)
    assert order == list(range(12))
    assert read_program(parting.text) is not None


def test_twelve_from_one_plank_count_as_twelve_pieces(plank: Build, alone: Build) -> None:
    # pours: as much in each piece
    for one, other in zip(plank.pours, alone.pours, strict=True):
        assert one.mix.name == other.mix.name
        assert (one.pieces, other.pieces) == (1, 12)
        assert one.needed_cm3 == pytest.approx(other.needed_cm3, rel=0.01)
    # labels: one for each
    assert len(piece_labels(plank)) == len(piece_labels(alone)) == 12
    assert piece_labels(plank)[0] == "piece 1, 1 of 12"
    # odds: of so many pieces, each as likely
    of_plank, of_alone = odds(plank, samples=2000), odds(alone, samples=2000)
    assert (of_plank.pieces, of_alone.pieces) == (12, 12)
    assert of_plank.piece == pytest.approx(of_alone.piece, abs=0.02)
    assert of_plank.expected_good == pytest.approx(12 * of_plank.piece)
    # price: shared by so many, for the same resin and sundries, with fewer hours of hands
    costs = cost(plank), cost(alone)
    assert costs[0] is not None
    assert costs[1] is not None
    run, single = costs[0].run, costs[1].run
    assert (run.pieces, single.pieces) == (12, 12)
    assert run.each == cents(run.total / 12)
    told, known = ({line.what: line.amount for line in each.lines} for each in (run, single))
    assert told["coating epoxy"] == pytest.approx(known["coating epoxy"], rel=0.02)
    sundries = next(line.what for line in run.lines if line.kind == "sundries")
    assert told[sundries] == known[sundries] == 12
    assert run.hands_h < single.hands_h / 2.0
    # days: waiting is no longer, however they are held
    assert plank.schedule is not None
    assert alone.schedule is not None
    assert plank.schedule.calendar_days <= alone.schedule.calendar_days


def test_four_names_come_from_one_plank_with_all_files(tmp_path: Path) -> None:
    signs = made(tmp_path, SIGNS)
    assert signs.ok_to_cut, signs.findings
    assert not [each for each in signs.findings if each.severity is Severity.MUST_FIX]
    assert piece_labels(signs) == ["ANNA", "BEN", "CLEOPATRA", "DAVID"]
    words = signs.inlays[0].region
    widths = []
    for piece in signs.faces[0].trim.geoms:
        west, _, east, _ = words.intersection(piece).bounds
        widths.append(east - west)
    assert max(widths) == pytest.approx(92.0, abs=0.5)
    assert widths.index(max(widths)) == 2
    files = files_of(signs, dt.date(2027, 3, 1))
    assert {"check.json", "resolved-job.yaml", "shop-book.pdf", "plan/labels.pdf"} <= set(files)
    cut = [name for name in files if name.startswith("gcode/")]
    assert len(cut) == len(signs.gcode_files)
    book = files["shop-book.html"].decode()
    for told in ("1 ANNA", "3 CLEOPATRA", "1 plank of 4 pieces", "On the plank"):
        assert told in book.replace("\N{NO-BREAK SPACE}", " "), told


@settings(max_examples=examples(1), deadline=None, phases=[Phase.generate])
@given(
    st.lists(st.text("AEIMOSTW", min_size=7, max_size=11), min_size=1, max_size=2, unique=True),
    st.sampled_from(["ANNA", "BEN", "IO"]),
    st.integers(0, 4),
    st.sampled_from([0.0, 4.0, -3.0]),
)
def test_a_name_too_long_is_named_and_set_smaller_by_its_fix(
    tmp_path_factory: pytest.TempPathFactory, long: list[str], short: str, turn: int, up: float
) -> None:
    folder = tmp_path_factory.mktemp("names")
    names = ", ".join([*long, short])
    bare = SIGNS.replace("ANNA, BEN, CLEOPATRA, DAVID", names).replace("size: 26 mm", "size: 24 mm")
    bare = bare.replace("cell: 0.4 mm", f"cell: 0.{4 + turn % 2} mm")
    text = bare.replace("most width: 92 mm, least size: 12 mm,", f"at: [0 mm, {up} mm],")
    job = made(folder, text)
    told = [each for each in job.findings if each.code == "outside-trim-line"]
    if not told:
        assert max(len(each) for each in long) < 9
        return
    on = told[0].message.partition(" on ")[2].partition(" and would")[0].split(", ")
    assert max(long, key=len) in on or len(long) > 1
    assert set(on) <= {*long}
    first = fixes_worth_trying(job, told[0])[0]
    assert {edit.path[-1] for edit in first.edits} == {"most width", "least size"}
    after = made(folder, applied(text, first))
    assert not {"outside-trim-line", "text-too-wide"} & {each.code for each in after.findings}
