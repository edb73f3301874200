"""Findings that no change of the job file can take away, and what they ask for instead."""

from __future__ import annotations

from typing import Final

from flushwork.findings import Finding

FILE = "The fault is in the file itself: write it again with the program it came from."
OWN_FILE = "The fault is in a written file, not in the job: build again, and do not run these."
SHOP = "What you own and how your shop is decide it, in the shop file: no key of the job does."
STOCK = "Something has to be bought, or fewer pieces made."
MEASURE = "It asks for a measurement or a wait, which no other value in the job replaces."
DRAWING = "The drawing has to change, and how is for you to say."
CHOICE = "There are several ways, each with its price: the finding names them."
ORDER = "An order you ask for is in the way: take one of those lines out."
LOG = "A line of the log has to be put right."

BY_HAND: Final[dict[str, str]] = {
    code: why
    for why, codes in {
        FILE: "cut-file-cuts-nothing cut-file-leaves-open cut-file-line-unread "
        "cut-file-other-dialect cut-file-several-cutters cut-file-step-unclear bed-file-for-one "
        "dwell-in-cut ends-in-wood feed-too-slow first-way-low hole-off-place path-off-outline "
        "pause-in-wood plunge-too-fast spindle-backwards tabs-missing travels-low too-many-lines",
        OWN_FILE: "below-spoilboard cut-file-unreadable cutter-cannot-plunge feed-without-spindle "
        "rapid-through-material feed-too-fast other-cutter-called pass-too-deep "
        "spindle-out-of-range cut-beyond-artwork cut-misses-artwork cut-shifted cut-depth-off "
        "cut-outside-artwork holes-not-as-asked levelling-off trim-not-cut cut-files-altered "
        "cut-files-stale",
        SHOP: "shop-too-cold cure-longer-than-job cure-places-too-few cure-too-slow "
        "days-impossible days-not-found recoat-window-missed shop-without-hours "
        "stage-longer-than-day outside-machine blank-larger-than-machine cutter-size-slip "
        "batch-cannot-be-measured part-cannot-be-measured bit-over-speed hazards-guessed "
        "cure-never grip-unsaid held-too-weakly",
        STOCK: "not-enough-on-hand flakes-too-coarse dye-cannot-match",
        MEASURE: "wood-too-wet wood-not-settled board-not-flat witness-mark-disagrees "
        "witness-marks-too-few witness-marks-unlikely blank-thicker-than-wide",
        DRAWING: "hole-in-inlay svg-scale-unsure svg-shape-twice svg-layer-unpicked "
        "svg-layers-apart",
        CHOICE: "batch-below-tools cup-runs-away pot-life-splits-run finish-over-dye "
        "finish-after-wanted holes-before-pour one-sided-cutting clamp-hit clamp-over-work "
        "clamps-without-room "
        "value-odd located-either-way acceptance-refused oxidiser-in-mix vapour-near-machine",
        ORDER: "order-circle order-step-unknown finish-worked-off freed-then-mounted "
        "cut-file-step-twice",
        LOG: "day-log-names-nothing log-finished-soft log-too-soon log-window-past log-worked-soft",
    }.items()
    for code in codes.split()
}
"""What each of them asks for, by its code."""


def why_not(finding: Finding, tried: int) -> str:
    """Return why there is no fix for a finding of which ``tried`` were tried in vain."""
    if tried:
        changes = (
            "The one change tried does not take"
            if tried == 1
            else (f"None of the {tried} changes tried takes")
        )
        return f"{changes} it away without raising another finding."
    return BY_HAND.get(finding.code, CHOICE)
