"""A context of views whose build is changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flushwork.views.context import ViewContext


def rebuilt(context: ViewContext, **changed: Any) -> ViewContext:
    """Return a context whose build has other records."""
    return replace(context, build=replace(context.build, **changed))
