"""Addresses and ids that nobody types: answered with a sentence or a way on, never with a fault."""

import pytest
from django.test import Client
from django.urls import reverse

from studio.web.row_ids import LARGEST_ID, row_id


@pytest.fixture
def teacher(school):
    client = Client()
    client.force_login(school.teacher)
    return client


@pytest.mark.parametrize("target", ["²", "abc", "today", "//elsewhere.example/", "javascript:1"])
def test_a_made_up_target_leads_to_the_first_page(teacher, target):
    answer = teacher.get(reverse("sign_in"), {"next": target})
    assert (answer.status_code, answer.url) == (302, reverse("today"))


@pytest.mark.parametrize("sent", ["9" * 40, "²", "-1", "1.5", "", "x"])
def test_an_impossible_id_moves_no_piece(teacher, school, sent):
    path = reverse("stages", args=[school.project.pk])
    assert teacher.post(path, {"pieces": sent, "stage": "bisque"}).status_code in (200, 302, 400)
    assert set(school.project.pieces.values_list("stage", flat=True)) == {"wet"}


@pytest.mark.parametrize("sent", ["9" * 40, "²"])
def test_an_impossible_id_publishes_nothing(teacher, school, sent):
    answer = teacher.post(reverse("publish", args=[school.project.pk]), {"piece": sent})
    assert answer.status_code in (200, 302)


def test_what_can_be_an_id():
    assert (row_id("17"), row_id(str(LARGEST_ID))) == (17, LARGEST_ID)
    assert [row_id(text) for text in (str(LARGEST_ID + 1), "²", "١٧", "-1", "")] == [None] * 5
