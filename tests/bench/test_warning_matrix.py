"""Every warning against every card, G-code file, page and step.

There where it belongs, not elsewhere.

Each warning is known by words of every line it is written in, so that none can go unnoticed.
"""

from __future__ import annotations

import html
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace

import pytest
from jinja2 import ChainableUndefined, Template
from pypdf import PdfReader

from flushwork.bench.pages.machine_views import ScreenView, screens
from flushwork.bench.pages.shelf_views import shelf_view
from flushwork.bench.pages.whole_page import page_context, pours, setups
from flushwork.bench.server.resources import templates
from flushwork.book.compose import view_of
from flushwork.book.html import html_text
from flushwork.book.light_views import dye_card
from flushwork.book.pdf import pdf_bytes
from flushwork.pipeline import build
from flushwork.views import warning_lines
from flushwork.views.book_records import BookView
from flushwork.views.context import ViewContext
from flushwork.views.setup_details import IN_AIR
from flushwork.views.warning_lines import AIR_FIRST, BITES, MACHINE, NO_FLAME, SPECIES, bites

SHEETS = "safety sheet, local rules and trained practice come"
SHEETS_IN_BOOK = f"{SHEETS} before anything printed here."
PHRASES = {
    "machine": ("Eyes, ears and dust extraction", "No gloves", "near the spindle"),
    "stay": ("Stay with the machine", "near the stop button", "embers afterwards"),
    "air first": ("once in air", "well above the wood"),
    "collet": ("Two thirds of the shank in the collet", "never over", "the speed marked"),
    "small bit": ("Small bits break and fly", "spindle off and", "locked"),
    "cured only": ("only when fully hard", "make you allergic for good", "Respirator, extraction"),
    "metal dust": ("Metal powder", "burn and explode", "no vacuum", "brush motor", "chips apart"),
    "powder fire": ("A cloud of this powder can flash", "still air", "nothing lit", "it up damp"),
    "wood dust": ("harms lungs and nose", "cancer: extraction at the source", "and a respirator"),
    "species": ("The dust of mahogany can make you allergic", "arms covered"),
    "oxidiser": ("feeds a fire", "keep it from oil", "from all heat"),
    "hot cup": ("left in a cup heats itself", "outdoors on", "stone, untouched"),
    "aired": ("still gives off vapour", "air the room before a machine", "heater runs"),
    "small piece": ("A small piece: never steady it by hand", "or a jig", "where you can"),
    "short stock": ("Short stock tips and jams: never", "through a planer", "or by hand plane"),
    "saw": ("Saw, jointer and planer: guard", "nothing freehand", "unplug before"),
    "box saw": ("Box work: the box in a carrier", "spacers in the lid's kerf", "never short"),
    "gloves": ("Nitrile gloves, long sleeves, eye protection", "soap and water, never solvent"),
    "powder": ("Weigh dry powder out of the draught", "with a respirator on"),
    "no flame": ("No flame, torch, hot air or spark here", "it catches fire or explodes"),
    "flame brief": ("moving, brief", "nothing that burns near", "extinguisher at hand"),
    "cure": ("Air the room. A warm box needs a thermostat", "cut-out; no food in it", "again."),
    "solvent": (
        "Solvent burns, and so do its vapours",
        "sparking motor until they",
        "closed metal bin",
    ),
    "rags": ("Rags wet with drying oil or varnish", "set fire to themselves", "flat, outdoors"),
    "trim": ("A part that comes free can fly", "until the spindle stands still"),
    "dye": ("Gloves, and a powder mask", "Some dyes irritate", "a bath in alcohol burns"),
    "pegs": ("Small parts are not for small children", "cured and fast"),
}
ON_MACHINE = {"machine", "stay", "wood dust"}
RICH_AT = {"species", "small piece"}
RICH = """\
flushwork: 2
title: Rich
cell: 0.5 mm
shop: shop.yaml
blank: {wood: mahogany, length: 180 mm, width: 120 mm, thickness: 16 mm}
trim line: {rectangle: 140 mm x 90 mm, tabs: 4}
sealer: shellac
finish: {name: hard-wax oil, holes: before}
mixes:
  grey: {resin: coating epoxy, thinner: {name: ethanol, share: 8 %},
    pigments: [metal, black powder]}
  line: {resin: coating epoxy, pigments: [dry dye, feeder]}
front:
  inlays:
    - {name: field, rectangle: 40 mm x 30 mm, at: [-30 mm, 0 mm], depth: 2 mm, fill: grey}
    - {name: edge, seam line: {along: [field], width: 0.8 mm}, depth: 1.2 mm, fill: line}
  holes:
    - {name: pegs, grid: {columns: 2, rows: 2, pitch: 9 mm}, at: [30 mm, 0 mm],
       diameter: 3.175 mm, depth: 6 mm}
loose parts: [{name: pegs, wood: basswood, match: line, count: 4}]
"""
SHOP = """\
flushwork shop: 2
name: Rich shop
measuring tools: [fine scale, bench scale]
pigments:
  - black powder
  - {name: metal, like: silver flake, hazards: [metal dust, fine dust]}
  - {name: dry dye, like: blue dye, hazards: [dye, fine dust]}
  - {name: feeder, like: white powder, hazards: [oxidiser]}
"""
MILD = """\
flushwork: 2
title: Mild
cell: 0.5 mm
blank: {wood: sugar maple, length: 340 mm, width: 320 mm, thickness: 16 mm}
sealer: seal coat
finish: water-based varnish
mixes: {sea: {resin: coating epoxy, bubbles: hot air, heated by: warm box}}
front: {inlays: [{name: field, circle: 30 mm, depth: 2 mm, fill: sea}]}
"""
TORCH = """\
flushwork: 2
title: Torch
cell: 0.5 mm
blank: {wood: sugar maple, length: 320 mm, width: 310 mm, thickness: 16 mm}
trim line: {circle: 100 mm, tabs: 4}
locating: {diameter: 6 mm, into blank: through}
cut registration marks: yes
sealer: shellac
finish: none
mixes: {sea: {resin: coating epoxy, pigments: [teal flake], bubbles: flame}}
box: {wall: 12 mm, height: 60 mm, board: loose, feet: {diameter: 6 mm, from corner: 20 mm}}
front: {inlays: [{name: field, circle: 30 mm, depth: 2 mm, fill: sea}]}
"""
TORCH_STEPS = {
    "Surface the front": {"machine", "wood dust"},
    "Let in the dowels": {"machine", "stay", "wood dust", "aired"},
    "Cut field": {"machine", "stay", "wood dust", "aired"},
    "Fill field with sea": {"gloves", "no flame", "aired", "powder", "hot cup"},
    "Trim to the final outline": {"machine", "stay", "wood dust", "trim", "small piece"},
    "Saw the box": {"saw", "box saw", "machine", "wood dust"},
    "Glue the box": set(),
    "Fit the box": {"saw", "box saw", "machine", "wood dust"},
}
RICH_STEPS = {
    "Surface the front": {"machine", "short stock", "wood dust", "species"},
    "Surface the back": {"machine", "short stock", "wood dust", "species"},
    "Seal the front face with shellac": {"solvent"},
    "Cut field": ON_MACHINE | RICH_AT | {"small bit", "aired"},
    "Seal the cut walls of field with shellac": {"solvent"},
    "Fill field with grey": {
        *("gloves", "no flame", "aired", "solvent", "metal dust", "powder", "powder fire"),
        "hot cup",
    },
    "Let grey cure": {"cure"},
    "Mill the proud resin of field flush": ON_MACHINE | RICH_AT | {"cured only", "metal dust"},
    "Sand the front flush": {"cured only", "wood dust", "species", "metal dust"},
    "Cut edge": ON_MACHINE | RICH_AT | {"small bit", "cured only", "metal dust"},
    "Seal the cut walls of edge with shellac": {"solvent"},
    "Fill edge with line": {
        *("gloves", "no flame", "aired", "dye", "powder", "oxidiser", "hot cup"),
    },
    "Let line cure": {"cure"},
    "Mill the proud resin of edge flush": ON_MACHINE | RICH_AT | {"cured only", "metal dust"},
    "Drill pegs": ON_MACHINE | RICH_AT,
    "Trim to the final outline": ON_MACHINE | RICH_AT | {"trim"},
    "Finish with hard-wax oil, 3 coats": {"solvent", "rags"},
}
MILD_STEPS = {
    "Surface the front": {"machine", "wood dust"},
    "Surface the back": {"machine", "wood dust"},
    "Fill field with sea": {"gloves", "flame brief", "hot cup"},
    "Let sea cure": {"cure"},
    "Mill the proud resin of field flush": ON_MACHINE | {"cured only"},
    "Sand the front flush": {"cured only", "wood dust"},
    "Finish with water-based varnish, 3 coats": set(),
}
MOUNTED = ON_MACHINE | {"air first", "collet"}
RICH_CARDS = {
    "Setup 1: front face up": MOUNTED | RICH_AT | {"small bit", "aired"},
    "Setup 2: front face up": MOUNTED | RICH_AT | {"small bit", "cured only", "metal dust"},
    "Setup 3: front face up": MOUNTED | RICH_AT | {"cured only", "metal dust", "trim"},
    "Pour 1: grey": RICH_STEPS["Fill field with grey"],
    "Pour 2: line": RICH_STEPS["Fill edge with line"],
    "the dyed parts": {"dye", "pegs"},
    "the care card": {"pegs"},
}
MILD_CARDS = {
    "Setup 2: front face up": MOUNTED | {"cured only"},
    "Pour 1: sea": MILD_STEPS["Fill field with sea"],
    "the care card": set[str](),
}
HEAD = {
    "air": "First run it in the air, well above the work",
    "first way": "stand clear, bring it over the work, higher than all that holds it.",
    "stay": "Stay by the machine, a hand near its stop. Guard, eyes, ears, dust.",
    "manual": "The machine's manual, local rules and trained practice come first.",
    "wood dust": "Wood dust: extraction at the cut and a respirator.",
    "species": "The dust of this wood can make you allergic.",
    "cured only": "It cuts cured resin: only when fully hard. Respirator.",
    "metal dust": "Metal flakes in this resin: no sparks, no brush-motor vacuum on it.",
    "aired": "Something fresh still gives off vapour: air the room first.",
}
ALWAYS = {"air", "first way", "stay", "manual", "wood dust"}
RICH_HEADS = {
    "m1-front-1-flat-6.35.nc": ALWAYS | {"species", "aired"},
    "m2-front-1-flat-25.nc": ALWAYS | {"species", "cured only", "metal dust"},
    "m2-front-2-flat-0.794.nc": ALWAYS | {"species", "cured only", "metal dust"},
    "m3-front-3-flat-6.35.nc": ALWAYS | {"species"},
}
MILD_HEADS = {"m2-front-1-flat-25.nc": ALWAYS | {"cured only"}}


@dataclass(frozen=True)
class Made:
    """A job built and seen, and where which warning stands in it."""

    context: ViewContext
    steps: tuple[ScreenView, ...]
    cards: dict[str, tuple[str, ...]]

    @property
    def all_lines(self) -> list[str]:
        told = [line for step in self.steps for line in step.warnings]
        return [*told, *(line for lines in self.cards.values() for line in lines)]


def seen(folder: Path, text: str) -> Made:
    (folder / "shop.yaml").write_text(SHOP, "utf-8")
    (folder / "job.yaml").write_text(text, "utf-8")
    context = page_context(build(folder / "job.yaml"), "metric", coarse=False)
    cards = {card.heading: card.warnings for card in setups(context)}
    cards |= {card.heading: card.warnings for card in pours(context)}
    dyed = dye_card(context.build)
    if dyed is not None:
        cards["the dyed parts"] = dyed.warnings
    cards["the care card"] = view_of(context).care.lines
    return Made(context, screens(context), cards)


@pytest.fixture(scope="module")
def rich(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return seen(tmp_path_factory.mktemp("rich"), RICH)


@pytest.fixture(scope="module")
def mild(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return seen(tmp_path_factory.mktemp("mild"), MILD)


@pytest.fixture(scope="module")
def torch(tmp_path_factory: pytest.TempPathFactory) -> Made:
    return seen(tmp_path_factory.mktemp("torch"), TORCH)


def known(lines: tuple[str, ...]) -> set[str]:
    """Return which warnings stand in some lines, each with all of its words in one line."""
    return {
        name
        for name, phrases in PHRASES.items()
        if any(all(phrase in line for phrase in phrases) for line in lines)
    }


def test_every_step_has_its_warnings_and_no_others(rich: Made, mild: Made, torch: Made) -> None:
    for made, wanted in ((rich, RICH_STEPS), (mild, MILD_STEPS), (torch, TORCH_STEPS)):
        told = {step.title: known(step.warnings) for step in made.steps}
        assert {title: told[title] for title in wanted} == wanted
    marks = [step for step in torch.steps if step.title.startswith("Cut registration marks")]
    assert [known(step.warnings) >= ON_MACHINE for step in marks] == [True, True]
    for step in (*rich.steps, *mild.steps, *torch.steps):
        lines = [line for line in step.warnings if not known((line,))]
        assert not lines, step.title


def test_every_card_has_its_warnings_and_no_others(rich: Made, mild: Made) -> None:
    for made, wanted in ((rich, RICH_CARDS), (mild, MILD_CARDS)):
        told = {name: known(lines) for name, lines in made.cards.items()}
        assert {name: told[name] for name in wanted} == wanted


def test_each_warning_is_tried_somewhere() -> None:
    steps = (RICH_STEPS, MILD_STEPS, TORCH_STEPS)
    tried = [*(each for one in steps for each in one.values()), *RICH_CARDS.values()]
    assert set().union(*tried) == set(PHRASES)


def test_the_flame_rule_names_what_burns(rich: Made) -> None:
    told = {step.title: " ".join(step.warnings) for step in rich.steps}
    assert "That is for shellac, ethanol and metal." in told["Fill field with grey"]
    assert "That is for shellac and feeder." in told["Fill edge with line"]


def test_every_gcode_file_says_it_in_its_head(rich: Made, mild: Made) -> None:
    for made, wanted in ((rich, RICH_HEADS), (mild, MILD_HEADS)):
        for name, wanted_lines in wanted.items():
            (file,) = [each for each in made.context.build.gcode_files if each.file_name == name]
            head = " ".join(re.findall(r"\(([^)]*)\)", file.text))
            assert {key for key, words in HEAD.items() if words in head} == wanted_lines, name
            assert head.count("WARNING.") == len(wanted_lines) - 2, name


def template(name: str) -> Template:
    """Return a template of the bench that leaves out whatever else it would be given."""
    return templates().overlay(undefined=ChainableUndefined).get_template(name)


def parts(page: str, start: str) -> Iterator[str]:
    """Yield the parts of a page that begin with a mark, as plain words."""
    for part in page.split(start)[1:]:
        yield html.unescape(part)


def test_the_step_at_the_machine_shows_its_lines(rich: Made) -> None:
    page = template("machine.html.j2")
    text = page.render(screens=rich.steps, title="Rich", units="metric", coarse=False, phone=True)
    snapshot = list(parts(text, '<section class="screen"'))
    assert len(snapshot) == len(rich.steps)
    for step, words in zip(rich.steps, snapshot, strict=True):
        assert all(f"<li>{line}</li>" in words for line in step.warnings), step.title
        assert SHEETS in words


def test_the_page_shows_the_lines_of_every_card(rich: Made) -> None:
    files = rich.context.build.gcode_files
    cuts = template("cuts.html.j2").render(
        setups=setups(rich.context),
        numbers={file.file_name: at for at, file in enumerate(files)},
        first_of={},
        ok_to_cut=True,
        generation=1,
        job=SimpleNamespace(coarse=False),
    )  # fmt: skip
    for card, words in zip(setups(rich.context), parts(cuts, "<article"), strict=True):
        assert all(f"<li>{line}</li>" in words for line in card.warnings)
        assert "trained practice come first" in words
    cards = pours(rich.context)
    views = [{"view": it, "weighable": False, "beside_g": 0.0, "pieces": 1} for it in cards]
    page = template("pours.html.j2")
    text = page.render(pours=views, units="metric", generation=1)
    for pour, words in zip(cards, parts(text, "<article"), strict=True):
        assert all(f"<li>{line}</li>" in words for line in pour.warnings)
        assert "safety sheet comes first" in words


def safety_page(made: Made, view: BookView) -> None:
    """Hold that every line of every step and card is told once, whole, on the page of safety."""
    told = list(view.safety_lines)
    assert len(told) == len(set(told))
    flames = [line for line in told if line.startswith(NO_FLAME)]
    assert len(flames) <= 1
    for line in set(made.all_lines) - set(made.cards["the care card"]):
        if line.startswith(NO_FLAME):
            burns = line.removeprefix(f"{NO_FLAME} That is for ").rstrip(".")
            assert all(each in flames[0] for each in re.split(", | and ", burns))
        else:
            assert told.count(line) == 1, line


def beside(view: BookView) -> dict[int, set[str]]:
    """Return, for each stage, the few words that bite on its card or at its kind of work."""
    how = {each.number: set(each.bites) for each in view.how_to}
    found: dict[int, set[str]] = {}
    for card in view.cards:
        if card.setup is not None:
            ticked = {BITES[AIR_FIRST]} if IN_AIR in card.setup.checks else set()
            for line in card.setup.own:
                found[line.number] = ticked | {*card.setup.bites}
            by_hand = (*card.setup.before, *card.setup.after)
        else:
            assert card.pours is not None
            for pour in card.pours.pours:
                found[pour.step.number] = {*card.pours.bites, *pour.bites}
            by_hand = (*card.pours.before, *card.pours.after)
        for line in by_hand:
            found[line.number] = how[line.how] | {*line.bites}
    return found


def test_each_warning_has_its_few_words_and_no_two_share_them() -> None:
    whole = [line for line in vars(warning_lines).values() if isinstance(line, str)]
    lines = {line for line in (*whole, *MACHINE) if known((line,))} - {NO_FLAME, SPECIES}
    assert lines == set(BITES)
    assert len(set(BITES.values())) == len(BITES)
    assert all(len(few.split()) <= 8 for few in BITES.values())
    assert bites((SPECIES.format(wood="mahogany"),)) == ("Dust of mahogany: cover your arms.",)
    flame = f"{NO_FLAME} That is for shellac and metal."
    assert bites((flame,)) == ("No flame, no spark: shellac and metal.",)


def test_the_book_says_each_warning_once_and_once_where_it_bites(
    rich: Made, mild: Made, torch: Made
) -> None:
    for made in (rich, mild, torch):
        view = view_of(made.context)
        safety_page(made, view)
        told = beside(view)
        for step in made.steps:
            missing = set(bites(step.warnings)) - told[step.number]
            assert not missing, (step.title, missing)
        text = html.unescape(html_text(view))
        for line in view.safety_lines:
            assert text.count(line) == 1 + (line in made.cards["the care card"]), line
        assert text.count(SHEETS_IN_BOOK) == 1


def test_the_printed_book_says_it_on_the_page_of_the_card(rich: Made, mild: Made) -> None:
    for made in (rich, mild):
        view = view_of(made.context)
        reader = PdfReader(io.BytesIO(pdf_bytes(view)))
        pages = [plain(page.extract_text()) for page in reader.pages]
        (safety,) = [page for page in pages if plain(SHEETS_IN_BOOK) in page]
        assert not [line for line in view.safety_lines if plain(line) not in safety]
        for card in view.cards:
            if card.setup is not None:
                page = next(page for page in pages if plain(card.setup.heading) in page)
                assert not [line for line in card.setup.bites if plain(line) not in page]
            if card.pours is not None:
                page = next(page for page in pages if plain(card.pours.heading) in page)
                assert not [line for line in card.pours.bites if plain(line) not in page]
                for pour in card.pours.pours:
                    page = next(page for page in pages if plain(pour.heading) in page)
                    assert not [line for line in pour.bites if plain(line) not in page]
        whole = "".join(pages)
        for how in view.how_to:
            assert not [line for line in how.bites if plain(line) not in whole]


def plain(text: str) -> str:
    return re.sub(r"[\s\N{SOFT HYPHEN}-]", "", text)


def test_the_shelf_tells_what_can_harm_and_how_that_is_known(rich: Made) -> None:
    boards = {
        board.heading: board for board in shelf_view(rich.context.build, rich.context.lengths)
    }
    told = {
        thing.name: thing.figures[board.head.index("what can harm")]
        for board in boards.values()
        if "what can harm" in board.head
        for thing in board.things
    }
    assert told["coating epoxy"] == "sensitiser, corrosive"
    assert told["acetone"] == told["shellac"] == "highly flammable"
    assert told["hard-wax oil"] == "flammable, self heating"
    assert told["mahogany"] == "harmful wood dust, sensitiser"
    assert told["metal"] == "metal dust, fine dust"
    assert told["water-based varnish"] == "nothing known"
    speeds = {thing.name: thing.figures[-1] for thing in boards["Bits"].things}
    assert speeds["25 mm facing bit"].endswith("rpm, unmarked")
