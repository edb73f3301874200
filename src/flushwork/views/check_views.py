"""The check as the book tells it: verdict in words, findings by weight, pins on the faces.

Points of no return as the book tells them: a chart of what is in a piece, and one block for each
point of no return.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Final

from flushwork.checks.no_return_points import (
    MOST_SPARES,
    SLIP,
    SURELY,
    PointOfNoReturn,
    Risk,
    right_share,
    spares_for,
)
from flushwork.core.findings import Finding, Severity
from flushwork.job.never_accepted import NEVER_ACCEPTED
from flushwork.views.book_records import (
    CheckView,
    FindingGroup,
    FindingView,
    Mark,
    NoReturnsView,
    NoReturnView,
    Picture,
    VerdictView,
)
from flushwork.views.drawing import svg
from flushwork.views.drawing.drawing_marks import SOFT, WORK, Space
from flushwork.views.drawing.face_art import FaceArt
from flushwork.views.drawing.face_drawings import places_drawing
from flushwork.views.drawing.finding_pictures import Places, finding_picture
from flushwork.views.figures import (
    NO_BREAK,
    Lengths,
    clean,
    counted,
    joined,
    numbers_text,
    raised,
    short,
)

MARKS: dict[Severity, Mark] = {
    Severity.MUST_FIX: "must-fix",
    Severity.WARNING: "warning",
    Severity.NOTE: "note",
}
HEADINGS = {
    Severity.MUST_FIX: "Must be fixed before cutting",
    Severity.WARNING: "Warnings: look at each before cutting",
    Severity.NOTE: "Notes",
}


def verdict(findings: tuple[Finding, ...]) -> VerdictView:
    """Return whether the run is OK to cut, in words."""
    standing = sum(finding.stands for finding in findings)
    stops = [finding for finding in findings if finding.severity is Severity.MUST_FIX]
    accepted = len(stops) - standing
    warnings = sum(finding.severity is Severity.WARNING for finding in findings)
    notes = sum(finding.severity is Severity.NOTE for finding in findings)
    rest = f"{counted(warnings, 'warning')}, {counted(notes, 'note')}."
    if standing:
        what = "One thing must be fixed" if standing == 1 else f"{standing} things must be fixed"
        fixed = all(finding.code in NEVER_ACCEPTED for finding in stops if finding.stands)
        until = "it is fixed" if fixed else "it is fixed or accepted by name"
        detail = f"{what}; no G-code files are written until {until}."
        if standing > 1:
            detail = detail.replace("it is", "they are")
        return VerdictView("must-fix", "Do not cut", f"{detail} {rest}")
    if accepted:
        what = "one finding was" if accepted == 1 else f"{accepted} findings were"
        named = "; ".join(
            clean(f"{_named(finding)}, because: {finding.accepted}")
            for finding in stops
            if finding.accepted is not None
        )
        detail = f"Nothing stands, but {what} accepted by name ({named}). {rest}"
        return VerdictView("warning", "OK to cut, at your word", detail)
    return VerdictView("good", "OK to cut", f"Nothing must be fixed; {rest}")


def _named(finding: Finding) -> str:
    return f"{finding.code} of {finding.subject}" if finding.subject else finding.code


def check_view(
    findings: tuple[Finding, ...],
    arts: Mapping[str, FaceArt],
    causes: Mapping[str, str],
    lengths: Lengths,
    space: Space,
    places: Places | None = None,
    first: int = 0,
) -> CheckView:
    """Return the check; ``causes`` gives the reason behind each code, pins count on from ``first``.

    Each finding with a place has its picture taken from ``places``, where they are given.
    """
    order = list(Severity)
    ordered = sorted(
        findings, key=lambda finding: (order.index(finding.severity), not finding.stands)
    )
    views: dict[Severity, list[FindingView]] = {severity: [] for severity in order}
    pins: dict[str, list[tuple[int, str, float, float]]] = {}
    number = first
    for finding in ordered:
        pin = 0
        place = finding.place
        if place is not None and place.face in arts:
            number += 1
            pin = number
            mark = MARKS[finding.severity]
            pins.setdefault(place.face, []).append((pin, mark, place.x_mm, place.y_mm))
        picture = finding_picture(finding, places) if places is not None and pin else None
        views[finding.severity].append(_finding(finding, pin, causes, lengths, picture))
    return CheckView(
        verdict=verdict(findings),
        places=tuple(
            places_drawing(arts[face], pins[face], space) for face in arts if face in pins
        ),
        groups=tuple(
            FindingGroup(MARKS[severity], HEADINGS[severity], tuple(views[severity]))
            for severity in order
            if views[severity]
        ),
    )


def _finding(
    finding: Finding,
    number: int,
    causes: Mapping[str, str],
    lengths: Lengths,
    picture: Picture | None,
) -> FindingView:
    return FindingView(
        mark=MARKS[finding.severity],
        number=number,
        code=finding.code,
        message=raised(clean(finding.message)),
        where=_where(finding, lengths),
        measure=_measure(finding, lengths),
        why=clean(causes.get(finding.code, "")),
        remedy=raised(clean(finding.remedy)),
        source=clean(str(finding.source)) if finding.source is not None else "",
        accepted=clean(finding.accepted or ""),
        picture=picture,
    )


def _where(finding: Finding, lengths: Lengths) -> str:
    parts = [clean(finding.subject)] if finding.subject else []
    if finding.place is not None:
        place = finding.place
        parts.append(
            f"{place.face} face at X{NO_BREAK}{lengths.say(place.x_mm, 1)}, "
            f"Y{NO_BREAK}{lengths.say(place.y_mm, 1)}"
        )
    return ", ".join(parts)


def _measure(finding: Finding, lengths: Lengths) -> str:
    measure = finding.measure
    if measure is None:
        return ""

    def figure(value: float) -> str:
        if measure.unit == "mm":
            return lengths.say(value, 3 if abs(value) < 0.1 else 2)
        unit = f"{NO_BREAK}{clean(measure.unit)}" if measure.unit else ""
        return f"{short(value)}{unit}"

    text = raised(f"{clean(measure.name)} {figure(measure.value)}")
    return text if measure.limit is None else raised(f"{text}, limit {figure(measure.limit)}")


CHART_MM: Final = 34.0
AXIS_MM: Final = 12.0
FOOT_MM: Final = 4.6
STEPS: Final = tuple(float(f"{first}e{power}") for power in range(-3, 4) for first in (1, 2, 5))
"""An axis is marked at multiples of one of these."""


def no_returns_view(risk: Risk, live: Space) -> NoReturnsView:
    """Return the points of no return of a run."""
    currency = clean(risk.spending.currency)
    dearest = max(risk.points, key=lambda no_return: no_return.risk_min, default=None)
    return NoReturnsView(
        charts=_charts(risk.points, currency, live),
        note=(
            "In a piece is what it has cost when the stage begins, test pieces counted like the "
            "others. A stage spoils a piece by what varies, from the samples of the odds, or by a "
            "slip of the hand, which is assumed alike at every stage and told here once: "
            + both_words(risk)
            + " At stake is what would be lost times both chances, for one piece. A check is held "
            "to find half of the slips (assumed)."
        ),
        by_check=_by_check(risk.points),
        no_returns=tuple(
            _no_return(no_return, currency, no_return is dearest) for no_return in risk.points
        ),
    )


def _by_check(no_returns: Sequence[PointOfNoReturn]) -> tuple[tuple[str, str], ...]:
    """Return each check with the stages it comes before."""
    found: dict[str, list[int]] = {}
    for no_return in no_returns:
        text = clean(no_return.check.what)
        found.setdefault(f"{text[:1].upper()}{text[1:]}.", []).append(no_return.stage)
    return tuple((check, joined(numbers_text(stages))) for check, stages in found.items())


def _no_return(no_return: PointOfNoReturn, currency: str, dearest: bool) -> NoReturnView:
    saved = f"{no_return.saved_min:.1f} min saved on the run on average"
    return NoReturnView(
        stage=no_return.stage,
        title=clean(no_return.title),
        in_piece=money_and_work(no_return.before_min, no_return.before_cost, currency),
        odds=f"{_seldom(no_return.varies)} in 100 by what varies",
        at_stake=money_and_work(no_return.risk_min, no_return.risk_cost, currency),
        check=f"{clean(no_return.check.what)[:1].upper()}{clean(no_return.check.what)[1:]}.",
        worth=f"{no_return.check.minutes:g} min against {saved}: "
        + ("do it." if no_return.worth else "when in doubt."),
        conditions=tuple(clean(f"{text[0].upper()}{text[1:]}.") for text in no_return.conditions),
        dearest=dearest,
    )


def both_words(risk: Risk) -> str:
    """Return how many pieces come out right, slips counted, and the spares that follow from it."""
    stages, pieces = len(risk.points), risk.odds.pieces
    right = right_share(risk.odds, risk.points)
    spares = spares_for(pieces, right)
    wanted = "the piece" if pieces == 1 else f"all {pieces} pieces"
    start = (
        f"more than {MOST_SPARES} spares would be needed for {wanted}"
        if spares is None
        else f"for {wanted} to come out right in {100 * SURELY:.0f} runs of 100, start "
        + (f"{spares} more" if spares else "no more than that")
    )
    return (
        f"one in {1.0 / SLIP:.0f} (assumed, 0.3 to 3 in 100; count your own) at each of {stages} "
        f"stages. With both, {100 * right:.0f} of 100 pieces come out right; {start}."
    )


def _seldom(share: float) -> str:
    return "under 0.01" if share < 1e-4 else f"{100 * share:.2g}"


def money_and_work(minutes: float, cost: Decimal | None, currency: str) -> str:
    """Return what minutes of work and money come to, in words."""
    hours = f"{minutes / 60.0:.1f} h" if minutes >= 60.0 else f"{minutes:.1f} min"
    work = f"{hours} of work"
    return work if cost is None else f"{cost} {currency} and {work}"


def _charts(
    no_returns: Sequence[PointOfNoReturn], currency: str, live: Space
) -> tuple[Picture, ...]:
    """Draw what is in one piece at each point, and what is at stake there: an axis each."""
    priced = bool(no_returns) and no_returns[-1].before_cost is not None
    unit = currency if priced else "h of work"
    inside = [_value(no_return.before_min, no_return.before_cost) for no_return in no_returns]
    stakes = [_value(no_return.risk_min, no_return.risk_cost) for no_return in no_returns]
    numbers = [no_return.stage for no_return in no_returns]
    return (
        _bars(numbers, inside, f"In one piece, {unit}", "#8a6f4d", live),
        _bars(numbers, stakes, f"At stake, {unit}", WORK, live),
    )


def _bars(
    numbers: Sequence[int], values: Sequence[float], caption: str, fill: str, live: Space
) -> Picture:
    """Draw a bar for each point of no return, the number of its step under it."""
    top, low = 3.0, CHART_MM - FOOT_MM
    most = max([*values, 1e-9])
    wide = (live.width_mm - AXIS_MM - 1.0) / max(len(numbers), 1)
    rise = (low - top) / most
    size = min(svg.WORD_MM, wide / 1.25)
    parts = [_axis(most, low, rise, live.width_mm)]
    for index, (number, value) in enumerate(zip(numbers, values, strict=True)):
        x = AXIS_MM + index * wide
        parts.append(
            svg.shape("rect", x=x + 0.2 * wide, y=low - value * rise, width=0.6 * wide,
                      height=max(value * rise, 0.1), fill=fill)
        )  # fmt: skip
        parts.append(svg.words(str(number), x + 0.5 * wide, low + 3.6, size, anchor="middle"))
    alt = f"{caption}, before each point of no return, by the number of its step"
    drawn = svg.drawing(parts, live.width_mm, CHART_MM, alt)
    return Picture(alt, f"{caption}, by step", live.width_mm, CHART_MM, drawn)


def _value(minutes: float, cost: Decimal | None) -> float:
    return minutes / 60.0 if cost is None else float(cost)


def _axis(most: float, low: float, rise: float, width_mm: float) -> str:
    step = next((step for step in STEPS if most / step <= 4.0), STEPS[-1])
    parts: list[str] = []
    for tick in range(int(most / step) + 1):
        y = low - tick * step * rise
        line = f"M{AXIS_MM - 1:.2f} {y:.2f}H{width_mm - 1.0:.2f}"
        parts.append(svg.path(line, stroke=SOFT, stroke_width="0.1"))
        parts.append(
            svg.words(f"{tick * step:g}", AXIS_MM - 2.0, y + 1.0, svg.WORD_MM, anchor="end")
        )
    return "".join(parts)
