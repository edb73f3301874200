"""Every rule that a module of rules holds is heard, and heard once."""

from __future__ import annotations

import importlib
import pkgutil

from flushwork.checks import rules
from flushwork.checks.all_rules import RULES


def test_every_rule_is_heard_once() -> None:
    assert len(set(RULES)) == len(RULES)
    held = set()
    for module in pkgutil.walk_packages(rules.__path__, f"{rules.__name__}."):
        held |= set(getattr(importlib.import_module(module.name), "RULES", ()))
    assert held == set(RULES)
