"""What a reader sees when something is wrong: a sentence and a way on, never a traceback."""

import pytest
from django.test import Client
from django.urls import reverse

from tests import factories

pytestmark = pytest.mark.django_db


def test_an_unknown_address_says_so_and_leads_back(client):
    client.force_login(factories.make_user("maria", is_staff=True))
    answer = client.get("/no/such/page/")
    assert answer.status_code == 404
    assert "There is nothing here for you" in answer.content.decode()
    assert reverse("today") in answer.content.decode()


def test_a_stranger_is_sent_to_sign_in_even_for_what_does_not_exist(client):
    assert client.get("/pieces/99999/").status_code == 302


def test_a_form_from_an_old_sign_in_keeps_what_was_typed_in_the_browser():
    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.make_user("maria", is_staff=True))
    answer = client.post(reverse("section_new"), {"name": "Bell 1"})
    assert answer.status_code == 403
    assert "what you typed is still there" in answer.content.decode()


def test_a_fault_of_ours_shows_a_sentence_and_no_traceback(monkeypatch):
    client = Client(raise_request_exception=False)
    client.force_login(factories.make_user("maria", is_staff=True))

    def broken(user):
        raise RuntimeError("secret detail")

    monkeypatch.setattr("studio.access.read_sections", broken)
    answer = client.get(reverse("today"))
    assert answer.status_code == 500
    assert "Something broke on our side" in answer.content.decode()
    assert "secret detail" not in answer.content.decode()
    assert "Traceback" not in answer.content.decode()


@pytest.mark.parametrize("path", ["/in/", "/no/such/page/", "/static/studio/base.css"])
def test_every_answer_carries_the_content_security_policy(client, path):
    policy = client.get(path).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
