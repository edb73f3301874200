"""A remedy that names a figure, done as it says, takes its finding away.

Each case draws a job with one fault in it at random, builds it as a user does, reads the figure out
of the remedy's own words, writes it into the job and builds again.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.core.findings import Finding, JobRefusedError, Severity
from flushwork.job.text.change import changed
from flushwork.pipeline import build
from tests.checks.hearing import written
from tests.many import examples
from tests.scenarios.test_coming_back import recut
from tests.scenarios.texts import job

Draw = Callable[[st.SearchStrategy[float]], float]
Obey = Callable[[str, Finding], str]


@dataclass(frozen=True)
class Faulty:
    """How a fault is drawn, and how its remedy is obeyed."""

    text: Callable[[Draw], str]
    obey: Obey
    codes: tuple[str, ...]


def number(words: str, pattern: str) -> float:
    """Return the figure that a pattern finds in a remedy."""
    found = re.search(pattern, words)
    assert found, f"{pattern!r} is not in {words!r}"
    return float(found.group(1))


def mm(least: float, most: float) -> st.SearchStrategy[float]:
    """Return lengths in hundredths of a millimetre."""
    return st.integers(round(least * 100), round(most * 100)).map(lambda value: value / 100.0)


def depth_of(text: str, name: str) -> float:
    """Return the depth that a job's text gives an inlay."""
    return number(text, rf"name: {name},[^}}]*?depth: ([\d.]+) mm")


FROM = ("", ", measured from: finished face", ", measured from: face as it stands")
HOWS = ("overfilled", "scraped")
DARK = "mixes:\n  dark: {resin: coating epoxy, pigments: [black powder]}\n"


def deep_pour(draw: Draw) -> str:
    how, origin = HOWS[int(draw(st.integers(0, 1)))], FROM[int(draw(st.integers(0, 2)))]
    allowances = (
        f"allowances: {{surface: {draw(mm(0.2, 0.8))} mm, left proud: {draw(mm(0.1, 0.4))} mm, "
        f"sand: {draw(mm(0.1, 0.4))} mm}}\n"
    )
    body = (
        f"{allowances}front: {{inlays: [{{name: field, rectangle: 40 mm x 20 mm, "
        f"depth: {draw(mm(5.2, 11.0))} mm, fill: dark, how: {how}{origin}}}]}}\n"
    )
    return job(body, thickness=30).replace("mixes:\n", DARK, 1)


def cut_at_most(text: str, finding: Finding) -> str:
    most = number(finding.remedy, r"at most ([\d.]+) mm deep")
    return changed(text, f"front.inlays.{finding.subject}.depth", f"{most} mm")


def thin_wood_between(draw: Draw) -> str:
    origin = FROM[int(draw(st.integers(0, 2)))]
    return job(
        f"front: {{inlays: [{{name: field, rectangle: 40 mm x 20 mm, depth: {draw(mm(5, 8))} mm, "
        f"fill: navy{origin}}}]}}\nback: {{inlays: [{{name: hill, circle: 18 mm, "
        f"depth: {draw(mm(5, 8))} mm, fill: navy{origin}}}]}}\n",
        thickness=draw(mm(14, 16)),
    )


def one_shallower(text: str, finding: Finding) -> str:
    less = number(finding.remedy, r"one of them ([\d.]+) mm shallower")
    depth = depth_of(text, "field") - less
    return changed(text, "front.inlays.field.depth", f"{depth:.4f} mm")


def nested(draw: Draw) -> str:
    body = draw(mm(2.0, 3.5))
    origin = FROM[int(draw(st.integers(0, 2)))]
    return job(
        "front:\n  inlays:\n"
        f"    - {{name: body, rectangle: 40 mm x 20 mm, depth: {body} mm, fill: navy{origin}}}\n"
        f"    - {{name: wing, circle: 10 mm, second pass of: [body], "
        f"depth: {body + draw(mm(-0.4, 0.8)):.2f} mm, fill: gold line{origin}}}\n"
    )


def sliver(draw: Draw) -> str:
    gap = draw(mm(0.2, 0.9))
    turned = "" if draw(st.integers(0, 1)) else "grain: along the width, "
    return job(
        "front:\n  inlays:\n"
        "    - {name: left, rectangle: 20 mm x 20 mm, at: [-10.4 mm, 0 mm], depth: 2 mm, "
        "fill: navy}\n    - {name: right, rectangle: 20 mm x 20 mm, "
        f"at: [{9.6 + gap:.2f} mm, 0 mm], depth: 2 mm, fill: navy}}\n"
    ).replace("{wood:", f"{{{turned}wood:")


def apart(text: str, finding: Finding) -> str:
    more = number(finding.remedy, r"Move them ([\d.]+) mm apart")
    x_mm = number(text, r"name: right,[^}]*?at: \[([\d.]+) mm")
    return text.replace(f"at: [{x_mm:.2f} mm", f"at: [{x_mm + more:.4f} mm")


def close_holes(draw: Draw) -> str:
    return job(
        f"front: {{holes: [{{name: pegs, grid: {{columns: 3, rows: 2, pitch: {draw(mm(3.3, 5.5))} "
        "mm}, diameter: 3.175 mm, depth: 6 mm, bit: 1 mm flat}]}\n"
    )


def wider_pitch(text: str, finding: Finding) -> str:
    more = number(finding.remedy, r"pitch by ([\d.]+) mm")
    pitch = number(text, r"pitch: ([\d.]+) mm") + more
    return changed(text, "front.holes.pegs.grid.pitch", f"{pitch:.4f} mm")


def edge_holes(draw: Draw) -> str:
    return job(
        "trim line: {rectangle: 60 mm x 50 mm, tabs: 4}\n"
        "front: {holes: [{name: pegs, grid: {columns: 1, rows: 1, pitch: 8 mm}, "
        f"at: [{draw(mm(26.0, 28.2))} mm, 0 mm], diameter: 3.175 mm, depth: 6 mm, "
        "bit: 1 mm flat}]}\n"
    )


def inwards(text: str, finding: Finding) -> str:
    less = number(finding.remedy, r"inwards by ([\d.]+) mm")
    x_mm = number(text, r"at: \[([\d.]+) mm")
    return text.replace(f"at: [{x_mm} mm", f"at: [{x_mm - less:.4f} mm")


def tight_pegs(draw: Draw) -> str:
    peg = draw(mm(2.9, 3.2))
    hole = peg + draw(mm(0.0, 0.09))
    finish = "finish: {name: wiping varnish, coats: 3, holes: before}\n"
    return job(
        (finish if draw(st.integers(0, 1)) else "")
        + "front: {holes: [{name: pegs, grid: {columns: 3, rows: 2, pitch: 12 mm}, "
        f"diameter: {hole:.2f} mm, depth: 6 mm, peg: {peg:.2f} mm, bit: 1 mm flat}}]}}\n"
    )


def drill(text: str, finding: Finding) -> str:
    right = number(finding.remedy, r"Drill ([\d.]+) mm")
    return changed(text, "front.holes.pegs.diameter", f"{right} mm")


def much_pigment(draw: Draw) -> str:
    return job(
        "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: loud}]}\n"
    ).replace(
        "mixes:\n",
        "mixes:\n  loud: {resin: coating epoxy, pigments: [{name: black powder, "
        f"share: {draw(mm(9, 30)):.2f} %}}]}}\n",
        1,
    )


def less_pigment(text: str, finding: Finding) -> str:
    most = number(finding.remedy, r"at most ([\d.]+) %")
    return re.sub(r"share: [\d.]+ %", f"share: {most} %", text)


def dull_line(draw: Draw) -> str:
    how = ("overfilled", "scraped", "scraped flush and capped")[int(draw(st.integers(0, 2)))]
    cap = ", cap: clear" if how.endswith("capped") else ""
    return job(
        "cell: 0.1 mm\nsealer: shellac\n"
        "front: {inlays: [{name: line, lines: [[[-20 mm, 0 mm], [20 mm, 0 mm]]], "
        f"width: {draw(mm(0.8, 1.8))} mm, depth: {draw(mm(0.8, 2.5))} mm, "
        f"fill: silver, how: {how}{cap}}}]}}\n"
    ).replace("cell: 0.2 mm\n", "", 1).replace(
        "mixes:\n", "mixes:\n  silver: {resin: coating epoxy, pigments: [fine silver]}\n", 1
    )  # fmt: skip


def capped(text: str, finding: Finding) -> str:
    words = finding.remedy
    deep = number(words, r"cut it ([\d.]+) mm deep")
    line = r"front.inlays.line"
    text = changed(text, f"{line}.how", "scraped flush and capped")
    text = changed(text, f"{line}.cap", "clear")
    text = changed(text, f"{line}.measured from", "finished face")
    text = changed(text, f"{line}.depth", f"{deep} mm")
    thinner = re.search(r"cut it [\d.]+ mm deep with ([\d.]+) % thinner", words)
    if thinner:
        text = changed(text, "mixes.silver.thinner.name", "ethanol")
        text = changed(text, "mixes.silver.thinner.share", f"{thinner.group(1)} %")
    return text


def uncovered(draw: Draw) -> str:
    datum = ("near edge", "far edge", "centre line")[int(draw(st.integers(0, 2)))]
    return recut(f"{draw(mm(0.8, 1.4))} mm", f"moisture: {draw(mm(7.0, 9.0))} %", datum=datum)


def wider_line(text: str, finding: Finding) -> str:
    wide = number(finding.remedy, r"(?i)make the line ([\d.]+) mm wide")
    return changed(text, "front.inlays.line.seam line.width", f"{wide} mm")


def crowded_bed(draw: Draw) -> str:
    return job(
        f"pieces: 4\non the bed: {{pieces: 2, step: [{draw(mm(92, 101.5))} mm, 0 mm]}}\n"
        "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: navy}]}\n"
    )


def longer_step(text: str, finding: Finding) -> str:
    more = number(finding.remedy, r"step ([\d.]+) mm longer")
    step = number(text, r"step: \[([\d.]+) mm") + more
    return re.sub(r"step: \[[\d.]+ mm", f"step: [{step:.4f} mm", text)


def wrong_ratio(draw: Draw) -> str:
    return job(
        "front: {inlays: [{name: field, rectangle: 40 mm x 20 mm, depth: 2 mm, fill: off}]}\n"
    ).replace(
        "mixes:\n",
        "mixes:\n  off: {resin: coating epoxy, pigments: [black powder], "
        f"ratio: '100 : {draw(mm(60, 95)):.2f} by weight'}}\n",
        1,
    )


def right_ratio(text: str, finding: Finding) -> str:
    found = re.search(r"take ([\d.]+) % resin and ([\d.]+) % hardener", finding.remedy)
    assert found
    return re.sub(
        r"ratio: '[^']*'", f"ratio: '{found.group(1)} : {found.group(2)} by weight'", text
    )


FAULTS = {
    "a pour too deep": Faulty(deep_pour, cut_at_most, ("pour-too-deep",)),
    "thin wood between the faces": Faulty(
        thin_wood_between, one_shallower, ("wood-between-too-thin", "wood-between-gone")
    ),
    "a second pass too deep": Faulty(
        nested, cut_at_most, ("second-pass-through", "second-pass-floor-thin")
    ),
    "a sliver of wood": Faulty(sliver, apart, ("wood-sliver-thin",)),
    "holes too close": Faulty(close_holes, wider_pitch, ("holes-too-close",)),
    "holes at the edge": Faulty(edge_holes, inwards, ("hole-meets-edge",)),
    "tight pegs": Faulty(tight_pegs, drill, ("peg-tight",)),
    "too much pigment": Faulty(much_pigment, less_pigment, ("pigment-too-much",)),
    "a dull line": Faulty(dull_line, capped, ("bright-line-dull", "bright-line-uncapped")),
    "a line that does not cover": Faulty(uncovered, wider_line, ("seam-not-covered",)),
    "a crowded bed": Faulty(crowded_bed, longer_step, ("bed-pieces-overlap",)),
    "a wrong ratio": Faulty(wrong_ratio, right_ratio, ("ratio-off",)),
}


def told(folder: Path, text: str) -> tuple[Finding, ...]:
    try:
        return build(written(folder, text)).findings
    except JobRefusedError as refused:
        return refused.findings


def heavy(findings: tuple[Finding, ...], severity: Severity) -> set[tuple[str, str]]:
    """Return what weighs as much as ``severity``, or more."""
    weights = (Severity.MUST_FIX, Severity.WARNING)[: 1 if severity is Severity.MUST_FIX else 2]
    return {
        (item.code, subject)
        for item in findings
        if item.severity in weights
        for subject in (item.subject, *item.also)
    }


@pytest.mark.parametrize("name", FAULTS)
def test_a_remedy_obeyed_takes_its_finding_away(name: str) -> None:
    fault = FAULTS[name]
    tried = []

    @settings(max_examples=examples(5), deadline=None, database=None)
    @given(st.data())
    def obeyed(data: st.DataObject) -> None:
        text = fault.text(data.draw)
        with tempfile.TemporaryDirectory() as folder:
            before = told(Path(folder), text)
            for finding in before:
                if finding.code not in fault.codes or not re.search(r"\d", finding.remedy):
                    continue
                tried.append(finding.code)
                mended = fault.obey(text, finding)
                after = told(Path(folder), mended)
                left = [item.message for item in after if item.code == finding.code]
                assert not left, (finding.remedy, left, mended)
                raised = heavy(after, Severity.MUST_FIX) - heavy(before, Severity.MUST_FIX)
                assert not raised, (finding.remedy, raised, mended)

    obeyed()
    assert tried, "the fault was never told"
