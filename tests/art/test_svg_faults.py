"""Drawings that cannot be cut: one finding each, with the place and the remedy, never a crash."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flushwork.art.contours import Contour
from flushwork.art.draw import draw_faces
from flushwork.art.drawn import DrawnInlay
from flushwork.art.svg.numbers import UnreadableError
from flushwork.art.svg.shape_contours import read_path
from flushwork.core.findings import Finding, JobRefusedError
from flushwork.job.records import CircleArt, SvgArt
from tests.art.face_jobs import artwork, codes, inlay, job, refused, svg_job, svg_text

GOOD = '<rect width="5" height="5"/>'


def one(folder: Path, text: str, *layers: str) -> tuple[str, str]:
    findings = refused(svg_job(folder, text, *layers))
    assert len(findings) == 1, [each.message for each in findings]
    return findings[0].code, findings[0].message


def test_an_absent_file_is_named(tmp_path: Path) -> None:
    made = job(inlay(artwork(SvgArt("rose.svg", (), None))), folder=tmp_path)
    (finding,) = refused(made)
    assert finding.code == "svg-not-found"
    assert "rose.svg is not there" in finding.message
    (tmp_path / "rose.svg").mkdir()
    assert codes(made) == ["svg-not-found"]
    beside = job(inlay(artwork(SvgArt("no such rose.svg", (), None))), folder=Path())
    assert refused(beside)[0].message.endswith("is not there in the job's folder")


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   \n",
        "not xml at all",
        "<svg",
        "<svg><g></svg>",
        '<svg xmlns="http://www.w3.org/2000/svg"><rect width=5/></svg>',
        "<html><body/></html>",
        '<?xml version="1.0" encoding="klingon"?><svg/>',
        "\x1f\x8b\x08",
    ],
)
def test_what_is_no_drawing_is_refused(tmp_path: Path, text: str) -> None:
    assert one(tmp_path, text)[0] == "svg-not-xml"


def test_broken_bytes_are_refused(tmp_path: Path) -> None:
    made = svg_job(tmp_path, "")
    (tmp_path / "art.svg").write_bytes(b"<svg>\xff\xfe\x00</svg>")
    assert codes(made) == ["svg-not-xml"]


def test_an_entity_bomb_is_not_opened(tmp_path: Path) -> None:
    lines = "".join(f'<!ENTITY b{n} "{f"&b{n - 1};" * 10 if n else "ha"}">' for n in range(12))
    text = f"<!DOCTYPE svg [{lines}]>" + svg_text("<title>&b11;</title>" + GOOD)
    assert one(tmp_path, text)[0] == "svg-entities"
    outside = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + svg_text("&x;" + GOOD)
    assert one(tmp_path, outside)[0] == "svg-entities"


def test_copies_without_end(tmp_path: Path) -> None:
    code, message = one(tmp_path, svg_text('<g id="a"><use href="#a"/></g>' + GOOD))
    assert code == "svg-use-endless"
    assert "'#a'" in message
    ring = '<use id="a" href="#b"/><use id="b" href="#a"/>' + GOOD
    assert set(codes(svg_job(tmp_path, svg_text(ring)))) == {"svg-use-endless"}


def test_a_bomb_of_copies(tmp_path: Path) -> None:
    groups = "".join(
        f'<g id="g{n}">' + f'<use href="#g{n - 1}"/>' * 10 + "</g>" for n in range(1, 12)
    )
    text = svg_text(f'<defs><g id="g0">{GOOD}</g>{groups}</defs><use href="#g11"/>')
    assert one(tmp_path, text)[0] == "svg-too-many-shapes"


def test_groups_nested_without_reason(tmp_path: Path) -> None:
    assert one(tmp_path, svg_text("<g>" * 3000 + GOOD + "</g>" * 3000))[0] == "svg-too-many-shapes"


def test_a_copy_of_nothing(tmp_path: Path) -> None:
    code, message = one(tmp_path, svg_text(['<use href="#gone"/>', '="x"/>'][0]))
    assert (code, "#gone" in message) == ("svg-use-unknown", True)
    assert one(tmp_path, svg_text('<use href="other.svg#leaf"/>'))[0] == "svg-use-unknown"


@pytest.mark.parametrize(
    "head", ["", 'viewBox="0 0 10 10"', 'width="100" height="50"', 'width="100%" height="100%"']
)
def test_a_drawing_without_a_size_asks_for_one(tmp_path: Path, head: str) -> None:
    assert one(tmp_path, svg_text(GOOD, head))[0] == "svg-without-size"


@pytest.mark.parametrize(
    "head",
    [
        'width="0mm" height="5mm"',
        'width="-5mm"',
        'width="wide"',
        'width="5mm" viewBox="0 0 0 10"',
        'width="5mm" viewBox="0 0 10"',
        'width="5mm" viewBox="0 0 9 9" preserveAspectRatio="middle"',
    ],
)
def test_an_unreadable_size(tmp_path: Path, head: str) -> None:
    assert one(tmp_path, svg_text(GOOD, head))[0] == "svg-size-unreadable"


@pytest.mark.parametrize(
    "body", ["", "<g/>", '<rect width="0" height="5"/>', f"<defs>{GOOD}</defs>", '<path d=""/>',
             '<rect fill="none" width="9" height="9"/>', '<line x1="0" y1="0" x2="9" y2="9"/>']
)  # fmt: skip
def test_a_drawing_without_shapes(tmp_path: Path, body: str) -> None:
    assert one(tmp_path, svg_text(body))[0] == "svg-without-shapes"


def test_an_unknown_layer_lists_those_there_are(tmp_path: Path) -> None:
    text = svg_text('<g id="dark">' + GOOD + '</g><g label="light">' + GOOD + "</g>")
    code, message = one(tmp_path, text, "Dark")
    assert code == "svg-layer-unknown"
    assert "'Dark'" in message
    assert "dark" in message
    assert "light" in message
    assert codes(svg_job(tmp_path, text, "Dark", "wing")) == ["svg-layer-unknown"] * 2


def test_a_hidden_layer_is_named(tmp_path: Path) -> None:
    text = svg_text(f'<g id="dark" style="display:none">{GOOD}</g>{GOOD}')
    code, message = one(tmp_path, text, "dark")
    assert (code, "switched off" in message) == ("svg-without-shapes", True)


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("<text>HALCYON</text>", "svg-live-text"),
        ('<image href="x.png" width="5" height="5"/>', "svg-picture"),
        ("<foreignObject/>", "svg-picture"),
        ('<rect clip-path="circle(5px)" width="5" height="5"/>', "svg-clipped"),
        ('<clipPath id="c"><text>x</text></clipPath>'
         '<rect clip-path="url(#c)" width="5" height="5"/>', "svg-clipped"),
        ('<clipPath id="c" clipPathUnits="objectBoundingBox"><circle r=".5"/></clipPath>'
         f'<g clip-path="url(#c)">{GOOD}</g>', "svg-clipped"),
        ('<mask id="m"><rect mask="url(#m)" width="5" height="5"/></mask>'
         f'<g style="mask:url(#m)">{GOOD}</g>', "svg-use-endless"),
        (f'<g filter="url(#f)">{GOOD}</g>', "svg-effect"),
        ('<path d="M0 0h99" stroke="red" stroke-dasharray="2e-5 1e-5"/>', "svg-too-many-shapes"),
        ('<marker id="m"><path d="M0 0h1" stroke="red" marker-end="url(#m)"/></marker>'
         '<path d="M0 0h9" stroke="red" marker-end="url(#m)"/>', "svg-use-endless"),
        ('<path d="M0 0h9" stroke="red" vector-effect="non-scaling-stroke"/>', "svg-effect"),
        ('<symbol id="s"><use href="#s"/></symbol><use href="#s"/>', "svg-use-endless"),
        ('<style>rect:nth-child(2) {fill:none}</style><rect width="5" height="5"/>',
         "svg-style-unreadable"),
        ('<rect style="transform:turn(9deg)" width="5" height="5"/>', "svg-transform-malformed"),
        ('<rect style="transform:rotate(9deg);transform-origin:50% 50%" width="5" height="5"/>',
         "svg-transform-malformed"),
        ('<rect transform="turn(9)" width="5" height="5"/>', "svg-transform-malformed"),
        ('<rect transform="rotate(9 1)" width="5" height="5"/>', "svg-transform-malformed"),
        ('<rect width="5 apples" height="5"/>', "svg-number-unreadable"),
        ('<rect width="-5" height="5"/>', "svg-number-unreadable"),
        ('<polygon points="0,0 9,0 9"/>', "svg-number-unreadable"),
        ('<polygon points="0,0 9,nan 9,9"/>', "svg-number-unreadable"),
        ('<circle r="1e999"/>', "svg-coordinates-absurd"),
        ('<path d="M0 0L1e400 0 5 5z"/>', "svg-coordinates-absurd"),
        ('<path d="M0 0L90000 0 5 5z"/>', "svg-coordinates-absurd"),
        ('<rect transform="scale(1e8) scale(1e8)" width="5" height="5"/>',
         "svg-coordinates-absurd"),
        ('<path d="M10 10h10v10h-10"/>', "svg-outline-open"),
        ('<polyline points="0,0 10,0 10,10"/>', "svg-outline-open"),
    ],
)  # fmt: skip
def test_what_cannot_be_cut_is_named(tmp_path: Path, body: str, code: str) -> None:
    assert one(tmp_path, svg_text(body))[0] == code


def test_only_the_picked_layer_has_to_be_fit_for_cutting(tmp_path: Path) -> None:
    text = svg_text(f'<g id="cut">{GOOD}</g><g id="notes"><text>x</text><path d="M0"/></g>')
    draw_faces(svg_job(tmp_path, text, "cut"))
    assert codes(svg_job(tmp_path, text)) == ["svg-live-text", "svg-path-malformed"]


@pytest.mark.parametrize(
    ("path", "character"),
    [
        ("L10 10", 1),
        ("M10", None),
        ("M10 10 L20", None),
        ("M10 10 K 5 5", 7),
        ("M10 10 A5 5 0 2 1 9 9", 15),
        ("M10 10,,20 20", 7),
        ("M10 10 h", None),
        ("M10 10 20 20 z 5 5", 16),
        ("M,10 10", 2),
        ("M10 10 h 1..", 12),
    ],
)
def test_malformed_paths_say_from_where(tmp_path: Path, path: str, character: int | None) -> None:
    code, message = one(tmp_path, svg_text(f'<path id="wing" d="{path}"/>'))
    assert code == "svg-path-malformed"
    assert "path 'wing'" in message
    assert ("at its end" if character is None else f"from character {character}:") in message


def test_a_crossing_is_placed_on_the_page(tmp_path: Path) -> None:
    body = '<path id="bow" d="M10 10L30 30L30 10L10 30z"/>'
    code, message = one(tmp_path, svg_text(body))
    assert code == "svg-path-crosses-itself"
    assert "path 'bow'" in message
    assert "at 20.00 mm from the left and 20.00 mm from the top" in message
    loop = svg_text('<path d="M10 10h30v20h-10v-30h-5v25z"/>', 'width="2in" viewBox="0 0 50.8 30"')
    assert one(tmp_path, loop)[0] == "svg-path-crosses-itself"
    # the place stays that of the drawing when the job scales it
    findings = refused(svg_job(tmp_path, svg_text(body), width_mm=80.0))
    assert "at 20.00 mm from the left" in findings[0].message


def test_open_outlines_are_counted(tmp_path: Path) -> None:
    body = '<path d="M10 10h10v10h-10"/><path d="M30 10h10v10h-10"/>' + GOOD
    code, message = one(tmp_path, svg_text(body))
    assert code == "svg-outline-open"
    assert message.startswith("2 outlines are open")
    assert "10.00 mm from the left and 10.00 mm from the top" in message


def test_all_faults_of_all_artworks_come_at_once(tmp_path: Path) -> None:
    (tmp_path / "a.svg").write_text(
        svg_text('<path d="M1"/><path d="M10 10L30 30L30 10L10 30z"/><path d="M0 0h9v9"/>'), "utf-8"
    )
    made = job(
        inlay(artwork(SvgArt("a.svg", (), None)), artwork(SvgArt("b.svg", (), None))),
        inlay(artwork(CircleArt(5.0, 9.0)), name="ring", face="back"),
        folder=tmp_path,
        trim=artwork(CircleArt(-1.0, 0.0)),
    )
    assert codes(made) == [
        "circle-without-size",
        "svg-path-malformed",
        "svg-path-crosses-itself",
        "svg-outline-open",
        "svg-not-found",
        "ring-without-wood",
    ]


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+eE \n", max_size=40))
def test_any_path_data_reads_or_is_refused(text: str) -> None:
    contours: tuple[Contour, ...] = ()
    code = "svg-path-malformed"
    try:
        contours = read_path(text)
    except UnreadableError as fault:
        code = fault.code
    assert code in ("svg-path-malformed", "svg-coordinates-absurd")
    assert all(np.isfinite(contour.points(1.0)).all() for contour in contours)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.sampled_from(
            [
                '<g transform="scale(2)">', "</g>", GOOD, '<circle r="3"/>', "<use href='#a'/>",
                '<g id="a">', "<path d='M0 0L9 9 9 0z'/>", "<text/>", "<svg/>", "<style>a{</style>",
                '<rect style="fill:url(#x);;:" width="3" height="1mm"/>', "<!-- -->", "<a/>",
                '<rect width="3" height="1" stroke="b" stroke-width="x"/>', "<path d='M0 0h0'/>",
                '<line stroke="b" stroke-linecap="round"/>', '<polygon points="1 1"/>',
                '<path stroke="b" stroke-miterlimit="q" d="M0 0h5v1"/>',
            ]
        ),
        max_size=8,
    )
)  # fmt: skip
def test_any_drawing_is_drawn_or_refused(parts: list[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        made = svg_job(Path(folder), svg_text("".join(parts)))
        told: tuple[Finding, ...] = ()
        inlays: tuple[DrawnInlay, ...] = ()
        try:
            inlays = draw_faces(made)[0].inlays
        except JobRefusedError as refusal:
            told = refusal.findings
    assert bool(told) != bool(inlays)
    assert all(each.region.is_valid and not each.region.is_empty for each in inlays)
