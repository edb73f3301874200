"""The view records that book, bench and phone share, made from hand-made pieces."""

from __future__ import annotations

from flushwork.book.compose import view_of
from flushwork.views.book_records import MountingView, PourView, SetupCard, StageView
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.figures import Lengths
from flushwork.views.pieces import Pieces
from flushwork.views.pour_views import pour_views
from flushwork.views.setup_views import mounting_views
from flushwork.views.stage_views import stage_views


def arts(pieces: Pieces) -> dict[str, FaceArt]:
    letters = mix_letters(pieces.job)
    return {
        face.name: face_art(pieces.job, face, pieces.fits, pieces.colours, letters)
        for face in pieces.faces
    }


def stages(pieces: Pieces) -> tuple[StageView, ...]:
    return stage_views(pieces, mix_letters(pieces.job), Lengths(pieces.units))


def mountings(pieces: Pieces) -> tuple[MountingView, ...]:
    return mounting_views(pieces, arts(pieces), Lengths(pieces.units))


def pours(pieces: Pieces) -> tuple[PourView, ...]:
    return pour_views(pieces, mix_letters(pieces.job))


def setups(pieces: Pieces) -> tuple[SetupCard, ...]:
    return tuple(card.setup for card in view_of(pieces).cards if card.setup is not None)
