"""The proof as the book tells it: verdict in words, findings by weight, pins on the faces."""

from __future__ import annotations

from collections.abc import Mapping

from flushwork.book.drawings import Space, places_drawing
from flushwork.book.face_art import FaceArt
from flushwork.book.figures import NO_BREAK, Lengths, clean, counted, raised, short
from flushwork.book.finding_pictures import Places, finding_picture
from flushwork.book.records import (
    FindingGroup,
    FindingView,
    Mark,
    Picture,
    ProofView,
    VerdictView,
)
from flushwork.findings import Finding, Severity
from flushwork.job.never_accepted import NEVER_ACCEPTED

MARKS: dict[Severity, Mark] = {
    Severity.STOP: "stop",
    Severity.CAUTION: "caution",
    Severity.NOTE: "note",
}
HEADINGS = {
    Severity.STOP: "Stops: mend before cutting",
    Severity.CAUTION: "Cautions: look at each before cutting",
    Severity.NOTE: "Notes",
}


def verdict(findings: tuple[Finding, ...]) -> VerdictView:
    """Return whether the run may be cut, in words."""
    standing = sum(finding.stands for finding in findings)
    stops = [finding for finding in findings if finding.severity is Severity.STOP]
    accepted = len(stops) - standing
    cautions = sum(finding.severity is Severity.CAUTION for finding in findings)
    notes = sum(finding.severity is Severity.NOTE for finding in findings)
    rest = f"{counted(cautions, 'caution')}, {counted(notes, 'note')}."
    if standing:
        what = "One stop stands" if standing == 1 else f"{standing} stops stand"
        fixed = all(finding.code in NEVER_ACCEPTED for finding in stops if finding.stands)
        until = "it is mended" if fixed else "it is mended or accepted by name"
        detail = f"{what}; no cut files are written until {until}."
        if standing > 1:
            detail = detail.replace("it is", "they are")
        return VerdictView("stop", "Do not cut", f"{detail} {rest}")
    if accepted:
        what = "one stop was" if accepted == 1 else f"{accepted} stops were"
        named = "; ".join(
            clean(f"{_named(finding)}, because: {finding.accepted}")
            for finding in stops
            if finding.accepted is not None
        )
        detail = f"Nothing stands, but {what} accepted by name ({named}). {rest}"
        return VerdictView("caution", "May be cut, at your word", detail)
    return VerdictView("good", "May be cut", f"No stops; {rest}")


def _named(finding: Finding) -> str:
    return f"{finding.code} of {finding.subject}" if finding.subject else finding.code


def proof_view(
    findings: tuple[Finding, ...],
    arts: Mapping[str, FaceArt],
    causes: Mapping[str, str],
    lengths: Lengths,
    space: Space,
    places: Places | None = None,
) -> ProofView:
    """Return the proof; ``causes`` gives the reason behind each code.

    Each finding with a place has its picture taken from ``places``, where they are given.
    """
    order = list(Severity)
    ordered = sorted(
        findings, key=lambda finding: (order.index(finding.severity), not finding.stands)
    )
    views: dict[Severity, list[FindingView]] = {severity: [] for severity in order}
    pins: dict[str, list[tuple[int, str, float, float]]] = {}
    number = 0
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
    return ProofView(
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
