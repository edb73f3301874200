"""The small form beside the text: what of a job is most often changed, as it is written there.

The keys of a job that can be varied, with the values worth trying first.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from flushwork.core.findings import JobRefusedError
from flushwork.core.keys.declare import choices, declared, default_of
from flushwork.core.keys.tree import Scalar
from flushwork.job.records import Inlay, Job, Layout, Manner, Placement
from flushwork.job.text.located import read_tree

Place = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class FieldView:
    """One value: its label, where it stands, how it is written; ``choices`` where there are few.

    ``value`` is empty where it is not written yet; ``otherwise`` tells what holds then, and is
    empty where it has to be written.
    """

    label: str
    path: Place
    value: str
    choices: tuple[str, ...] = ()
    otherwise: str = ""


OTHERWISE: Final = {
    "pieces": default_of(Job, "pieces"),
    "test pieces": default_of(Job, "test pieces"),
    "colour": "the pigments' own",
    "share": "the middle of what is advised",
    "how": default_of(Inlay, "how"),
    "at": "0 mm",
    "from": default_of(Placement, "from"),
    "turn": default_of(Placement, "turn"),
    "mirror": "not mirrored",
    "scale": default_of(Placement, "scale"),
    "cap": "a clear one",
    "cap height": "as proud as an overfilled fill",
    "engrave": "no",
    "bits": "chosen for you",
    "after": "as the rounds fall",
}
"""What holds where a key is left out."""


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """The values of one thing; ``thing`` is its key where it can be taken in hand."""

    name: str
    fields: tuple[FieldView, ...]
    thing: str = ""


FROM: Final = (
    "centre", "lower left", "lower right", "upper left", "upper right", "left", "right", "top",
    "bottom",
)  # fmt: skip
MANNERS: Final = tuple(each.value for each in Manner)
PLACED: Final = frozenset(
    {
        "svg", "dxf", "picture", "text", "lines", "curve", "circle", "polygon", "rectangle", "ring",
        "layout",
    }
)  # fmt: skip
"""Artwork that is put somewhere; a seam line lies where its inlays meet."""


def form_of(text: str, bits: Sequence[str] = ()) -> tuple[FieldGroup, ...]:
    """Return what can be changed in small forms; nothing where the text cannot be read.

    ``bits`` are those of the shop, to choose from.
    """
    try:
        root = read_tree(text, "job").root
    except JobRefusedError:
        return ()
    mixes = root["mixes"] if isinstance(root.get("mixes"), dict) else {}
    groups = [_group("the run", root, (), {"pieces": (), "test pieces": ()})]
    blank = root.get("blank")
    measures = ("wood", "length", "width", "thickness")
    groups.append(_group("blank", blank, ("blank",), dict.fromkeys(measures, ())))
    groups.append(_trim_line(root.get("trim line"), blank))
    groups += [_mix(name, mix) for name, mix in mixes.items()]
    groups += _layouts(root.get("layouts"))
    for face in ("front", "back"):
        inlays = root[face].get("inlays") if isinstance(root.get(face), dict) else None
        items = inlays if isinstance(inlays, list) else ()
        names = [_name(item, f"inlay {at + 1}") for at, item in enumerate(items)]
        for index, inlay in enumerate(items):
            others = tuple(name for name in names if name != names[index])
            path: Place = (face, "inlays", index)
            plain = _group(
                f"{names[index]}, {face}",
                inlay,
                path,
                {"depth": (), "fill": tuple(mixes), "width": (), "size": ()},
            )
            more = _filled(inlay, path, tuple(mixes)) + _where_and_when(inlay, path, bits, others)
            key = f"inlay/{face}/{_name(inlay, f'{face} inlay {index + 1}')}"
            groups.append(FieldGroup(plain.name, (*plain.fields, *more), key))
        groups += _holes(face, root.get(face))
    return tuple(_told(group) for group in groups if group.fields)


def _trim_line(trim: Any, blank: Any) -> FieldGroup:
    """Return what the piece is trimmed to; without a trim line, what it may be."""
    name, path = "trim line", ("trim line",)
    if trim is not None:
        return _group(name, trim, path, dict.fromkeys(("circle", "rectangle", "round"), ()))
    if not isinstance(blank, dict):
        return FieldGroup(name, ())
    otherwise = "the blank as it is"
    shapes = ("circle", "rectangle")
    return FieldGroup(
        name, tuple(FieldView(key, (*path, key), "", (), otherwise) for key in shapes)
    )


def _holes(face: str, tree: Any) -> list[FieldGroup]:
    """Return the patterns of holes of a face."""
    patterns = tree.get("holes") if isinstance(tree, dict) else None
    groups = []
    for index, pattern in enumerate(patterns if isinstance(patterns, list) else ()):
        name = _name(pattern, f"{face} holes {index + 1}")
        keys: dict[str, tuple[str, ...]] = {"diameter": (), "depth": (), "peg": ()}
        group = _group(f"{name}, {face}", pattern, (face, "holes", index), keys)
        groups.append(replace(group, thing=f"holes/{face}/{name}"))
    return groups


def _told(group: FieldGroup) -> FieldGroup:
    """Return a group whose fields tell what holds where they are left out."""
    told = tuple(
        replace(each, otherwise=each.otherwise or _otherwise(each.path)) for each in group.fields
    )
    return replace(group, fields=told)


def _otherwise(path: Place) -> str:
    key = next((part for part in reversed(path) if isinstance(part, str)), "")
    return OTHERWISE.get(key, "")


def _name(item: Any, otherwise: str) -> str:
    name = item.get("name") if isinstance(item, dict) else None
    return name.text if isinstance(name, Scalar) else otherwise


def _mix(name: str, mix: Any) -> FieldGroup:
    """Return the colour of a mix and what it is coloured by."""
    path: Place = ("mixes", name)
    if not isinstance(mix, dict):
        return FieldGroup(name, ())
    fields = [_one("colour", mix, path)]
    pigments = mix.get("pigments")
    for index, pigment in enumerate(pigments if isinstance(pigments, list) else ()):
        if isinstance(pigment, dict):
            label = _name(pigment, f"pigment {index + 1}")
            fields.append(_one("share", pigment, (*path, "pigments", index), label=label))
    told = tuple(each for each in fields if each is not None)
    return FieldGroup(f"mix {name}", told, f"mix/{name}")


def _layouts(layouts: Any) -> Iterator[FieldGroup]:
    """Yield the measures of every layout, as far as they are written as plain values."""
    known = {each.under.name: each for each in choices(Layout) if each.under is not None}
    for name, layout in layouts.items() if isinstance(layouts, dict) else ():
        for kind in [each for each in layout if each in known] if isinstance(layout, dict) else ():
            wanted = {
                each.name: tuple(getattr(each.kind, "choices", ()))
                for each in declared(known[kind])
            }
            yield _group(f"layout {name}", layout[kind], ("layouts", name, kind), wanted)


def _filled(inlay: Any, path: Place, mixes: tuple[str, ...]) -> tuple[FieldView, ...]:
    """Return how an inlay is filled and capped, and whether it is engraved."""
    if not isinstance(inlay, dict):
        return ()
    fields = [_one("how", inlay, path, MANNERS)]
    how = inlay.get("how")
    if isinstance(how, Scalar) and how.text == Manner.CAPPED.value:
        fields += [_one("cap", inlay, path, mixes), _one("cap height", inlay, path)]
    fields.append(_one("engrave", inlay, path, ("yes",)))
    return tuple(each for each in fields if each is not None)


def _where_and_when(
    inlay: Any, path: Place, bits: Sequence[str], others: tuple[str, ...]
) -> tuple[FieldView, ...]:
    """Return where an inlay's artwork lies, what cuts it, and what it has to wait for."""
    if not isinstance(inlay, dict):
        return ()
    fields: list[FieldView | None] = []
    if PLACED & inlay.keys():
        at = inlay.get("at")
        for index, label in enumerate(("to the right", "up")):
            if at is None:
                fields.append(FieldView(label, (*path, "at", index), ""))
            elif isinstance(at, list) and len(at) == 2 and isinstance(at[index], Scalar):
                fields.append(FieldView(label, (*path, "at", index), at[index].text))
        fields += [
            _one("from", inlay, path, FROM),
            _one("turn", inlay, path),
            _one("mirror", inlay, path, ("left-right", "top-bottom")),
            _one("scale", inlay, path),
        ]
    fields += [
        _one("bits", inlay, path, tuple(bits), label="bit"),
        _one("after", inlay, path, others),
    ]
    return tuple(each for each in fields if each is not None)


def _one(
    key: str, tree: dict[str, Any], path: Place, choices: tuple[str, ...] = (), label: str = ""
) -> FieldView | None:
    """Return the field of a key, empty where it is not written yet; of a list of one, that one."""
    value = tree.get(key)
    if value is None:
        return FieldView(label or key, (*path, key), "", choices)
    if isinstance(value, list) and len(value) == 1 and isinstance(value[0], Scalar):
        return FieldView(label or key, (*path, key, 0), value[0].text, choices)
    if isinstance(value, Scalar):
        return FieldView(label or key, (*path, key), value.text, choices)
    return None


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


STEPS: Final = (0.6, 0.8, 1.0, 1.2, 1.4)
UNVARIED: Final = frozenset(
    {"name", "title", "svg", "dxf", "picture", "text", "font", "because", "flushwork"}
)
_NUMBER: Final = re.compile(r"^(-?\d+(?:\.\d+)?)(\s*)([^\d].*)?$")


@dataclass(frozen=True, slots=True)
class KeyView:
    """A key as a dotted path, how it is written now, and values around it."""

    key: str
    value: str
    proposed: tuple[str, ...]


def keys_of(text: str) -> tuple[KeyView, ...]:
    """Return every key with a number in a job's text; nothing where it cannot be read."""
    try:
        root = read_tree(text, "job").root
    except JobRefusedError:
        return ()
    return tuple(_walk(root, ""))


def _walk(tree: Any, path: str) -> Iterator[KeyView]:
    if isinstance(tree, dict):
        for key, value in tree.items():
            if key not in UNVARIED:
                yield from _walk(value, f"{path}.{key}" if path else str(key))
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            name = value.get("name") if isinstance(value, dict) else None
            step = name.text if isinstance(name, Scalar) and "." not in name.text else index + 1
            yield from _walk(value, f"{path}.{step}")
    elif isinstance(tree, Scalar):
        proposed = around(tree.text)
        if proposed:
            yield KeyView(path, tree.text, proposed)


def around(value: str) -> tuple[str, ...]:
    """Return values around a written number, with as many decimals; nothing for words."""
    found = _NUMBER.match(value.strip())
    if found is None:
        return ()
    number, gap, unit = found.group(1), found.group(2), found.group(3) or ""
    if "x" in unit or ":" in unit:
        return ()
    if "." not in number and not unit:
        whole = int(number)
        return tuple(str(whole + step) for step in (-1, 0, 1, 2, 3) if whole + step > 0)
    places = max(1, len(number.partition(".")[2]))
    return tuple(
        dict.fromkeys(
            f"{float(number) * step:.{places}f}".rstrip("0").rstrip(".") + gap + unit
            for step in STEPS
        )
    )
