"""How far wood moves across the grain as its moisture changes.

Forest Products Laboratory, Wood Handbook, GTR-190 (2010), p. 13-16, eq. 13-2 and table 13-5.

The moisture wood settles at in the air around it.

Forest Products Laboratory, Wood Handbook, GTR-282 (2021), ch. 4 (Glass and Zelinka), eq. 4-5; the
fit is W. T. Simpson, Wood and Fiber 5(1), 1973, 41-49.
"""

from __future__ import annotations

from flushwork.shelf.items import Wood


def per_pct(wood: Wood, *, flat_sawn: bool) -> float:
    """Return a wood's coefficient across its width: tangential where flat-sawn, else radial."""
    return wood.tangential_per_pct if flat_sawn else wood.radial_per_pct


def stretch_across(wood: Wood, moisture_change: float, *, flat_sawn: bool) -> float:
    """Return the factor by which a width grows for a change of moisture (share)."""
    return 1.0 + 100.0 * moisture_change * per_pct(wood, flat_sawn=flat_sawn)


def equilibrium_moisture(at_c: float, humidity: float) -> float:
    """Return the equilibrium moisture content as a share of the dry mass (eq. 4-5, Celsius form).

    ``humidity`` is relative, 0 to 1.  The table printed from it runs from -1 to 132 C and 5 to
    95 %; its values lie midway between taking up and giving off moisture.
    """
    w = 349.0 + 1.29 * at_c + 0.0135 * at_c**2
    k = 0.805 + 0.000736 * at_c - 0.00000273 * at_c**2
    k1 = 6.27 - 0.00938 * at_c - 0.000303 * at_c**2
    k2 = 1.91 + 0.0407 * at_c - 0.000293 * at_c**2
    wet = k * humidity
    held = k1 * wet + 2.0 * k1 * k2 * wet**2
    return 18.0 / w * (wet / (1.0 - wet) + held / (1.0 + k1 * wet + k1 * k2 * wet**2))
