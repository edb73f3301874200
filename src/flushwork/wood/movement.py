"""How far wood moves across the grain as its moisture changes.

Forest Products Laboratory, Wood Handbook, GTR-190 (2010), p. 13-16, eq. 13-2 and table 13-5.
"""

from __future__ import annotations

from flushwork.shelf.items import Timber

FITS_FROM = 0.06
"""Eq. 13-2 holds from this moisture content ..."""

FITS_UNTIL = 0.14
"""... to this one."""


def movement_mm(size_mm: float, per_pct: float, from_moisture: float, to_moisture: float) -> float:
    """Return the change of a size across the grain: D C (M2 - M1), eq. 13-2.

    ``per_pct`` is the coefficient per percent of moisture, the moistures are shares.  Holds
    between ``FITS_FROM`` and ``FITS_UNTIL``; along the grain movement is neglected.
    """
    return size_mm * per_pct * 100.0 * (to_moisture - from_moisture)


def coefficient_from_shrinkage(total: float) -> float:
    """Return the coefficient per percent that a total shrinkage (share, green to dry) implies.

    C = (S / 3000) / (1 - S / 150) with S in percent: shrinkage in proportion over 30 % of
    moisture, referred to the size at 10 %.  Reproduces 33 of 35 domestic species of table 13-5
    from table 4-3 within 0.00001.
    """
    percent = 100.0 * total
    return percent / 3000.0 / (1.0 - percent / 150.0)


def per_pct(timber: Timber, *, flat_sawn: bool) -> float:
    """Return a timber's coefficient across its width: tangential where flat-sawn, else radial."""
    return timber.tangential_per_pct if flat_sawn else timber.radial_per_pct


def stretch_across(timber: Timber, moisture_change: float, *, flat_sawn: bool) -> float:
    """Return the factor by which a width grows for a change of moisture (share)."""
    return 1.0 + 100.0 * moisture_change * per_pct(timber, flat_sawn=flat_sawn)
