"""What every SVG passes first: is it there, is it XML, is it SVG, does it hold anything hostile."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring

from flushwork.art.faults import folder_of, refusal
from flushwork.core.findings import Source

SVG_SPACE = "{http://www.w3.org/2000/svg}"


def svg_data(path: Path, source: Source) -> bytes:
    """Return what an SVG file holds; raise JobRefusedError where it cannot be opened."""
    try:
        return path.read_bytes()
    except OSError as fault:
        reason = "is a folder" if path.is_dir() else "cannot be opened"
        if isinstance(fault, FileNotFoundError):
            reason = "is not there"
        raise refusal(
            source,
            "svg-not-found",
            f"the drawing {path.name} {reason} in {folder_of(path)}",
            "put the file beside the job, or correct its name, counted from the job's folder",
        ) from None


def parsed(data: bytes, name: str, source: Source) -> Element:
    """Return the root of an SVG's text; raise JobRefusedError where it is none."""
    try:
        root = _tree(data)
    except DefusedXmlException:
        raise refusal(
            source,
            "svg-entities",
            f"the drawing {name} declares entities, which can swell without end or read other "
            "files; it is not opened",
            "save it again from your drawing program as plain SVG",
        ) from None
    except (ParseError, ValueError, LookupError) as fault:
        zipped = data[:2] == b"\x1f\x8b"
        what = "is compressed" if zipped else f"is not readable as XML ({fault})"
        raise refusal(
            source,
            "svg-not-xml",
            f"the drawing {name} {what if data.strip() else 'is empty'}",
            "save it again from your drawing program as plain, uncompressed SVG",
        ) from None
    if tag_of(root) != "svg":
        raise refusal(
            source,
            "svg-not-xml",
            f"{name} is XML but no drawing: it begins with <{root.tag.rpartition('}')[2][:40]}>",
            "give a file saved as SVG",
        )
    return root


@lru_cache(maxsize=8)
def _tree(data: bytes) -> Element:
    """Parse once where several inlays pick layers of one drawing; nobody changes the tree."""
    return fromstring(data)


def tag_of(element: Element) -> str:
    """Return the SVG name of an element, empty for anything of another vocabulary."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    if tag.startswith("{"):
        return tag[len(SVG_SPACE) :] if tag.startswith(SVG_SPACE) else ""
    return tag
