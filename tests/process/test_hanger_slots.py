"""Hanger slots: volumes by their closed forms, motion in and out at the entry, wood around them."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.built import Build
from flushwork.checks.all_rules import run_checks
from flushwork.core.findings import Severity
from flushwork.process.stages import StageKind
from flushwork.strata.cutting import segments
from flushwork.strata.steps import CutStep
from flushwork.toolpaths.orders import GcodeFile, HangerCut
from tests.checks.hearing import codes, heard, one, undated, written
from tests.gcode import second_reader
from tests.many import examples
from tests.process.hidden_by_keyhole import undercuts
from tests.scenarios.texts import job

HEAD, NECK, HIGH = 9.525, 4.8, 4.5
SHOP = "bits: [3.175 mm flat, 6.35 mm flat, 25 mm facing bit, 9.5 mm keyhole]\n"
TRIM = "trim line: {rectangle: 76 mm x 56 mm}\n"


def hung(hanger: str, more: str = "", shop_face: str = "back") -> str:
    text = job(TRIM + f"{more}{shop_face}:\n  hangers: [{{name: hook, {hanger}}}]\n", thickness=18)
    return text.replace("cell: 0.2 mm", "cell: 0.1 mm", 1)


def its_file(made: Build) -> GcodeFile:
    (file,) = [
        each
        for each in made.gcode_files
        if any(isinstance(cut, HangerCut) for cut in each.order.operations)
    ]
    return file


def hidden_mm3(made: Build) -> float:
    """Return what the head takes beneath the lip, from the moves read back."""
    file = its_file(made)
    order = file.order
    step = CutStep(
        order.face, file.file_name, file.program, order.bit, order.origin_mm, order.face_z_mm
    )
    moves, _ = segments(step)
    return sum(each.volume_mm3 for each in undercuts(moves, order.bit, order.face_z_mm))


def seen_mm3(made: Build) -> float:
    """Return what the replay takes out of the face, as far as heights can hold it."""
    own = {each.number for each in made.plan.stages if each.kind is StageKind.SHAPE}
    return float(sum(cut.removed_mm3.sum() for cut in made.replay.cuts if cut.stage in own))


def closed_forms_mm3(slot: float, depth: float) -> tuple[float, float]:
    """Return what is seen and what is hidden of a slot at least a head long.

    In plan the head covers a disc and a band, pi R^2 + D l; the neck beyond the entry covers a band
    n wide from where it leaves the disc, and half a disc at its end.  Seen: entry and slot, as deep
    as the tip.  Hidden: the rest of what the head covers, as high as the head.
    """
    big, small = HEAD / 2.0, NECK / 2.0
    out = math.sqrt(big**2 - small**2)
    segment = big**2 * math.asin(small / big) - small * out
    band = NECK * (slot - out) - segment + math.pi * small**2 / 2.0
    seen = math.pi * big**2 + band
    return seen * depth, (math.pi * big**2 + HEAD * slot - seen) * HIGH


@settings(max_examples=examples(3), deadline=None)
@given(
    slot=st.integers(100, 200),
    depth=st.integers(75, 110),
    runs=st.sampled_from([90, 0, 37, 180]),
    face=st.sampled_from(["back", "front"]),
)
def test_seen_and_hidden_are_their_closed_forms(
    tmp_path_factory: pytest.TempPathFactory, slot: int, depth: int, runs: int, face: str
) -> None:
    long, deep = slot / 10.0, depth / 10.0
    text = hung(
        f"at: [0 mm, -3 mm], slot: {long} mm, depth: {deep} mm, runs: {runs} deg", shop_face=face
    )
    made = undated(written(tmp_path_factory.mktemp("hung"), text, SHOP))
    seen, hidden = closed_forms_mm3(long, deep)
    assert seen_mm3(made) == pytest.approx(seen, rel=0.01)
    assert hidden_mm3(made) == pytest.approx(hidden, rel=0.01)
    found = run_checks(made)
    assert not [each for each in found if each.severity is Severity.MUST_FIX], found
    assert "cut-outside-artwork" not in codes(found)


def test_in_and_out_at_the_entry_only(tmp_path: Path) -> None:
    """The second reader: below the face the tip is over the entry or on the slot at full depth."""
    text = hung("at: [4 mm, -6 mm], slot: 14 mm, depth: 9 mm")
    made = undated(written(tmp_path, text, SHOP))
    file = its_file(made)
    x0, y0 = file.order.origin_mm
    west, south, east, north = made.face("back").trim.bounds
    entry = ((west + east) / 2.0 + 4.0, (south + north) / 2.0 - 6.0)
    rows = [(x + x0, y + y0, z) for _, x, y, z in second_reader.read(file.text)]
    assert min(z for *_, z in rows) == pytest.approx(-9.0, abs=0.002)
    for x, y, z in rows:
        if z < -0.001 and math.dist((x, y), entry) > 0.002:
            assert z == pytest.approx(-9.0, abs=0.002)
    ends = [(x, y) for x, y, z in rows if z < -8.9]
    assert max(math.dist(each, entry) for each in ends) == pytest.approx(14.0, abs=0.003)
    lifted = [before for before, after in pairwise(rows) if after[2] > before[2]]
    below = [each for each in lifted if each[2] < -0.001]
    assert below
    assert all(math.dist(each[:2], entry) < 0.002 for each in below)
    assert file.order.face == "back"


def test_what_the_head_does_above_the_wood_is_cut_right_up() -> None:
    """A way so high that the head stands out of the face hides nothing."""
    shop = [each for each in _bits() if each.name == "9.5 mm keyhole"]
    moves = np.array([[0.0, 0.0, -4.0, 10.0, 0.0, -4.0], [0.0, 0.0, -9.0, 10.0, 0.0, -9.0]])
    assert undercuts(moves[:1], shop[0], 0.0) == ()
    (found,) = undercuts(moves[1:], shop[0], 0.0)
    assert (found.floor_mm, found.top_mm) == (-9.0, -4.5)


def _bits() -> tuple:  # type: ignore[type-arg]
    from flushwork.shelf.tables import starter_shop  # noqa: PLC0415

    return starter_shop().bits


PLATE = "front: {inlays: [{name: plate, circle: 30 mm, depth: %s mm, fill: navy}]}\n"


def test_thin_wood_no_lip_no_bit_and_the_outline(tmp_path: Path) -> None:
    good = "at: [0 mm, -6 mm], slot: 12 mm, depth: 9 mm"
    assert one(heard(tmp_path / "good", hung(good), SHOP), "hanger-weight", "hook")
    # 18 mm less both faces surfaced and one sanded leave 16.8; 9 of slot and 9 of inlay are more
    gone = one(heard(tmp_path / "through", hung(good, PLATE % "9"), SHOP), "wood-between-gone")
    assert gone.measure is not None
    assert gone.measure.value == pytest.approx(-1.2, abs=0.02)
    thin = heard(tmp_path / "thin", hung(good, PLATE % "6"), SHOP)
    assert "wood-between-too-thin" in codes(thin)
    lip = one(heard(tmp_path / "lip", hung(good.replace("9 mm", "6 mm")), SHOP), "hanger-lip-thin")
    assert lip.measure is not None
    assert lip.measure.value == pytest.approx(1.5)
    mended = hung(good.replace("9 mm", "7.5 mm"))
    assert "7.50 mm" in lip.remedy
    assert "hanger-lip-thin" not in codes(heard(tmp_path / "mended", mended, SHOP))
    bare = SHOP.replace(", 9.5 mm keyhole", "")
    assert one(heard(tmp_path / "bare", hung(good), bare), "no-bit-for-it", "hook").stands
    out = hung(good.replace("-6 mm", "14 mm"))
    assert one(heard(tmp_path / "out", out, SHOP), "hanger-near-edge", "hook").stands
    deep = hung(good.replace("9 mm", "14 mm"), shop_face="back")
    short = SHOP.replace("9.5 mm keyhole", "{like: 9.5 mm keyhole, flute length: 10 mm}")
    assert one(heard(tmp_path / "deep", deep, short), "flutes-too-short", "hook").stands
    beside = hung(good).replace(
        "  hangers:",
        "  pockets: [{name: felt, circle: 10 mm, at: [8 mm, 0 mm], depth: 1 mm}]\n  hangers:",
    )
    assert one(heard(tmp_path / "beside", beside, SHOP), "hanger-meets", "hook").stands
