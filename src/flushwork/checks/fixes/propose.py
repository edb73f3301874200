"""The cheapest change that takes a finding away, tried on the check; or why there is none."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from flushwork.art.drawn import Begun, DrawnFace
from flushwork.checks.fixes import boxes, depths, fills, shapes, strips, whole
from flushwork.checks.fixes.fix import Fix, Hear, Idea, Question, applied
from flushwork.core.findings import Finding, Severity, Subject
from flushwork.job.keys.lists import OF_A_PART, TAKEN_OVER
from flushwork.job.records import Job
from flushwork.job.text.change import VaryError

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
        FILE: "gcode-file-cuts-nothing gcode-file-leaves-open gcode-file-line-unread "
        "gcode-file-other-dialect gcode-file-several-bits gcode-file-step-unclear bed-file-for-one "
        "dwell-in-cut ends-in-wood feed-too-slow first-way-low hole-off-place path-off-outline "
        "pause-in-wood plunge-too-fast spindle-backwards tabs-missing travels-low too-many-lines",
        OWN_FILE: "below-spoilboard gcode-file-unreadable bit-cannot-plunge feed-without-spindle "
        "rapid-through-material feed-too-fast other-bit-called pass-too-deep "
        "spindle-out-of-range cut-beyond-artwork cut-misses-artwork cut-shifted cut-depth-off "
        "cut-outside-artwork edge-not-as-asked holes-not-as-asked flush-milling-off trim-not-cut "
        "gcode-files-altered "
        "gcode-files-stale",
        SHOP: "shop-too-cold cure-longer-than-job cure-places-too-few cure-too-slow "
        "days-impossible days-not-found recoat-window-missed shop-without-hours "
        "stage-longer-than-day outside-machine blank-larger-than-machine bit-size-slip "
        "batch-cannot-be-measured part-cannot-be-measured bit-over-speed hazards-guessed "
        "cure-never grip-unsaid held-too-weakly",
        STOCK: "not-enough-on-hand boards-too-few flakes-too-coarse dye-cannot-match",
        MEASURE: "wood-too-wet wood-not-settled board-not-flat registration-mark-disagrees "
        "registration-marks-too-few registration-marks-unlikely blank-thicker-than-wide",
        DRAWING: "hole-in-inlay svg-scale-unsure svg-shape-twice svg-layer-unpicked "
        "svg-layers-apart",
        CHOICE: "batch-below-tools cup-runs-away pot-life-splits-run finish-over-dye "
        "finish-after-wanted holes-before-pour pocket-before-pour edge-width-varies "
        "one-sided-cutting clamp-hit "
        "clamp-over-work loose-parts-alike "
        "clamps-without-room hanger-lip-thin hanger-meets hanger-near-edge "
        "value-odd located-either-way acceptance-refused oxidiser-in-mix vapour-awaited",
        ORDER: "order-circle order-step-unknown finish-worked-off freed-then-set-up "
        "gcode-file-step-twice",
        LOG: "day-log-names-nothing log-finished-soft log-too-soon log-window-past log-worked-soft",
    }.items()
    for code in codes.split()
}
"""What each of them asks for, by its code."""
MOST_TRIED: Final = 8
WEIGHTS: Final = {Severity.NOTE: 0, Severity.WARNING: 1, Severity.MUST_FIX: 2}


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


IDEAS: Final[dict[str, Idea]] = (
    boxes.IDEAS | depths.IDEAS | fills.IDEAS | shapes.IDEAS | strips.IDEAS | whole.IDEAS
)


@dataclass(frozen=True, slots=True)
class ProposedFix:
    """A finding, the cheapest fix found for it, how many were tried, and why there is none.

    ``fix`` is None where none of those tried takes the finding away without raising another;
    ``why`` says so then, or why no change of the job could.
    """

    finding: Finding
    fix: Fix | None
    tried: int
    why: str = ""


def propose(
    text: str,
    job: Job,
    faces: Sequence[DrawnFace],
    findings: Sequence[Finding],
    hear: Hear,
    only: str = "",
    others: Sequence[Begun] = (),
) -> tuple[ProposedFix, ...]:
    """Return what is proposed for each must fix and warning that stands.

    ``others`` are further parts of the job.
    ``only`` keeps to the findings of one code.  Each fix proposed has been heard: with it the
    finding is gone, and nothing weighs more than it did before.
    """
    return tuple(
        _proposal(text, question(finding, job, faces, others), findings, hear)
        for finding in findings
        if finding.severity is not Severity.NOTE
        and finding.accepted is None
        and (not only or finding.code == only)
    )


def _proposal(text: str, asked: Question, findings: Sequence[Finding], hear: Hear) -> ProposedFix:
    finding = asked.finding
    fixes = fixes_for(asked)
    for number, each in enumerate(fixes, start=1):
        if holds(text, each, finding, findings, hear):
            return ProposedFix(finding, each, number)
    return ProposedFix(finding, None, len(fixes), why_not(finding, len(fixes)))


def fixes_for(asked: Question) -> tuple[Fix, ...]:
    """Return the fixes worth trying, the cheapest first and no two alike; none has been tried."""
    idea = IDEAS.get(asked.finding.code)
    found = dict.fromkeys((*_together(asked, idea), *idea(asked))) if idea is not None else {}
    cheapest = tuple(sorted(found, key=lambda each: each.cost))[:MOST_TRIED]
    return tuple(_in_its_part(each, asked) for each in cheapest)


def question(
    finding: Finding, job: Job, faces: Sequence[DrawnFace], others: Sequence[Begun]
) -> Question:
    """Return what is asked of a finding: of the part of the job that it is of."""
    own = next((each for each in others if each[0].part == finding.part), (job, faces))
    return Question(finding, *own)


def _in_its_part(found: Fix, asked: Question) -> Fix:
    """Return a fix whose edits go to the keys of a part, where the part has them for itself."""
    if not asked.finding.part:
        return found
    own = {*OF_A_PART, *(key for key in TAKEN_OVER if key in asked.job.given)}
    edits = tuple(
        replace(edit, path=("parts", asked.finding.part, *edit.path))
        if edit.path[0] in own
        else edit
        for edit in found.edits
    )
    return replace(found, edits=edits)


def _together(asked: Question, idea: Idea) -> Iterator[Fix]:
    """Yield, for a finding told of several places at once, the same done at each of them."""
    if not asked.finding.told_with:
        return
    places = [tuple(idea(replace(asked, finding=each))) for each in asked.finding.each]
    for alike in zip(*places, strict=False):
        edits = dict.fromkeys(edit for each in alike for edit in each.edits)
        if len({edit.path for edit in edits}) == len(edits):
            yield Fix(tuple(edits), max(each.cost for each in alike))


Told = tuple[str, str, Subject | None]
"""The part of the job, the code and what it is told of: what a finding is known by."""


def holds(text: str, fix: Fix, finding: Finding, findings: Sequence[Finding], hear: Hear) -> bool:
    """Return whether a fix takes a finding away and makes nothing else weigh more than before."""
    try:
        after = hear(applied(text, fix))
    except VaryError:
        return False
    return mended(finding, findings, after)


def mended(finding: Finding, before: Sequence[Finding], after: Sequence[Finding]) -> bool:
    """Return whether a finding is gone and nothing weighs more than it did before."""
    now, was = weights(after), weights(before)
    gone = all(key not in now for key in _keys(finding))
    return gone and all(was.get(key, 0) >= weight for key, weight in now.items())


def weights(findings: Sequence[Finding]) -> dict[Told, int]:
    """Return how much each must fix and warning that stands weighs, by code and subject."""
    told: dict[Told, int] = {}
    for item in findings:
        if item.severity is Severity.NOTE or item.accepted is not None:
            continue
        for key in _keys(item):
            told[key] = max(told.get(key, 0), WEIGHTS[item.severity])
    return told


def _keys(finding: Finding) -> list[Told]:
    """Return a finding's code with everything it is told of; with nothing where that is nothing."""
    return [(finding.part, finding.code, subject) for subject in finding.told_of or (None,)]
