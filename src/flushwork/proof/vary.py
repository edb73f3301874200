"""What if: keys of the job changed one at a time, and what the proof then tells."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.comments import CommentedMap, CommentedSeq

from flushwork.findings import Finding, Severity

Hear = Callable[[str], tuple[Finding, ...]]
"""A job text to its findings, those that refuse it included."""


class VaryError(ValueError):
    """A key that cannot be found in the job; the message is in plain words."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """What the proof tells once a key holds a value: its stops, cautions and notes."""

    value: str
    findings: tuple[Finding, ...]

    def of(self, severity: Severity) -> tuple[Finding, ...]:
        """Return the findings of one weight that nobody has accepted."""
        return tuple(
            item for item in self.findings if item.severity is severity and item.accepted is None
        )


def changed(text: str, key: str, value: str) -> str:
    """Return a job's text with one key set, its comments kept.

    ``key`` is a dotted path; an item of a list goes by its `name`, or by its number from 1:
    ``front.inlays.body.depth``.  Raises VaryError where the path leads nowhere.
    """
    yaml = YAML()
    yaml.preserve_quotes = True
    yaml.width = 10_000
    root = yaml.load(text)
    steps = [step.strip() for step in key.split(".") if step.strip()]
    if not steps or not isinstance(root, CommentedMap):
        message = "Write a key such as front.inlays.body.depth."
        raise VaryError(message)
    place = root
    for step in steps[:-1]:
        place = _into(place, step, key)
    last = steps[-1]
    if isinstance(place, CommentedSeq):
        place[_number(place, last, key)] = YAML(typ="safe").load(value)
    elif isinstance(place, CommentedMap):
        place[last] = YAML(typ="safe").load(value)
    else:
        message = f"{key} leads into a plain value, not to a key."
        raise VaryError(message)
    out = io.StringIO()
    yaml.dump(root, out)
    return out.getvalue()


def _into(place: Any, step: str, key: str) -> Any:
    if isinstance(place, CommentedSeq):
        return place[_number(place, step, key)]
    if isinstance(place, CommentedMap):
        if step not in place:
            place[step] = CommentedMap()
        return place[step]
    message = f"{key}: there is nothing inside {step}."
    raise VaryError(message)


def _number(place: CommentedSeq, step: str, key: str) -> int:
    for number, item in enumerate(place):
        if isinstance(item, CommentedMap) and str(item.get("name", "")) == step:
            return number
    if step.isdigit() and 1 <= int(step) <= len(place):
        return int(step) - 1
    names = [
        str(item["name"]) for item in place if isinstance(item, CommentedMap) and "name" in item
    ]
    message = f"{key}: there is no item called {step}; there are {', '.join(names) or len(place)}."
    raise VaryError(message)


def sweep(text: str, key: str, values: Sequence[str], hear: Hear) -> tuple[Outcome, ...]:
    """Return what the proof tells for each value of a key."""
    return tuple(Outcome(value, hear(changed(text, key, value))) for value in values)


def loud(findings: Sequence[Finding]) -> set[tuple[str, str]]:
    """Return the stops and cautions that stand, by code and subject."""
    return {
        (item.code, subject)
        for item in findings
        for subject in (item.subject, *item.also)
        if item.severity is not Severity.NOTE and item.accepted is None
    }
