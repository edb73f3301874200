"""How deep a scraped line sinks below the edge, and how much of it stays bright when sanded."""

from __future__ import annotations

from flushwork.job.records import Mix


def keeps(thinner_share: float, evaporates: float, shrinkage: float) -> float:
    """Return the share of a liquid's volume left once cured.

    ``thinner_share`` f of the liquid by volume, of which a share ``evaporates`` e leaves; the rest
    of the liquid shrinks by ``shrinkage`` s of its volume: (1 - f)(1 - s) + f (1 - e).
    """
    return (1.0 - thinner_share) * (1.0 - shrinkage) + thinner_share * (1.0 - evaporates)


def keeps_share(mix: Mix) -> float:
    """Return the share of a mix's poured thickness left once cured (see ``keeps``)."""
    if mix.thinner is None:
        return keeps(0.0, 0.0, mix.resin.shrinkage)
    return keeps(mix.thinner_share, mix.thinner.evaporates, mix.resin.shrinkage)
