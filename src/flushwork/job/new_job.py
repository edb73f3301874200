"""The two small files that ``flushwork new`` writes."""

from __future__ import annotations

from typing import Final

from flushwork.core.keys.words import quoted

_JOB: Final = """\
# yaml-language-server: $schema=job.schema.json
# (for help while you type: flushwork schema job > job.schema.json)
# A small board: one disc of resin.  Change it, then run: flushwork check job.yaml
flushwork: 2
title: {title}
shop: shop.yaml               # what your shop has; leave it out to try the starter shop
pieces: 1
blank:                        # the piece of wood as sawn; along its length is left to right
  wood: black cherry
  length: 130 mm
  width: 130 mm
  thickness: 12 mm
trim line: {{circle: 100 mm}}   # the final outline, in the middle of the blank
mixes:
  teal: {{resin: coating epoxy, pigments: [{{name: teal flake, share: 3 %}}]}}
front:
  inlays:
    - {{name: disc, circle: 40 mm, depth: 2.5 mm, fill: teal}}
"""

_SHOP: Final = """\
# yaml-language-server: $schema=shop.schema.json
# (for help while you type: flushwork schema shop > shop.schema.json)
# What your shop has.  Whatever you leave out comes from the packaged starter shop.
flushwork shop: 2
name: My shop
machine:
  travel: [600 mm, 420 mm, 90 mm]   # right, away, up
  feed: 3000 mm/min                 # the fastest it may go while cutting
  gcode files: {units: metric, arcs: yes, drilling cycles: yes, tool change: stop}
holding: [dowels, corner stop]      # the usual one first
bits:                            # a plain name takes it from the packaged shelf
  - 1 mm flat
  - 1.588 mm flat
  - 3.175 mm flat
  - 6.35 mm flat
  - 60 deg V-bit
  - 25 mm facing bit
  - {name: my 1/32, like: 0.794 mm flat, diameter: 0.8 mm}   # measured, not as sold
air: {day temperature: 20 degC, night temperature: 16 degC, humidity: 45 %}
hours: {opens: "8:00", closes: "18:00"}
days: [Monday, Tuesday, Wednesday, Thursday, Friday]
"""


def starter_job_text(title: str) -> str:
    """Return a small complete job file with this title.

    It names ``shop.yaml`` beside it (``starter_shop_text``).
    """
    return _JOB.format(title=quoted(" ".join(title.split()) or "My first board"))


def starter_shop_text() -> str:
    """Return a small complete shop file."""
    return _SHOP
