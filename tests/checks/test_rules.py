"""Each rule both ways: silent on a job in which nothing is wrong, told where something is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest

from flushwork.core.findings import Finding, Severity
from tests.checks.hearing import Check, proven
from tests.small_jobs import PLAIN, changed


def found(result: Check, code: str) -> tuple[Finding, ...]:
    return tuple(finding for finding in result.findings if finding.code == code)


SHOP = """\
flushwork shop: 2
name: small shop
"""


def with_shop(folder: Path, shop: str, text: str = PLAIN) -> Check:
    (folder / "shop.yaml").write_text(SHOP + shop, encoding="utf-8")
    return proven(
        folder, changed("title: Plain lid\n", "title: Plain lid\nshop: shop.yaml\n", text)
    )


def back(body: str) -> str:
    return PLAIN + "back:\n" + body


SECOND = changed(
    "  holes:",
    "    - {name: pip, circle: 8 mm, at: [-18 mm, 0 mm], second pass of: [plate], depth: 1 mm,\n"
    "       fill: pale}\n  holes:",
    changed(
        "  clear: {",
        "  pale: {resin: coating epoxy, pigments: [{name: ivory powder, share: 4 %}]}\n  clear: {",
    ),
)
SEAM = changed(
    "  holes:",
    "    - {name: line, seam line: {along: [plate], width: 1 mm}, depth: 1.2 mm, fill: bright,\n"
    "       how: scraped flush and capped, cap: clear}\n  holes:",
    changed(
        "  clear: {",
        "  bright: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %},\n"
        "    pigments: [{name: pearl flake, share: 4 %}]}\n  clear: {",
    ),
)


@dataclass(frozen=True)
class Wrong:
    """A job with one thing wrong, the code and weight that must be told, and of what."""

    code: str
    severity: Severity
    subject: str
    text: str


STOP, WARNING, NOTE = Severity.MUST_FIX, Severity.WARNING, Severity.NOTE
WRONG = (
    Wrong(
        "bit-cannot-pass",
        STOP,
        "plate",
        changed("24 mm x 16 mm", "24 mm x 0.5 mm").replace("round: 3 mm", "round: 0.2 mm"),
    ),
    Wrong(
        "detail-lost",
        WARNING,
        "plate",
        changed(
            "rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm",
            "polygon: {sides: 5, diameter: 6 mm, inner: 2.6 mm}, at: [-18 mm, 0 mm], bits: [1.588 "
            "mm flat]",
        ),
    ),
    Wrong("deeper-than-blank", STOP, "plate", changed("depth: 2 mm", "depth: 20 mm")),
    Wrong("floor-through", WARNING, "plate", changed("depth: 2 mm", "depth: 14 mm")),
    Wrong("pour-too-deep", STOP, "plate", changed("depth: 2 mm", "depth: 9 mm")),
    Wrong("outside-trim-line", STOP, "plate", changed("at: [-18 mm, 0 mm]", "at: [-30 mm, 0 mm]")),
    Wrong(
        "in-hidden-border",
        WARNING,
        "plate",
        changed("round: 4 mm", "round: 4 mm, hidden border: 12 mm"),
    ),
    Wrong("hole-meets-edge", STOP, "pegs", changed("at: [20 mm, 0 mm]", "at: [29 mm, 0 mm]")),
    Wrong("hole-meets-edge", WARNING, "pegs", changed("at: [20 mm, 0 mm]", "at: [27.5 mm, 0 mm]")),
    Wrong("hole-in-inlay", WARNING, "pegs", changed("at: [20 mm, 0 mm]", "at: [0 mm, 0 mm]")),
    Wrong("trim-line-outside-blank", STOP, "trim line", changed("76 mm x 56 mm", "76 mm x 86 mm")),
    Wrong("inlays-overlap", STOP, "pip", SECOND.replace("second pass of: [plate], ", "")),
    Wrong("second-pass-through", STOP, "pip", SECOND.replace("depth: 1 mm,", "depth: 2.4 mm,")),
    Wrong(
        "second-pass-floor-thin", WARNING, "pip", SECOND.replace("depth: 1 mm,", "depth: 1.7 mm,")
    ),
    Wrong(
        "wood-between-too-thin",
        WARNING,
        "pegs",
        back(
            "  inlays:\n    - {name: rear, rectangle: 30 mm x 20 mm, at: [20 mm, 0 mm], depth: 4.5 "
            "mm, fill: dark}\n"
        ),
    ),
    Wrong(
        "hole-meets-inlay",
        STOP,
        "pegs",
        changed(
            "depth: 8 mm",
            "depth: 11.5 mm",
            back(
                "  inlays:\n    - {name: rear, rectangle: 30 mm x 20 mm, at: [20 mm, 0 mm], depth: "
                "5 mm, fill: dark}\n"
            ),
        ),
    ),
    Wrong(
        "wood-between-gone",
        STOP,
        "plate",
        changed(
            "depth: 2 mm",
            "depth: 10 mm",
            back(
                "  inlays:\n    - {name: rear, circle: 10 mm, at: [-18 mm, 0 mm], depth: 5.5 mm, "
                "fill: dark}\n"
            ),
        ),
    ),
    Wrong("fill-before-seal", WARNING, "plate", PLAIN + "sealer: none\n"),
    Wrong("fill-before-seal", STOP, "plate", changed("sugar maple", "red oak") + "sealer: none\n"),
    Wrong(
        "bright-line-uncapped",
        WARNING,
        "line",
        SEAM.replace("how: scraped flush and capped, cap: clear", "how: scraped flush"),
    ),
    Wrong(
        "flame-near-solvent",
        STOP,
        "bright",
        SEAM.replace("share: 8 %}", "share: 8 %}, bubbles: flame"),
    ),
    Wrong(
        "cap-too-thin", WARNING, "line", SEAM.replace("thinner: {name: ethanol, share: 8 %},", "")
    ),
    Wrong(
        "fill-does-not-hide",
        WARNING,
        "plate",
        changed("depth: 2 mm", "depth: 0.3 mm").replace(
            "black powder, share: 3 %", "ivory powder, share: 1 %"
        ),
    ),
    Wrong(
        "low-contrast",
        WARNING,
        "plate",
        changed("sugar maple", "black walnut").replace(
            "black powder, share: 3 %}]", 'black powder, share: 3 %}], colour: "#5a4632"'
        ),
    ),
    Wrong(
        "ratio-off",
        STOP,
        "dark",
        changed(
            "dark: {resin: coating epoxy,", "dark: {resin: coating epoxy, ratio: 1:1 by weight,"
        ),
    ),
    Wrong(
        "batch-below-tools",
        WARNING,
        "dark",
        changed("24 mm x 16 mm", "4 mm x 4 mm").replace("round: 3 mm", "round: 1 mm"),
    ),
    Wrong(
        "acceptance-idle",
        NOTE,
        "",
        PLAIN + "accept: [{finding: wood-between-gone, because: tried it}]\n",
    ),
)


@pytest.mark.parametrize("text", [PLAIN, SECOND, SEAM], ids=["plain", "second pass", "seam"])
def test_a_good_job_has_no_stop_and_no_idle_talk(tmp_path: Path, text: str) -> None:
    result = proven(tmp_path, text)
    assert result.ok_to_cut
    told = {finding.code for finding in result.findings}
    assert told <= {"batch-below-tools"}


@pytest.mark.parametrize("wrong", WRONG, ids=lambda wrong: f"{wrong.code}-{wrong.severity}")
def test_what_is_wrong_is_told(tmp_path: Path, wrong: Wrong) -> None:
    result = proven(tmp_path, wrong.text)
    told = [item for item in found(result, wrong.code) if item.subject == wrong.subject]
    assert told, [f"{item.code} {item.subject}: {item.message}" for item in result.findings]
    assert told[0].severity is wrong.severity
    assert told[0].message
    assert told[0].remedy
    assert told[0].source is not None
    assert result.ok_to_cut is not any(item.stands for item in result.findings)


def test_a_bit_far_too_big_is_taken_for_a_slip(tmp_path: Path) -> None:
    shop = (
        "bits:\n  - 3.175 mm flat\n  - 25 mm facing bit\n"
        "  - {name: peg bit, kind: flat, diameter: 1 1/8 in, flute length: 20 mm}\n"
    )
    text = changed("diameter: 3.175 mm,", "diameter: 1/8 in, bit: peg bit,")
    result = with_shop(tmp_path, shop, text)
    (told,) = found(result, "bit-size-slip")
    assert told.severity is STOP
    assert "did you mean 3.175 mm (0.125 in)" in told.message
    assert not result.ok_to_cut


def test_a_bit_smaller_than_any_is_taken_for_inches(tmp_path: Path) -> None:
    shop = (
        "bits:\n  - 3.175 mm flat\n  - 25 mm facing bit\n"
        "  - {name: odd, kind: flat, diameter: 0.125 mm, flute length: 10 mm}\n"
    )
    told = found(with_shop(tmp_path, shop), "bit-size-slip")
    assert told
    assert "3.175 mm" in told[0].message


def test_a_shop_without_any_fitting_bit_is_told(tmp_path: Path) -> None:
    result = with_shop(tmp_path, "bits:\n  - 1 mm flat\n")
    subjects = {finding.subject for finding in found(result, "no-bit-for-it")}
    assert {"trim line", "pegs"} <= subjects


def test_short_flutes_are_told(tmp_path: Path) -> None:
    shop = (
        "bits:\n  - 3.175 mm flat\n  - 25 mm facing bit\n"
        "  - {name: stub, kind: flat, diameter: 1/8 in, flute length: 1.5 mm}\n"
    )
    text = changed("fill: dark}", "fill: dark, bits: [stub]}")
    result = with_shop(tmp_path, shop, text)
    assert not result.ok_to_cut
    assert found(result, "flutes-too-short")


def test_a_blank_too_large_for_the_machine_is_told(tmp_path: Path) -> None:
    result = proven(tmp_path, changed("length: 90 mm", "length: 900 mm"))
    (told,) = found(result, "blank-larger-than-machine")
    assert "90 mm" in told.message
    assert told.severity is STOP


def test_a_cold_shop_is_told_with_both_ends(tmp_path: Path) -> None:
    result = with_shop(tmp_path, "air: {day temperature: 18 degC, night temperature: 8 degC}\n")
    told = found(result, "shop-too-cold")
    assert told
    assert "cold hours count for nothing" in told[0].message


def test_a_stop_may_be_accepted_by_name_with_a_reason(tmp_path: Path) -> None:
    deep = changed("depth: 2 mm", "depth: 9 mm")
    text = deep + "accept: [{finding: pour-too-deep, subject: plate, because: three layers}]\n"
    result = proven(tmp_path, text)
    (told,) = found(result, "pour-too-deep")
    assert told.accepted == "three layers"
    assert result.ok_to_cut


def test_what_cannot_be_cut_cannot_be_accepted(tmp_path: Path) -> None:
    text = WRONG[0].text + "accept: [{finding: bit-cannot-pass, because: it will do}]\n"
    result = proven(tmp_path, text)
    assert not result.ok_to_cut


def test_acceptance_of_one_subject_leaves_another_standing(tmp_path: Path) -> None:
    deep = changed("depth: 2 mm", "depth: 9 mm")
    text = deep + "accept: [{finding: pour-too-deep, subject: lid, because: three layers}]\n"
    assert not proven(tmp_path, text).ok_to_cut


def test_rules_only_look(tmp_path: Path) -> None:
    first = proven(tmp_path, PLAIN)
    second = proven(tmp_path, PLAIN)
    assert first.findings == second.findings


@pytest.mark.parametrize(
    ("width", "remedy"),
    [
        (
            "0.02 mm",
            "Engrave it with a V-bit (`engrave: yes`), draw that place at least 0.80 mm wide, or "
            "leave it out: no flat bit",
        ),
        ("0.5 mm", "Use a bit of at most 0.52 mm, or draw that place at least 0.80 mm wide."),
    ],
)
def test_no_bit_is_proposed_that_nobody_makes(tmp_path: Path, width: str, remedy: str) -> None:
    line = f"lines: [[[-18 mm, 0 mm], [-8 mm, 0 mm]]], width: {width}"
    text = changed("rectangle: 24 mm x 16 mm, at: [-18 mm, 0 mm], round: 3 mm", line)
    text = text.replace(line, f"{line}, bits: [0.794 mm flat]")
    (told,) = found(proven(tmp_path, text), "bit-cannot-pass")
    assert told.remedy.startswith(remedy)
