"""Photos with a phone, cup after cup."""

import pytest

from studio.models import Photo
from studio.photos import shooting
from tests import factories
from tests.photos.photo_files import SIDE, TOP, plain_picture, rendered, upload

pytestmark = pytest.mark.django_db
JSON = {"accept": "application/json"}


@pytest.fixture
def page(client, school):
    client.force_login(school.teacher)
    return f"/projects/{school.project.pk}/photos/shoot/"


def test_the_next_code_comes_up_by_itself(client, school, page):
    assert "K3-01</span>, from the side" in client.get(page).content.decode()
    answer = client.post(page, {"files": rendered(SIDE, "image.jpg")}, headers=JSON).json()
    assert answer["said"] == "K3-01, from the side: kept."
    assert "K3-01</span>, from above" in client.get(answer["next"]).content.decode()
    answer = client.post(answer["next"], {"files": rendered(TOP, "image.jpg")}, headers=JSON).json()
    assert "K3-02</span>, from the side" in client.get(answer["next"]).content.decode()


def test_a_look_keeps_nothing_and_says_what_to_change(client, page):
    told = client.post(f"{page}?look", {"files": rendered(SIDE)}, headers=JSON).json()
    assert (told["will_do"], told["advice"]) == (True, [])
    assert "slip K3-01" in told["seen"]
    told = client.post(f"{page}?look", {"files": rendered(TOP)}, headers=JSON).json()
    assert told["advice"] == ["This is a view from above; one from the side is next."]
    told = client.post(
        f"{page}?look", {"files": upload(plain_picture(), "a.jpg")}, headers=JSON
    ).json()
    assert "The mat was not found" in told["advice"][-1]
    assert not Photo.objects.exists()


def test_without_a_script_the_photo_is_kept_and_what_to_change_is_said(client, page):
    answer = client.post(page, {"files": rendered(SIDE)}, follow=True).content.decode()
    assert "K3-01: this one will do." in answer
    answer = client.post(page, {"files": upload(plain_picture("grey"), "a.jpg")}, follow=True)
    assert "kept, but The mat was not found" in answer.content.decode()
    assert Photo.objects.count() == 2


def test_no_photo_and_no_picture_get_a_sentence(client, page):
    assert client.post(page, {}, headers=JSON).status_code == 400
    told = client.post(page, {"files": upload(b"x", "a.jpg")}, headers=JSON).json()
    assert "not a picture" in told["problem"]
    assert "Take it again" in client.post(page, {}, follow=True).content.decode()


def test_a_broken_piece_is_not_asked_for(school):
    school.piece.state = "broken"
    school.piece.save()
    assert shooting.next_turn(school.project).piece == school.other_piece


def test_when_all_have_both_the_page_says_so(client, school, page):
    for piece in (school.piece, school.other_piece):
        for view in ("side", "top"):
            factories.make_photo(piece, view=view, stage=piece.stage)
    assert "Every piece has a photo" in client.get(page).content.decode()


def test_more_pieces_ask_no_more_queries(client, school, page, count_queries):
    before = count_queries(client, page)
    for number in range(3, 9):
        factories.make_piece(school.project, school.amara, f"K3-{number:02d}")
    assert count_queries(client, page) == before
