"""What a scenario expects: a code, its weight, its subject and the figure worked out by hand."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import pytest

from flushwork.core.findings import Finding
from tests.checks.hearing import heard, one


@dataclass(frozen=True)
class Told:
    """One expected finding; ``value`` is its measure, ``words`` stand in message or remedy."""

    code: str
    severity: str
    subject: str
    value: float | None = None
    within: float = 0.01
    words: tuple[str, ...] = ()


@dataclass(frozen=True)
class Scene:
    """A job text, its shop, what is told of it, and what must not be."""

    name: str
    text: str
    told: tuple[Told, ...] = ()
    silent: tuple[str, ...] = ()
    shop: str = ""
    drawings: dict[str, str] = field(default_factory=dict)


def hear(folder: Path, scene: Scene) -> tuple[Finding, ...]:
    return heard(folder, scene.text, scene.shop, **scene.drawings)


def hold(folder: Path, scene: Scene) -> None:
    """Hear a scene and hold what is told against what is expected."""
    findings = hear(folder, scene)
    for told in scene.told:
        found = one(findings, told.code, told.subject)
        assert found.severity.value == told.severity, found
        assert found.remedy
        if told.value is not None:
            assert found.measure is not None
            assert found.measure.value == pytest.approx(told.value, abs=told.within), found
        for word in told.words:
            assert word in f"{found.message} {found.remedy}", f"{found.message} {found.remedy}"
    loud = [item for item in findings if item.code in scene.silent]
    assert not loud, loud
