"""Can each batch be measured, and does it hold to its resin's ratio?"""

from __future__ import annotations

from collections.abc import Iterator

from flushwork.findings import Finding, Measure, Severity
from flushwork.proof.case import Case
from flushwork.resin.composition import ratio_by_weight
from flushwork.resin.pours import Pour

PERCENT = 100.0
USED_SHARE = 0.1
"""A batch of which less than this goes into the work is not worth mixing (assumed, 0.05 to 0.2)."""
WASTE_FROM_G = 10.0
"""... once it weighs this much (assumed, 5 to 20 g)."""


def batch_below_tools(case: Case) -> Iterator[Finding]:
    """Yield findings where what is needed is less than the tools can measure.

    The card always carries a batch that can be measured; the finding tells what it leaves over,
    the cautions of a job in one.  A stop stands where no tool on the shelf can measure the mix at
    all, or hardly anything of what has to be mixed goes into the work.
    """
    small: list[Pour] = []
    for pour in case.pours:
        if pour.smallest_g == float("inf"):
            yield Finding(
                code="batch-cannot-be-measured",
                severity=Severity.STOP,
                message=f"No measuring tool in the shop file can hold {pour.mix.name} to its "
                f"ratio within {PERCENT * pour.mix.resin.tolerance:g} %.",
                remedy="Add a scale of 0.1 g or 0.01 g, or syringes, to the shop file.",
                subject=pour.mix.name,
                source=pour.mix.source,
            )
        elif pour.out_of:
            continue
        elif _needed_g(pour) < pour.smallest_g and not pour.shares_clear_with:
            if _mostly_waste(pour):
                yield _small(pour, Severity.STOP, "")
            else:
                small.append(pour)
    if small:
        worst = max(small, key=lambda pour: pour.surplus_g)
        also = ", ".join(dict.fromkeys(pour.mix.name for pour in small if pour is not worst))
        more = f" The same holds for {len(small) - 1} more of {also}." if also else ""
        yield _small(worst, Severity.CAUTION, more)


def _needed_g(pour: Pour) -> float:
    return pour.batch_g - pour.surplus_g


def _small(pour: Pour, severity: Severity, more: str) -> Finding:
    return Finding(
        code="batch-below-tools",
        severity=severity,
        message=f"Stage {pour.stage} needs {_needed_g(pour):.1f} g of {pour.mix.name}, but the "
        f"tools measure no less than {pour.smallest_g:.1f} g within "
        f"{PERCENT * pour.mix.resin.tolerance:g} %: the card mixes {pour.batch_g:.1f} g "
        f"and {pour.surplus_g:.1f} g is left over.{more}",
        remedy="Keep the surplus for coupons, swatches and spare parts, pour more pieces "
        "at once, or weigh on a finer scale.",
        subject=pour.mix.name,
        source=pour.mix.source,
        measure=Measure("needed", _needed_g(pour), pour.smallest_g, "g"),
    )


def _mostly_waste(pour: Pour) -> bool:
    """Whether hardly anything of a batch worth the name goes into the work."""
    used_g = pour.batch_g * pour.needed_cm3 / pour.batch_cm3
    return pour.batch_g >= WASTE_FROM_G and used_g < USED_SHARE * pour.batch_g


def ratio_off(case: Case) -> Iterator[Finding]:
    """Yield a stop for mixes whose stated ratio is not their resin's."""
    for mix in case.job.mixes:
        resin = mix.resin
        stated = ratio_by_weight(
            mix.ratio_resin,
            mix.ratio_hardener,
            by_weight=mix.by_weight,
            density_resin_g_cm3=resin.density_resin_g_cm3,
            density_hardener_g_cm3=resin.density_hardener_g_cm3,
        )
        right = ratio_by_weight(
            resin.ratio_resin,
            resin.ratio_hardener,
            by_weight=resin.by_weight,
            density_resin_g_cm3=resin.density_resin_g_cm3,
            density_hardener_g_cm3=resin.density_hardener_g_cm3,
        )
        over = stated / right - 1.0
        if abs(over) <= resin.tolerance:
            continue
        yield Finding(
            code="ratio-off",
            severity=Severity.STOP,
            message=f"{mix.name} is to be mixed {mix.ratio_resin:g}:{mix.ratio_hardener:g} by "
            f"{'weight' if mix.by_weight else 'volume'}: that is {PERCENT * abs(over):.1f} % too "
            f"{'much' if over > 0 else 'little'} hardener for {resin.name} "
            f"({resin.ratio_resin:g}:{resin.ratio_hardener:g} by "
            f"{'weight' if resin.by_weight else 'volume'}, within "
            f"{PERCENT * resin.tolerance:g} %).",
            remedy=f"By weight take {PERCENT / (1 + right):.1f} % resin and "
            f"{PERCENT * right / (1 + right):.1f} % hardener; leave `ratio` out to have the "
            "resin's own.",
            subject=mix.name,
            source=mix.source,
            measure=Measure("hardener", PERCENT * over, PERCENT * resin.tolerance, "%"),
        )


RULES = (batch_below_tools, ratio_off)
