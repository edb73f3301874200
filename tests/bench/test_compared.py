"""Old against new of a trial, place by place: findings told together are several places."""

from __future__ import annotations

from collections import Counter
from typing import Any

import numpy as np
from playwright.sync_api import Page

from flushwork.checks.all_rules import told_once
from flushwork.core.findings import Finding, Place, Severity, Subject
from tests.many import examples

RUN = "async (cases) => { const { compared } = await import('/static/trial.js');"
RUN += " return cases.map(([before, after]) => compared(before, after)); }"
Spots = list[tuple[str, str, float, float]]


def found(spots: Spots) -> list[Finding]:
    """Return findings at places, those of one cause told as one, as the check tells them."""
    return told_once(
        [
            Finding(code, Severity.WARNING, f"{subject} is thin.", f"Mend {code}.",
                    (Subject("inlay", subject),), place=Place("front", x, y))
            for code, subject, x, y in spots
        ]
    )  # fmt: skip


def told(findings: list[Finding]) -> list[dict[str, Any]]:
    """Return findings as the page gets them."""
    return [
        {
            "code": finding.code,
            "mark": str(finding.severity),
            "words": finding.message,
            "spots": [
                {"subject": each.subject, "face": "front", "x": each.place.x_mm,
                 "y": each.place.y_mm, "value": None, "measure": ""}
                for each in finding.each
                if each.place
            ],
        }
        for finding in findings
    ]  # fmt: skip


def test_findings_told_together_keep_each_place() -> None:
    spots = [("wood between faces", f"peg {n}", float(n), 0.0) for n in range(5)]
    (merged,) = found(spots)
    assert len(merged.each) == 5
    assert [each.subject for each in merged.each] == [f"peg {n}" for n in range(5)]
    assert all(not each.told_with and not each.also for each in merged.each)
    one = Finding("wood between faces", Severity.NOTE, "one", "none")
    assert one.each == (one,)


def test_five_places_that_become_three_are_two_gone_and_none_new(page: Page) -> None:
    spots: Spots = [("wood between faces", f"peg {n}", 10.0 * n, 5.0) for n in range(5)]
    cases = [[told(found(spots)), told(found(spots[2:]))]]
    (lines,) = page.evaluate(RUN, cases)
    assert [line["kind"] for line in lines] == ["gone"]
    assert "✓ gone at 2 of 5 places (peg 0, peg 1)" in lines[0]["text"]


def test_what_is_gone_and_new_is_counted_by_place(page: Page) -> None:
    """Of each code and subject as many places go or come as there are fewer or more of them."""
    rng = np.random.default_rng(11)
    cases, wanted = [], []
    for _ in range(examples(60)):
        sides: list[Spots] = [
            [
                (
                    str(rng.choice(["wood between faces", "wall"])),
                    f"peg {rng.integers(4)}",
                    float(rng.integers(90)),
                    float(rng.integers(60)),
                )
                for _ in range(rng.integers(0, 9))
            ]
            for _ in range(2)
        ]
        cases.append([told(found(side)) for side in sides])
        before, after = (Counter(spot[:2] for spot in side) for side in sides)
        wanted.append(((before - after).total(), (after - before).total()))
    for lines, (gone, fresh) in zip(page.evaluate(RUN, cases), wanted, strict=True):
        counts: Counter[str] = Counter()
        for line in lines:
            counts[line["kind"]] += line["count"]
        assert (counts["gone"], counts["fresh"]) == (gone, fresh), lines


def test_the_same_findings_are_no_change(page: Page) -> None:
    spots: Spots = [("wood between faces", f"peg {n % 3}", 10.0 * n, 5.0) for n in range(7)]
    cases = [[told(found(spots)), told(found(list(reversed(spots))))]]
    assert page.evaluate(RUN, cases) == [[]], "in whatever order they are found"
