"""The view records that book, bench and phone share, made from hand-made pieces."""

from __future__ import annotations

from flushwork.book.compose import view_of
from flushwork.built import Build
from flushwork.views.book_records import PourView, SetupCard, SetupView, StageView
from flushwork.views.context import ViewContext
from flushwork.views.drawing.face_art import FaceArt, face_art, mix_letters
from flushwork.views.drawing.pictures import picture_tasks
from flushwork.views.figures import Lengths
from flushwork.views.pour_views import pour_views
from flushwork.views.setup_views import setup_views
from flushwork.views.stage_views import stage_views


def pictures_of(made: Build) -> dict[str, bytes]:
    return {name: data for draw in picture_tasks(made) for name, data in draw().items()}


def arts(context: ViewContext) -> dict[str, FaceArt]:
    letters = mix_letters(context.build.job)
    return {
        face.name: face_art(context.build.job, face, context.build.fits, context.colours, letters)
        for face in context.build.faces
    }


def stages(context: ViewContext) -> tuple[StageView, ...]:
    return stage_views(context, mix_letters(context.build.job), Lengths(context.units))


def setups(context: ViewContext) -> tuple[SetupView, ...]:
    return setup_views(context, arts(context), Lengths(context.units))


def pours(context: ViewContext) -> tuple[PourView, ...]:
    return pour_views(context, mix_letters(context.build.job))


def setup_cards(context: ViewContext) -> tuple[SetupCard, ...]:
    return tuple(card.setup for card in view_of(context).cards if card.setup is not None)
