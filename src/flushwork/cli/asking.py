"""The commands that ask: what if, how likely, what is at risk, which bits."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import asdict
from math import isinf
from pathlib import Path

from flushwork.built import Build
from flushwork.cli.output import DONE, Console
from flushwork.core.findings import Finding, Severity
from flushwork.core.units import System
from flushwork.core.units.shown import Units, shown
from flushwork.core.words import plural
from flushwork.pipeline import build
from flushwork.usecases.bits_and_stock import (
    HEAD,
    NOTE,
    BitSet,
    cells,
    cells_in,
    feed_text,
    feeds,
    set_text,
)
from flushwork.usecases.check import part_of
from flushwork.usecases.explain import finding_data
from flushwork.usecases.jobs import load
from flushwork.usecases.odds import PointOfNoReturn, RunOdds, no_return
from flushwork.usecases.odds import odds as run_odds
from flushwork.usecases.what_if import Fix, Outcome, fix
from flushwork.usecases.what_if import vary as sweep
from flushwork.views.check_views import both_words, money_and_work


def vary(path: Path, key: str, values: Sequence[str], console: Console) -> None:
    """Print what the check tells for each value of a key."""
    outcomes = sweep(path, key, values, console.progress)
    if console.as_json:
        console.data(
            {"key": key, "outcomes": [_outcome_data(item, console.units) for item in outcomes]}
        )
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
    limit = "" if measure.limit is None else f" (limit {measure.limit:.2f} {measure.unit})"
    return f"{finding.severity.value}, {measure.name} {measure.value:.2f} {measure.unit}{limit}"


def _outcome_data(outcome: Outcome, units: Units) -> dict[str, object]:
    return {
        "value": outcome.value,
        "must fix": len(outcome.of(Severity.MUST_FIX)),
        "warning": len(outcome.of(Severity.WARNING)),
        "findings": [finding_data(item, units) for item in outcome.findings],
    }


def fixes(path: Path, console: Console) -> None:
    """Print, for each must fix and warning, the cheapest change that takes it away, or why not."""
    found = [(offer.proposal, offer.figure) for offer in fix(path, console.progress)]
    if console.as_json:
        console.data(
            {
                "fixes": [
                    {
                        "finding": finding_data(item.finding, console.units),
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


def odds(path: Path, console: Console, part: str = "") -> None:
    """Print the odds of a piece and of the run, the weakest quantities first."""
    made = part_of(build(path, console.progress), part)
    console.units = made.job.shop.reads
    run = run_odds(made)
    if console.as_json:
        console.data(_odds_data(run))
        return
    tell_part(made, console)
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


def tell_part(made: Build, console: Console) -> None:
    """Tell of which part of a job the rest is, where it has several."""
    if made.job.part:
        console.say(f"Part: {made.job.part}")


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


# ---- The command ``no_returns``: money at risk, and what must be true before each step


def show_no_returns(path: Path, console: Console, part: str = "") -> None:
    """Print the points of no return of a job in working order."""
    made = part_of(build(path, console.progress), part)
    console.units = made.job.shop.reads
    risk = no_return(made)
    currency = risk.spending.currency
    if console.as_json:
        console.data({"currency": currency, "no_returns": [_data(point) for point in risk.points]})
        return
    tell_part(made, console)
    console.say(f"Slips of the hand: {both_words(risk)}")
    for point in risk.points:
        console.say(f"{point.stage}. {point.title}")
        console.say(
            f"   In one piece: {money_and_work(point.before_min, point.before_cost, currency)}. "
            f"This step spoils it {100 * point.varies:.2g} times in 100 by what varies; with "
            f"slips, at stake "
            f"{money_and_work(point.risk_min, point.risk_cost, currency)}."
        )
        console.say(
            f"   Before it: {point.check.what} ({point.check.minutes:g} min; it saves "
            f"{point.saved_min:.1f} min on the run on average"
            f"{')' if point.worth else ', so do it when in doubt)'}."
        )
        for condition in point.conditions:
            console.say(f"   [ ] {condition}")


def _data(point: PointOfNoReturn) -> dict[str, object]:
    found = asdict(point)
    found["kind"] = point.kind.value
    for key in ("before_cost", "step_cost", "risk_cost"):
        if found[key] is not None:
            found[key] = str(found[key])
    found["saved_min"] = point.saved_min
    return found


# ---- The command about cutting: ``bits``


def show_bits(path: Path, console: Console, part: str = "") -> int:
    """Print the bits chosen for a job, what each buys, and the table of feeds."""
    made = part_of(build(path, console.progress), part)
    rows = feeds(made)
    if console.as_json:
        console.data(
            {
                "feeds": [dict(zip(HEAD, cells(row), strict=True)) for row in rows],
                "sets": [_set_data(found) for found in made.bit_sets],
            }
        )
        return DONE
    inch = made.job.shop.units is System.INCH
    console.units = made.job.shop.reads
    tell_part(made, console)
    console.write(set_text(made.bit_sets) + "\n")
    console.write(f"{cells_in(inch)}\n{feed_text(rows, inch=inch)}")
    console.write("\n" + textwrap.fill(shown(NOTE, console.units), 96) + "\n")
    return DONE


def _set_data(found: BitSet) -> dict[str, object]:
    """Return a set for other programs, times in seconds; what cannot be is null."""
    return {
        "inlays": list(found.subjects),
        "total_s": found.total_s,
        "single": found.single.name if found.single is not None else None,
        "single_s": found.single_s if found.single is not None else None,
        "bits": [
            {
                "bit": buy.bit.name,
                "serves": list(buy.serves),
                "without_s": None if isinf(buy.without_s) else buy.without_s,
                "asked": buy.asked,
            }
            for buy in found.buys
        ],
    }
