"""A piece without a photo is shown as its own measured outline, to one scale in a list."""

import re

import pytest

from studio.models import Piece
from studio.projects.piece_outlines import give_outlines
from tests.factories import make_piece, read
from tests.pages import page_text

pytestmark = pytest.mark.django_db


def sizes(piece, height, rim, foot, stage="bisque"):
    for name, value in (("height", height), ("rim_diameter", rim), ("foot_side", foot)):
        read(piece, "dimension", value, stage=stage, name=name)


def outlined(school) -> dict:
    pieces = give_outlines(Piece.objects.filter(project=school.project).for_list().with_face())
    return {piece.code: piece.outline for piece in pieces}


def points(path):
    return [tuple(map(float, pair.split())) for pair in re.split("[MLZ]", path) if pair]


def test_the_outline_runs_through_what_was_read(school):
    sizes(school.piece, 95, 85, 60)
    read(school.piece, "dimension", 90, stage="bisque", name="diameter", height_mm=50)
    (foot, belly, rim, *left) = points(outlined(school)["K3-01"].path)
    assert (foot, belly, rim) == ((30, 0), (45, -50), (42.5, -95))
    assert left == [(-42.5, -95), (-45, -50), (-30, 0)]
    assert outlined(school)["K3-01"].words == (
        "No photo yet. Read bisque: 95 mm high, rim 85, foot 60."
    )


def test_the_latest_stage_that_tells_all_is_drawn(school):
    sizes(school.piece, 107, 96, 66, stage="leather-hard")
    read(school.piece, "dimension", 95, stage="bisque", name="height")
    assert "leather-hard: 107 mm" in outlined(school)["K3-01"].words
    sizes(school.piece, 94, 84, 58, stage="glazed")
    assert "glazed: 94 mm" in outlined(school)["K3-01"].words


def test_a_list_has_one_scale_and_all_of_it_is_inside(school):
    tall = make_piece(school.project, school.amara, "T-1")
    sizes(school.piece, 60, 85, 60)
    sizes(tall, 180, 120, 80)
    found = outlined(school)
    assert found["K3-01"].view_box == found["T-1"].view_box
    left, top, width, height = map(float, found["T-1"].view_box.split())
    for outline in (found["K3-01"], found["T-1"]):
        for x, y in points(outline.path):
            assert left < x < left + width
            assert top < y < top + height


def test_without_foot_or_rim_a_word_stands_there(client, school):
    read(school.piece, "dimension", 95, stage="bisque", name="height")
    assert outlined(school)["K3-01"] is None
    client.force_login(school.teacher)
    path = f"/projects/{school.project.pk}/"
    assert "no photo yet" in page_text(client.get(path))
    sizes(school.other_piece, 95, 85, 60)
    assert "own-outline" in page_text(client.get(path))
