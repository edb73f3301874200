"""How far wood moves across the grain as its moisture changes.

Forest Products Laboratory, Wood Handbook, GTR-190 (2010), p. 13-16, eq. 13-2 and table 13-5.
"""

from __future__ import annotations

from flushwork.shelf.items import Timber


def per_pct(timber: Timber, *, flat_sawn: bool) -> float:
    """Return a timber's coefficient across its width: tangential where flat-sawn, else radial."""
    return timber.tangential_per_pct if flat_sawn else timber.radial_per_pct


def stretch_across(timber: Timber, moisture_change: float, *, flat_sawn: bool) -> float:
    """Return the factor by which a width grows for a change of moisture (share)."""
    return 1.0 + 100.0 * moisture_change * per_pct(timber, flat_sawn=flat_sawn)
