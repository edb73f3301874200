"""The small form beside the text: what of a job is most often changed, as it is written there."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from flushwork.errors import JobRefusedError
from flushwork.job.located import Scalar, read_tree

Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class FieldView:
    """One value: its label, where it stands, how it is written; ``choices`` where there are few."""

    label: str
    path: Place
    value: str
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """The values of one thing."""

    name: str
    fields: tuple[FieldView, ...]


def form_of(text: str) -> tuple[FieldGroup, ...]:
    """Return what can be changed in small forms; nothing where the text cannot be read."""
    try:
        root = read_tree(text, "job").root
    except JobRefusedError:
        return ()
    mixes = tuple(root["mixes"]) if isinstance(root.get("mixes"), dict) else ()
    groups = [_group("the run", root, (), {"pieces": (), "test pieces": ()})]
    blank = root.get("blank")
    groups.append(_group("blank", blank, ("blank",), {"timber": (), "thickness": ()}))
    for face in ("front", "back"):
        inlays = root[face].get("inlays") if isinstance(root.get(face), dict) else None
        for index, inlay in enumerate(inlays if isinstance(inlays, list) else ()):
            name = inlay.get("name") if isinstance(inlay, dict) else None
            shown = name.text if isinstance(name, Scalar) else f"inlay {index + 1}"
            wanted: dict[str, tuple[str, ...]] = {
                "depth": (),
                "fill": mixes,
                "how": ("flooded", "scraped", "scraped and capped"),
                "width": (),
                "size": (),
                "turn": (),
            }
            groups.append(_group(f"{shown}, {face}", inlay, (face, "inlays", index), wanted))
    return tuple(group for group in groups if group.fields)


def _group(name: str, tree: Any, path: Place, wanted: dict[str, tuple[str, ...]]) -> FieldGroup:
    if not isinstance(tree, dict):
        return FieldGroup(name, ())
    return FieldGroup(
        name,
        tuple(
            FieldView(key, (*path, key), tree[key].text, choices)
            for key, choices in wanted.items()
            if isinstance(tree.get(key), Scalar)
        ),
    )
