"""The commands that ask what if, and how likely."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

from flushwork.cli.output import Console
from flushwork.core.findings import Finding, Severity
from flushwork.core.words import plural
from flushwork.pipeline import build
from flushwork.usecases.data import finding_data
from flushwork.usecases.fix import Fix, fix
from flushwork.usecases.jobs import load
from flushwork.usecases.odds import RunOdds
from flushwork.usecases.odds import odds as run_odds
from flushwork.usecases.vary import Outcome
from flushwork.usecases.vary import vary as sweep


def vary(path: Path, key: str, values: Sequence[str], console: Console) -> None:
    """Print what the check tells for each value of a key."""
    outcomes = sweep(path, key, values, console.progress)
    if console.as_json:
        console.data({"key": key, "outcomes": [_outcome_data(item) for item in outcomes]})
        return
    console.units = load(path).shop.reads
    seen = dict.fromkeys(
        (item.code, item.subject) for outcome in outcomes for item in _loud(outcome)
    )
    width = max(len(outcome.value) for outcome in outcomes)
    for outcome in outcomes:
        stops, warnings = (len(outcome.of(kind)) for kind in (Severity.MUST_FIX, Severity.WARNING))
        console.say(f"{outcome.value:>{width}}  {stops} stop, {warnings} warning")
    for code, subject in seen:
        console.say(f"{code} {subject}".rstrip() + ":")
        for outcome in outcomes:
            told = [item for item in _loud(outcome) if (item.code, item.subject) == (code, subject)]
            console.say(
                f"  {outcome.value:>{width}}  {_figure(told[0]) if told else 'nothing told'}"
            )


def _loud(outcome: Outcome) -> tuple[Finding, ...]:
    return outcome.of(Severity.MUST_FIX) + outcome.of(Severity.WARNING)


def _figure(finding: Finding) -> str:
    measure = finding.measure
    if measure is None:
        return finding.severity.value
    limit = "" if measure.limit is None else f" (limit {measure.limit:.2f})"
    return f"{finding.severity.value}, {measure.name} {measure.value:.2f} {measure.unit}{limit}"


def _outcome_data(outcome: Outcome) -> dict[str, object]:
    return {
        "value": outcome.value,
        "must fix": len(outcome.of(Severity.MUST_FIX)),
        "warning": len(outcome.of(Severity.WARNING)),
        "findings": [finding_data(item) for item in outcome.findings],
    }


def fixes(path: Path, console: Console) -> None:
    """Print, for each must fix and warning, the cheapest change that takes it away, or why not."""
    found = [(offer.proposal, offer.figure) for offer in fix(path, console.progress)]
    if console.as_json:
        console.data(
            {
                "fixes": [
                    {
                        "finding": finding_data(item.finding),
                        "fix": item.fix and _fix_data(item.fix),
                        "why not": item.why,
                        "figure": figure
                        and {"name": figure[0], "value": figure[1], "limit": figure[2]},
                        "tried": item.tried,
                    }
                    for item, figure in found
                ]
            }
        )
        return
    console.units = load(path).shop.reads
    for item, figure in found:
        console.say(f"{item.finding.severity.value}  {item.finding.code}  {item.finding.subject}")
        console.say(f"  {item.finding.message}")
        if item.fix is None:
            console.say(f"  {item.why}")
            continue
        console.say(f"  Write {item.fix}: that takes it away, and raises nothing else.")
        if figure is not None:
            console.say(f"  The {figure[0]} is then {figure[1]:.2f} mm.")
    if not found:
        console.say("There is nothing to fix.")


def _fix_data(found: Fix) -> list[dict[str, str | None]]:
    return [{"key": edit.key, "value": edit.value} for edit in found.edits]


def odds(path: Path, console: Console) -> None:
    """Print the odds of a piece and of the run, the weakest quantities first."""
    made = build(path, console.progress)
    console.units = made.job.shop.reads
    run = run_odds(made)
    if console.as_json:
        console.data(_odds_data(run))
        return
    console.say(
        "If no mistakes are made, one piece comes out right with odds of "
        f"{100 * run.piece:.1f} in 100; of {run.pieces} "
        f"{plural(run.pieces, 'piece')} {run.expected_good:.2f} "
        f"{plural(run.pieces, 'is', 'are')} expected good, and all of them in "
        f"{100 * run.all_good:.1f} of 100 runs ({run.samples} runs drawn)."
    )
    for item in run.quantities:
        if item.odds > SURE:
            continue
        console.say(
            f"  {item.name} of {item.subject}: {100 * item.odds:.1f} in 100"
            f"{' (closed form)' if item.closed else ''}; mostly {item.dominant} "
            f"({100 * item.share:.0f} %). {item.tighten.capitalize()}: halved, "
            f"{100 * item.halved:.1f} in 100."
        )
    for step in run.tightenings[:3]:
        console.say(
            f"  Halve the variation of {step.what} ({step.how}): {100 * step.piece:.1f} pieces in "
            f"100 come right, {100 * step.all_good:.1f} runs in 100."
        )
    sure = sum(item.odds > SURE for item in run.quantities)
    console.say(f"  {sure} more quantities hold on more than {100 * SURE:g} pieces in 100.")


SURE = 0.999


def _odds_data(run: RunOdds) -> dict[str, object]:
    data = asdict(run)
    for item in data["quantities"]:
        item["place"] = dict(zip(("x_mm", "y_mm"), item.pop("at_mm"), strict=True))
    for item in data["maps"]:
        item |= {"at_mm": item["at_mm"].round(3).tolist(), "odds": item["odds"].round(6).tolist()}
    for item in data["stages"]:
        del item["weakest"]
    data["tighten"] = data.pop("tightenings")
    return data
