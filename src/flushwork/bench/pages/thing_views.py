"""The sheet of one thing in hand: what it is, its figures, and all that it has to do with."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal

from flushwork.bench.desk.snapshot import Snapshot, cached_on
from flushwork.bench.pages.machine_views import ScreenView, screens
from flushwork.bench.pages.things import Things, keyed_findings, things_of
from flushwork.bench.pages.whole_page import page_context, setups
from flushwork.built import Build
from flushwork.core.units.kinds import DAY_MIN
from flushwork.core.words import counted
from flushwork.resin.pours import Pour
from flushwork.usecases.plan import Spending, batch_cost, spending
from flushwork.views.book_records import Fact, GcodeFileView, UnitSystem
from flushwork.views.check_views import MARKS, money_and_work
from flushwork.views.context import ViewContext
from flushwork.views.figures import clean, duration, grams, joined, short, volume
from flushwork.views.reference_views import legend_inlay

LABELS = {
    "finding": "Found by the check",
    "inlay": "Inlays",
    "holes": "Holes",
    "bit": "Bits",
    "setup": "Setups",
    "stage": "Stages",
    "pour": "Pours",
    "day": "Days",
}
"""What the ties of a thing are called, in the order they are told."""


@dataclass(frozen=True, slots=True)
class Tie:
    """A thing that the one in hand is tied to: its address, its words, the mark of a finding."""

    key: str
    words: str
    mark: str = ""


@dataclass(frozen=True, slots=True)
class TieRow:
    """All ties of one kind."""

    label: str
    ties: tuple[Tie, ...]


@dataclass(frozen=True, slots=True)
class ThingView:
    """One thing in hand.

    ``fields`` names the small form that changes it, empty where none does; ``screen`` is the step
    of a stage as the machine's page has it; ``files`` are G-code files by their numbers.
    """

    key: str
    caps: str
    title: str
    colour: str
    facts: tuple[Fact, ...]
    rows: tuple[TieRow, ...]
    fields: str = ""
    because: str = ""
    screen: ScreenView | None = None
    files: tuple[tuple[int, GcodeFileView], ...] = ()


@dataclass(frozen=True, slots=True)
class _Held:
    """What a sheet is made of: the picture in sight, its context, the key and name of the thing."""

    snapshot: Snapshot
    context: ViewContext
    key: str
    name: str


def thing_view(snapshot: Snapshot, key: str, units: UnitSystem) -> ThingView | None:
    """Return the sheet of a thing; None where the job has no such thing."""
    things = things_of(snapshot)
    if key not in things.words:
        return None
    context = page_context(snapshot.made, units, coarse=snapshot.coarse)
    kind, _, name = key.partition("/")
    made = {
        "inlay": _inlay,
        "holes": _holes,
        "stage": _stage,
        "setup": _setup,
        "bit": _bit,
        "pour": _pour,
        "day": _day,
        "finding": _finding,
    }[kind](_Held(snapshot, context, key, name))
    return replace(made, rows=_rows(things, key))


def _rows(things: Things, key: str) -> tuple[TieRow, ...]:
    rows = []
    for kind, label in LABELS.items():
        tied = tuple(
            Tie(each, things.words[each], things.weights.get(each, "").replace(" ", "-"))
            for each in things.of(key, kind)
        )
        if tied:
            rows.append(TieRow(label, tied))
    return tuple(rows)


@cached_on
def _steps(snapshot: Snapshot, units: UnitSystem) -> tuple[ScreenView, ...]:
    return screens(page_context(snapshot.made, units, coarse=snapshot.coarse))


@cached_on
def _spending(snapshot: Snapshot) -> Spending | None:
    return None if snapshot.coarse else spending(snapshot.made)


def _costs(snapshot: Snapshot, stages: tuple[int, ...]) -> tuple[Fact, ...]:
    """Return what stages add to one piece, once the job is checked."""
    spent = _spending(snapshot)
    if spent is None or not stages:
        return ()
    parts = [spent.at(stage) for stage in stages]
    money = [part.money for part in parts if part.money is not None]
    cost = sum(money, Decimal(0)) if money else None
    told = money_and_work(sum(part.minutes for part in parts), cost, spent.currency)
    return (Fact("Adds to one piece", told),)


def _inlay(it: _Held) -> ThingView:
    face, _, own = it.name.partition("/")
    made = it.context.build
    drawn = next(each for each in made.inlays if each.inlay.name == own and each.inlay.face == face)
    told = legend_inlay(it.context, drawn.inlay, it.context.letters, it.context.lengths)
    mix = drawn.inlay.mix
    facts = [
        Fact("Depth", told.depth),
        Fact("Fill", f"{it.context.letters.get(mix.name, '')} {clean(mix.name)}".strip()),
        Fact("How it is filled", told.manner),
        Fact("Bits", told.bits),
    ]
    if not drawn.region.is_empty:
        x0, y0, x1, y1 = drawn.region.bounds
        facts.append(Fact("Size", it.context.lengths.size(x1 - x0, y1 - y0)))
    for pour in made.pours:
        for served in pour.serves:
            if (served.subject, served.face) == (own, face):
                cm3 = served.pocket_cm3 + served.over_cm3
                facts.append(Fact(f"Pour {pour.number}, in one piece", volume(cm3)))
                facts += _mixed(made, pour, cm3)
    facts += _files(made, own, face)
    return ThingView(
        key=it.key,
        caps=f"Inlay, {face}",
        title=clean(own),
        colour=made.palette.mixes[mix.name].hex if mix.name in made.palette.mixes else "",
        facts=tuple(facts),
        rows=(),
        fields=it.key,
    )


def _mixed(made: Build, pour: Pour, cm3: float) -> tuple[Fact, ...]:
    """Return what so much of a batch costs, with its share of what is left over."""
    whole = batch_cost(made, pour)
    poured = pour.pieces * sum(each.pocket_cm3 + each.over_cm3 for each in pour.serves)
    if whole is None or poured <= 0.0:
        return ()
    share = whole * Decimal(repr(cm3 / poured))
    return (Fact("Its resin and pigment", f"{share:.2f} {_currency(made)}"),)


def _currency(made: Build) -> str:
    prices = made.job.shop.prices
    return prices.currency if prices is not None else ""


def _files(made: Build, name: str, face: str) -> tuple[Fact, ...]:
    """Return the G-code files that cut a thing."""
    names = [
        file.file_name
        for file in made.gcode_files
        if file.order.face == face and any(each.subject == name for each in file.order.operations)
    ]
    return (Fact("G-code", joined(names)),) if names else ()


def _holes(it: _Held) -> ThingView:
    face, _, own = it.name.partition("/")
    drilled = next(
        each
        for drawn in it.context.build.faces
        if drawn.name == face
        for each in drawn.holes
        if each.holes.name == own
    )
    holes, lengths = drilled.holes, it.context.lengths
    deep = "right through" if holes.through else lengths.say(holes.depth_mm)
    facts = [
        Fact("Holes", str(len(drilled.places))),
        Fact("Diameter", lengths.say(holes.diameter_mm, 3)),
        Fact("Depth", deep),
    ]
    if holes.peg_mm is not None:
        facts.append(Fact("For pegs of", lengths.say(holes.peg_mm)))
    facts += _files(it.context.build, own, face)
    return ThingView(
        key=it.key,
        caps=f"Holes, {face}",
        title=clean(own),
        colour="",
        facts=tuple(facts),
        rows=(),
        fields=it.key,
    )


def _stage(it: _Held) -> ThingView:
    steps = _steps(it.snapshot, it.context.units)
    step = steps[int(it.name) - 1]
    made = it.context.build
    numbers = {file.file_name: at for at, file in enumerate(made.gcode_files)}
    when = _when(made, step.number)
    return ThingView(
        key=it.key,
        caps=f"Step {step.number} of {len(steps)}, {step.face}",
        title=step.title,
        colour=step.colour,
        facts=(*when, *_costs(it.snapshot, (step.number,))),
        rows=(),
        because=step.because,
        screen=step,
        files=tuple((numbers[file.file_name], file) for file in step.files),
    )


def _when(made: Build, stage: int) -> tuple[Fact, ...]:
    """Return when a stage is worked, as the job's own days have it."""
    plan = made.schedule
    steps = [step for step in plan.steps if step.stage == stage] if plan is not None else []
    if plan is None or not steps:
        return ()
    first, last = min(s.begin_min for s in steps), max(s.end_min for s in steps)
    days, clock = plan.days.day_text, plan.days.clock_text
    ends = clock(last) if first // DAY_MIN == last // DAY_MIN else f"{days(last)}, {clock(last)}"
    told = f"{days(first)}, {clock(first)} to {ends}"
    return (Fact("When", f"{told[:1].upper()}{told[1:]}"),)


def _setup(it: _Held) -> ThingView:
    card = next(each for each in setups(it.context) if each.number == int(it.name))
    setup = it.context.build.plan.setup(card.number)
    run_s = sum(f.run_s for f in it.context.build.gcode_files if f.order.setup == card.number)
    facts = [
        Fact("G-code files", str(len(card.files))),
        Fact("Runs for", duration(run_s) if run_s else "nothing"),
        *_costs(it.snapshot, setup.stages),
    ]
    return ThingView(
        key=it.key,
        caps=f"Setup {card.number} of {len(it.context.build.plan.setups)}",
        title=card.heading.partition(": ")[2].capitalize(),
        colour="",
        facts=tuple(facts),
        rows=(),
    )


def _bit(it: _Held) -> ThingView:
    files = [f for f in it.context.build.gcode_files if f.order.bit.name == it.name]
    cut_s = sum(file.cut_s for file in files)
    bit = files[0].order.bit
    facts = [
        Fact("Diameter", it.context.lengths.say(bit.diameter_mm, 3)),
        Fact("Runs in", counted(len(files), "G-code file")),
        Fact("Cuts in one piece for", duration(cut_s)),
    ]
    return ThingView(
        key=it.key, caps="Bit", title=clean(it.name), colour="", facts=tuple(facts), rows=()
    )


def _pour(it: _Held) -> ThingView:
    made = it.context.build
    pour = next(each for each in made.pours if each.number == int(it.name))
    batch = f"out of pour {pour.out_of}'s cup" if pour.out_of else grams(pour.batch_g)
    facts = [Fact("Batch", batch), Fact("For", counted(pour.pieces, "piece"))]
    if pour.pot_life_min:
        facts.append(Fact("Pot life", f"{short(pour.pot_life_min)} min"))
    whole = batch_cost(made, pour)
    if whole is not None and not pour.out_of:
        facts.append(Fact("Its parts cost", f"{whole} {_currency(made)}"))
    facts += _when(made, pour.stage)
    mix = pour.mix.name
    return ThingView(
        key=it.key,
        caps=f"Pour {pour.number} of {len(made.pours)}",
        title=clean(mix),
        colour=made.palette.mixes[mix].hex if mix in made.palette.mixes else "",
        facts=tuple(facts),
        rows=(),
        fields=f"mix/{mix}",
    )


def _day(it: _Held) -> ThingView:
    plan, day = it.context.build.schedule, int(it.name) - 1
    steps = [s for s in plan.steps if s.begin_min // DAY_MIN == day] if plan is not None else []
    at_machine = sum(step.minutes for step in steps if step.machine)
    facts = (
        Fact("Work", duration(60.0 * sum(step.minutes for step in steps))),
        Fact("Of it at the machine", duration(60.0 * at_machine) if at_machine else "nothing"),
    )
    return ThingView(
        key=it.key,
        caps="Day of the run, as the job has it",
        title=things_of(it.snapshot).words[it.key],
        colour="",
        facts=facts,
        rows=(),
    )


def _finding(it: _Held) -> ThingView:
    finding = next(each for own, each in keyed_findings(it.context.build) if own == it.key)
    return ThingView(
        key=it.key,
        caps={"must-fix": "Must fix", "warning": "Warning"}.get(MARKS[finding.severity], "Note"),
        title=clean(finding.message),
        colour="",
        facts=(),
        rows=(),
    )
