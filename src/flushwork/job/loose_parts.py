"""From the keys of loose parts to their records."""

from __future__ import annotations

from collections.abc import Sequence

from flushwork.job.loose_keys import LoosePartKeys
from flushwork.job.reading import Reading
from flushwork.job.records import LoosePart, Mix
from flushwork.shelf.items import Shop

GROUP = "loose parts"


def loose_parts(
    keys: Sequence[LoosePartKeys], mixes: Sequence[Mix], reading: Reading, shop: Shop
) -> tuple[LoosePart, ...]:
    """Return the loose parts; unknown names, names that stand twice and clear mixes are noted."""
    made: list[LoosePart] = []
    for index, each in enumerate(keys):
        path = (GROUP, index)
        if any(part.name == each.name for part in made):
            reading.slip(
                "name-twice",
                f"'{each.name}' is the name of two kinds of loose parts",
                "give each kind a name of its own",
                (*path, "name"),
            )
        match = _coloured(each, mixes, reading, index)
        timber = reading.find(shop.timbers, each.timber, "timber", (*path, "timber"))
        if match is not None:
            made.append(LoosePart(each.name, timber, match, each.count, reading.source(path)))
    return tuple(made)


def _coloured(
    keys: LoosePartKeys, mixes: Sequence[Mix], reading: Reading, index: int
) -> Mix | None:
    path = (GROUP, index, "match")
    known = [mix for mix in mixes if not (mix.clear and mix.swatch is None)]
    if not known:
        reading.slip(
            "name-unknown",
            f"the job has no coloured mix, so there is none called '{keys.match}' to match",
            "add it under `mixes`, with its pigments",
            path,
        )
        return None
    return reading.find(known, keys.match, "coloured mix", path)
