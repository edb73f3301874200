"""A card read as a shop reads it: nothing but what is printed, and the tools that are named."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from flushwork.job.records import Mix
from flushwork.shelf.items import MeasuringTool, Shop, ToolKind
from flushwork.views.book_records import MeasureStep, PourView

UNITS = {"g": 1.0, "cm\N{SUPERSCRIPT THREE}": 1.0, "oz": 28.349523125, "fl oz": 29.5735295625}
NUMBER = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
HAIR = 1e-6


@dataclass(frozen=True)
class Reading:
    """One printed amount: in the tool's own g or cm3, and how finely it is printed."""

    amount: float
    finest: float


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


def readings(text: str) -> list[Reading]:
    """Return every amount of a printed text; the unit of the last one holds for all."""
    unit = next((u for u in ("fl oz", "oz", "cm\N{SUPERSCRIPT THREE}", "g") if u in text), "g")
    found = []
    for each in re.findall(NUMBER, plain(text)):
        whole = float(sum(Fraction(part) for part in each.split()))
        finest = 0.0 if "/" in each else 0.5 * 10.0 ** -len(each.partition(".")[2])
        found.append(Reading(whole * UNITS[unit], finest * UNITS[unit]))
    return found


@dataclass(frozen=True)
class Put:
    """What a step puts in: the least, the wanted and the most grams, or none can be told."""

    low_g: float
    wanted_g: float
    high_g: float
    error_g: float


@dataclass(frozen=True)
class CardReader:
    """Reads the cards of one job: ``told`` are the codes found, by the mix they are about."""

    shop: Shop
    mixes: Mapping[str, Mix]
    told: Mapping[str, frozenset[str]]

    def faults(self, view: PourView, clear: PourView | None = None) -> Iterator[str]:
        """Yield all that makes a card impossible to follow; ``clear`` holds its common batch."""
        mix = self.mixes[view.mix]
        told = self.told.get(view.mix, frozenset())
        if "batch-cannot-be-measured" in told:
            return
        whole = 0.0
        for steps in filter(None, (view.clear_steps, view.steps)):
            puts = [self.put(step, mix) for step in steps]
            for step in steps:
                yield from self.step_faults(step, told)
            yield from self.load_faults(steps, puts)
            yield from self.ratio_faults(steps, mix)
            whole = sum(put.wanted_g for put in puts)
        if view.steps:
            yield from self.sum_faults(view, whole)
            yield from self.cup_faults(view, whole)
        yield from self.overshot_faults(view)
        yield from self.missing_faults(view, clear)

    def overshot_faults(self, view: PourView) -> Iterator[str]:
        """Yield what the rule for too much tells to read that the resin's tool does not show."""
        steps = [step for step in (*view.clear_steps, *view.steps) if "(resin)" in step.what]
        tool = self.tool(steps[0]) if steps and view.overshoot is not None else None
        if tool is None or view.overshoot is None:
            return
        unit = plain(steps[0].reads).split()[-1]
        for text in (plain(cell) for row in view.overshoot.rows for cell in row):
            for amount, told in re.findall(r"(\d+(?:\.\d+)?) (g|oz)\b", text):
                marks = float(amount) * UNITS[told] / tool.step
                if told != unit or abs(marks - round(marks)) > 0.02:
                    yield f"{text}: {tool.name} shows {steps[0].reads}"

    def cup_faults(self, view: PourView, whole_g: float) -> Iterator[str]:
        """Yield where what the cups that are told keep, and the nail test, are not mixed for."""
        facts = {fact.label: plain(fact.value) for fact in view.facts}
        volume, mass = (float(Fraction(each)) for each in re.findall(NUMBER, facts["Mix"])[:2])
        density = mass / volume
        two = any("into a clean cup" in note for note in view.notes)
        lost_g = (2 if two else 1) * self.shop.cup_loss_g
        fills = [float(re.findall(NUMBER, facts["Needed"])[0])]
        fills += [float(re.findall(NUMBER, v)[0]) for k, v in facts.items() if k.startswith("For ")]
        rest_g = whole_g - sum(fills) * density - lost_g
        # what is printed is rounded to a tenth, and a vessel's density is not the printed one
        if rest_g < 0.4 - 0.1 * len(fills) - 0.02 * whole_g:
            yield f"{rest_g:.2f} g for the nail test of {whole_g:.2f} g through two cups: {two}"

    def missing_faults(self, view: PourView, clear: PourView | None) -> Iterator[str]:
        """Yield what a card leaves out."""
        shares = any(step.what.startswith("mixed") for step in view.steps)
        names = " ".join(step.what for step in view.steps)
        if not view.steps:
            if "Comes out of" not in {fact.label for fact in view.facts}:
                yield "nothing is measured"
        elif shares:
            if not view.clear_steps and clear is None:
                yield "no card measures its common batch"
        elif "(resin)" not in names or "hardener" not in names:
            yield "resin or hardener is left out"

    def load_faults(self, steps: Sequence[MeasureStep], puts: Sequence[Put]) -> Iterator[str]:
        """Yield the scales that do not bear the cup and what stands in it."""
        in_cup = sum(put.wanted_g for put in puts) + self.shop.cup_g
        for step, put in zip(steps, puts, strict=True):
            tool = self.tool(step)
            if tool is None or tool.kind is not ToolKind.SCALE:
                continue
            main = "(resin)" in step.what or "hardener" in step.what
            if (in_cup if main else put.wanted_g + self.shop.cup_g) > tool.capacity + HAIR:
                yield f"{step.what}: {tool.name} does not bear cup and all in it"

    def tool(self, step: MeasureStep) -> MeasuringTool | None:
        return next((tool for tool in self.shop.tools if tool.name == step.tool), None)

    def step_faults(self, step: MeasureStep, told: frozenset[str]) -> Iterator[str]:
        tool = self.tool(step)
        if tool is None:
            if step.tool:
                yield f"{step.what}: no tool is called {step.tool}"
            elif (
                "stays in the clear cup" not in step.also and "part-cannot-be-measured" not in told
            ):
                yield f"{step.what}: no tool and no finding"
            return
        if tool.kind is ToolKind.SPOON:
            if step.reads or step.stop_between:
                yield f"{step.what}: a spoon that reads"
            (count,) = readings(step.add)[:1]
            halves = count.amount * (2.0 if tool.drop <= tool.capacity * 0.51 else 1.0)
            if halves < 1.0 or abs(halves - round(halves)) > HAIR or count.amount > 12.0:
                yield f"{step.what}: {step.add} of a spoon"
            return
        yield from self.reading_faults(step, tool)

    def reading_faults(self, step: MeasureStep, tool: MeasuringTool) -> Iterator[str]:
        """Yield what a scale or a vessel cannot show, hold, or stop at."""
        amounts = readings(step.add)
        least, most = readings(step.stop_between)
        (shown,) = readings(step.reads)
        for each in (*amounts, least, most, shown):
            # the marks of a vessel are read to their half by eye
            halved = tool.kind is not ToolKind.SCALE and each in (least, most)
            mark = tool.step / 2.0 if halved else tool.step
            marks = each.amount / mark
            if abs(marks - round(marks)) * mark > each.finest + HAIR:
                yield f"{step.what}: {each.amount} is no mark of {tool.name}"
            if each.amount > tool.capacity + each.finest + HAIR:
                yield f"{step.what}: {each.amount} in {tool.name}"
            if each.amount + each.finest < mark - HAIR:
                yield f"{step.what}: {each.amount} is less than a step of {tool.name}"
        if len(amounts) > 3:
            yield f"{step.what}: filled {len(amounts)} times"
        if not least.amount <= shown.amount <= most.amount or least.amount >= most.amount:
            yield f"{step.what}: stop between {step.stop_between} for {step.reads}"
        room = most.amount - least.amount + 2 * most.finest
        if "(pigment)" not in step.what and room < tool.drop - HAIR:
            yield f"{step.what}: a drop of {tool.drop} overshoots {step.stop_between}"
        if abs(shown.amount - amounts[-1].amount) > HAIR:
            yield f"{step.what}: add {step.add}, reads {step.reads}"

    def put(self, step: MeasureStep, mix: Mix) -> Put:
        """Return the grams a step puts in, from what its tool shows."""
        density = self.density(step, mix)
        tool = self.tool(step)
        if tool is None:
            (each,) = readings(step.add)
            return Put(each.amount, each.amount, each.amount, each.finest)
        if tool.kind is ToolKind.SPOON:
            bulk = next(
                p.pigment.bulk_g_cm3 for p in mix.pigments if step.what.startswith(p.pigment.name)
            )
            mass = readings(step.add)[0].amount * tool.capacity * bulk
            return Put(mass, mass, mass, 0.0)
        unit_g = 1.0 if tool.kind is ToolKind.SCALE else density
        amounts = [each.amount for each in readings(step.add)]
        least, most = readings(step.stop_between)
        before = sum(amounts[:-1])
        error = tool.step / 2.0
        if tool.kind is not ToolKind.SCALE:
            # the limits of the last fill are what the eye may be off by
            error = max(error, tool.drop) * (len(amounts) - 1)
        return Put(
            (before + least.amount) * unit_g,
            sum(amounts) * unit_g,
            (before + most.amount) * unit_g,
            error * unit_g,
        )

    def density(self, step: MeasureStep, mix: Mix) -> float:
        resin, hardener = mix.resin.density_resin_g_cm3, mix.resin.density_hardener_g_cm3
        if "hardener" in step.what:
            return hardener
        if "(resin)" in step.what:
            return resin
        if step.what.startswith("mixed"):
            per = mix.ratio_hardener / mix.ratio_resin
            per = per if mix.by_weight else per * hardener / resin
            return (1.0 + per) / (1.0 / resin + per / hardener)
        if mix.thinner is not None and step.what.startswith(mix.thinner.name):
            return mix.thinner.density_g_cm3
        return 1.0

    def ratio_faults(self, steps: Sequence[MeasureStep], mix: Mix) -> Iterator[str]:
        """Yield where the ratio leaves its tolerance though every limit was kept."""
        resin = next((step for step in steps if "(resin)" in step.what), None)
        hardener = next((step for step in steps if "hardener" in step.what), None)
        if resin is None or hardener is None:
            return
        a, b = self.put(resin, mix), self.put(hardener, mix)
        right = mix.ratio_hardener / mix.ratio_resin
        if not mix.by_weight:
            right *= mix.resin.density_hardener_g_cm3 / mix.resin.density_resin_g_cm3
        for one, two in itertools.product(
            (a.low_g - a.error_g, a.high_g + a.error_g), (b.low_g - b.error_g, b.high_g + b.error_g)
        ):
            off = two / one / right - 1.0
            if abs(off) > mix.resin.tolerance + 1e-3:
                yield f"hardener off by {off:.4f} within the limits of {resin.add}, {hardener.add}"

    def sum_faults(self, view: PourView, whole_g: float) -> Iterator[str]:
        """Yield where the sums that are printed are not those of what is put in."""
        facts = {fact.label: plain(fact.value) for fact in view.facts}
        volume, mass = (Fraction(each) for each in re.findall(NUMBER, facts["Mix"])[:2])
        if abs(float(mass) - whole_g) > 0.06 + 0.002 * whole_g:
            yield f"puts in {whole_g:.2f} g, and tells {float(mass)} g"
        parts = [float(re.findall(NUMBER, facts[name])[0]) for name in ("Needed", "Cup and walls")]
        parts += [float(re.findall(NUMBER, facts["Kept back"])[0]) / (float(mass) / float(volume))]
        parts += [float(re.findall(NUMBER, v)[0]) for k, v in facts.items() if k.startswith("For ")]
        left = float(re.findall(NUMBER, facts["Left over"])[0]) / (float(mass) / float(volume))
        if abs(sum(parts) + left - float(volume)) > 0.2 + 0.03 * float(volume):
            yield f"needs {parts} and {left:.2f} of {float(volume)} cm3"
        if "In one cup" not in facts:
            yield "nothing is told of how much one cup may hold"
            return
        most = float(re.findall(NUMBER, facts["In one cup"])[0])
        told = self.told.get(view.mix, frozenset())
        if float(mass) > most + 0.1 and "cup-runs-away" not in told:
            yield f"{float(mass)} g in one cup that holds {most} g"
