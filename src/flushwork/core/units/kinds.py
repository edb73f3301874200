"""The quantities a job speaks of, their units, and what each unit is worth.

Factors are exact: B. N. Taylor and A. Thompson, *Guide for the Use of the International System of
Units*, NIST Special Publication 811 (2008), appendix B: inch 25.4 mm, avoirdupois pound
453.59237 g, pound-force its weight at 9.80665 m/s2, horsepower 550 ft lbf/s, US gallon 231 cubic
inches (a fluid ounce is 1/128, a tablespoon 1/256, a teaspoon
1/768 of it), degree Fahrenheit 5/9 K from 32.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

# ---- Exact factors between units (*Guide for the Use of the SI*, NIST SP 811, 2008, appendix B)


INCH_MM: Final = 25.4
OUNCE_G: Final = 28.349523125
FLUID_OUNCE_CM3: Final = 29.5735295625
MINUTE_S: Final = 60.0
HOUR_S: Final = 3600.0
HOUR_MIN: Final = 60
DAY_MIN: Final = 1440
DAY_S: Final = 86400.0
CM3_PER_L: Final = 1000.0
MM2_PER_DM2: Final = 10_000.0


# ---- The quantities a job speaks of, their units, and what each unit is worth


class Quantity(StrEnum):
    """What a number measures; the value names it in a message."""

    LENGTH = "length"
    MASS = "weight"
    VOLUME = "volume"
    TEMPERATURE = "temperature"
    TIME = "time"
    SHARE = "share"
    ANGLE = "angle"
    FEED = "feed"
    SPEED = "spindle speed"
    ACCELERATION = "acceleration"
    DENSITY = "density"
    VISCOSITY = "viscosity"
    FORCE = "force"
    POWER = "power"
    COVERAGE = "coverage"


class UnitError(ValueError):
    """A quantity that cannot be read: ``code`` in words, what is wrong, what would be right."""

    def __init__(self, code: str, message: str, remedy: str) -> None:
        self.code = code
        self.message = message
        self.remedy = remedy
        super().__init__(f"{message}; {remedy}")


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: ``value * factor + offset`` is the quantity in the program's own unit."""

    name: str
    quantity: Quantity
    factor: Fraction
    offset: Fraction = Fraction(0)


BASE: Final = {
    Quantity.LENGTH: "mm",
    Quantity.MASS: "g",
    Quantity.VOLUME: "cm3",
    Quantity.TEMPERATURE: "degC",
    Quantity.TIME: "s",
    Quantity.SHARE: "%",
    Quantity.ANGLE: "deg",
    Quantity.FEED: "mm/min",
    Quantity.SPEED: "rpm",
    Quantity.ACCELERATION: "mm/s2",
    Quantity.DENSITY: "g/cm3",
    Quantity.VISCOSITY: "Pa s",
    Quantity.FORCE: "N",
    Quantity.POWER: "W",
    Quantity.COVERAGE: "m2/l",
}
"""The unit each quantity is shown in by default."""

EXAMPLES: Final = {
    Quantity.LENGTH: "10 mm or 3/8 in",
    Quantity.MASS: "10 g or 0.5 oz",
    Quantity.VOLUME: "12 cm3 or 1 tsp",
    Quantity.TEMPERATURE: "20 degC or 68 degF",
    Quantity.TIME: "25 min or 1 day",
    Quantity.SHARE: "8 %",
    Quantity.ANGLE: "30 deg",
    Quantity.FEED: "900 mm/min or 35 in/min",
    Quantity.SPEED: "18000 rpm",
    Quantity.ACCELERATION: "400 mm/s2",
    Quantity.DENSITY: "1.12 g/cm3",
    Quantity.VISCOSITY: "0.7 Pa s",
    Quantity.FORCE: "4200 N or 950 lbf",
    Quantity.POWER: "700 W",
    Quantity.COVERAGE: "10 m2/l or 400 sq ft/gal",
}

_Table = dict[str, tuple[Fraction, tuple[str, ...]]]

_INCH = Fraction(254, 10)
_POUND = Fraction(45359237, 100000)
_FLUID_OUNCE = 231 * (_INCH / 10) ** 3 / 128

_LENGTHS: Final[_Table] = {
    "mm": (Fraction(1), ("millimetre", "millimetres", "millimeter", "millimeters")),
    "cm": (Fraction(10), ("centimetre", "centimetres", "centimeter", "centimeters")),
    "m": (Fraction(1000), ("metre", "metres", "meter", "meters")),
    "in": (_INCH, ("inch", "inches", '"', "\u2033", "\u201d")),
    "ft": (12 * _INCH, ("foot", "feet", "'", "\u2032", "\u2019")),
}
_MASSES: Final[_Table] = {
    "g": (Fraction(1), ("gram", "grams", "gramme", "grammes")),
    "kg": (Fraction(1000), ("kilogram", "kilograms")),
    "mg": (Fraction(1, 1000), ("milligram", "milligrams")),
    "oz": (_POUND / 16, ("ounce", "ounces")),
    "lb": (_POUND, ("lbs", "pound", "pounds")),
}
_VOLUMES: Final[_Table] = {
    "cm3": (Fraction(1), ("cc", "cm\u00b3", "cm^3")),
    "ml": (Fraction(1), ("mL", "millilitre", "millilitres", "milliliter", "milliliters")),
    "l": (Fraction(1000), ("L", "litre", "litres", "liter", "liters")),
    "fl oz": (_FLUID_OUNCE, ("floz", "fluid ounce", "fluid ounces")),
    "tsp": (_FLUID_OUNCE / 6, ("teaspoon", "teaspoons")),
    "tbsp": (_FLUID_OUNCE / 2, ("tablespoon", "tablespoons")),
}
_TIMES: Final[_Table] = {
    "s": (Fraction(1), ("sec", "second", "seconds")),
    "min": (Fraction(60), ("minute", "minutes", "mins")),
    "h": (Fraction(3600), ("hour", "hours", "hr", "hrs")),
    "days": (Fraction(86400), ("day", "d")),
    "weeks": (Fraction(604800), ("week",)),
}
_SHARES: Final[_Table] = {"%": (Fraction(1, 100), ("percent", "per cent"))}
_ANGLES: Final[_Table] = {"deg": (Fraction(1), ("degree", "degrees", "\u00b0"))}
_FEEDS: Final[_Table] = {
    "mm/min": (Fraction(1), ("mm / min",)),
    "mm/s": (Fraction(60), ("mm / s",)),
    "m/min": (Fraction(1000), ("m / min",)),
    "in/min": (_INCH, ("in / min", "ipm")),
}
_SPEEDS: Final[_Table] = {"rpm": (Fraction(1), ("/min", "r/min", "turns/min"))}
_ACCELERATIONS: Final[_Table] = {
    "mm/s2": (Fraction(1), ("mm/s\u00b2", "mm/s^2")),
    "m/s2": (Fraction(1000), ("m/s\u00b2", "m/s^2")),
    "in/s2": (_INCH, ("in/s\u00b2", "in/s^2")),
}
_DENSITIES: Final[_Table] = {
    "g/cm3": (Fraction(1), ("g/ml", "g/cc", "g/cm\u00b3", "kg/l")),
    "kg/m3": (Fraction(1, 1000), ("kg/m\u00b3",)),
    "lb/ft3": (_POUND / (12 * _INCH / 10) ** 3, ("lb/ft\u00b3", "lb/ft^3", "lb/cu ft")),
    "lb/gal": (_POUND / (128 * _FLUID_OUNCE), ("lb/gallon",)),
}
_VISCOSITIES: Final[_Table] = {
    "Pa s": (Fraction(1), ("Pa.s", "Pas", "Pa\u00b7s")),
    "mPa s": (Fraction(1, 1000), ("mPa.s", "mPas", "mPa\u00b7s")),
}
_POUND_FORCE: Final = _POUND * Fraction(980665, 10**8)
_FORCES: Final[_Table] = {
    "N": (Fraction(1), ("newton", "newtons")),
    "kN": (Fraction(1000), ()),
    "lbf": (_POUND_FORCE, ("pounds force",)),
}

_POWERS: Final[_Table] = {
    "W": (Fraction(1), ("watt", "watts")),
    "kW": (Fraction(1000), ("kilowatt", "kilowatts")),
    "hp": (550 * 12 * _INCH / 1000 * _POUND_FORCE, ("horsepower",)),
}
_COVERAGES: Final[_Table] = {
    "m2/l": (Fraction(1), ("m\u00b2/l", "m^2/l", "m2/L", "m\u00b2/L", "m2 / l")),
    "sq ft/gal": (
        (12 * _INCH / 1000) ** 2 / (128 * _FLUID_OUNCE / 1000),
        ("sq ft/gallon", "ft2/gal", "sq ft / gal"),
    ),
}

_TABLES: Final[dict[Quantity, _Table]] = {
    Quantity.LENGTH: _LENGTHS,
    Quantity.MASS: _MASSES,
    Quantity.VOLUME: _VOLUMES,
    Quantity.TIME: _TIMES,
    Quantity.SHARE: _SHARES,
    Quantity.ANGLE: _ANGLES,
    Quantity.FEED: _FEEDS,
    Quantity.SPEED: _SPEEDS,
    Quantity.ACCELERATION: _ACCELERATIONS,
    Quantity.DENSITY: _DENSITIES,
    Quantity.VISCOSITY: _VISCOSITIES,
    Quantity.FORCE: _FORCES,
    Quantity.POWER: _POWERS,
    Quantity.COVERAGE: _COVERAGES,
}

_CELSIUS = Unit("degC", Quantity.TEMPERATURE, Fraction(1))
_FAHRENHEIT = Unit("degF", Quantity.TEMPERATURE, Fraction(5, 9), Fraction(-160, 9))


def _spellings() -> dict[str, Unit]:
    """Every spelling of every unit, to its unit."""
    found: dict[str, Unit] = {}
    for quantity, table in _TABLES.items():
        for name, (factor, others) in table.items():
            unit = Unit(name, quantity, factor)
            for spelling in (name, *others):
                found[spelling] = unit
    for spelling in ("degC", "\u00b0C", "C", "deg C"):
        found[spelling] = _CELSIUS
    for spelling in ("degF", "\u00b0F", "F", "deg F"):
        found[spelling] = _FAHRENHEIT
    return found


UNITS: Final = _spellings()


def names_of(quantity: Quantity) -> tuple[str, ...]:
    """Return the units of a quantity under their usual names, in order of the table."""
    if quantity is Quantity.TEMPERATURE:
        return ("degC", "degF")
    return tuple(_TABLES[quantity])
