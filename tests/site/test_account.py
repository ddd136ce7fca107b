"""Signing in, out, and the password."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from studio import sign_in_guard
from studio.models import FailedSignIn
from tests.factories import make_user

pytestmark = pytest.mark.django_db

WRONG = "This name and password do not go together."


def sign_in(client, name, password, **more):
    return client.post(reverse("sign_in"), {"username": name, "password": password, **more})


def signed_in(client) -> bool:
    return "_auth_user_id" in client.session


def test_who_is_not_signed_in_is_asked_to_and_then_goes_on(client):
    make_user("thea", is_staff=True)
    asked = client.get("/clays/")
    assert asked.url == "/in/?next=/clays/"
    assert 'name="next" value="/clays/"' in client.get(asked.url).content.decode()
    assert sign_in(client, "thea", "thea", next="/clays/").url == "/clays/"
    assert signed_in(client)


@pytest.mark.parametrize("away", ["https://elsewhere.example/", "//elsewhere.example", "\\\\x"])
def test_nobody_is_sent_to_another_site(client, away):
    make_user("thea")
    assert sign_in(client, "thea", "thea", next=away).url == "/"


@pytest.mark.parametrize(("name", "password"), [("thea", "THEA"), ("nobody", "thea")])
def test_a_wrong_name_and_a_wrong_password_are_told_alike(client, name, password):
    make_user("thea")
    page = sign_in(client, name, password).content.decode()
    assert WRONG in page
    assert f'value="{name}"' in page
    assert not signed_in(client)


def test_an_empty_form_says_what_is_missing_beside_the_field(client):
    page = sign_in(client, "", "").content.decode()
    assert 'id="id_username_error">Write your user name.' in page
    assert 'aria-describedby="id_username_error"' in page
    assert 'aria-invalid="true"' in page


def test_guessing_is_slowed_and_the_right_password_waits_too(client):
    make_user("thea")
    for _ in range(sign_in_guard.TRIES):
        assert WRONG in sign_in(client, "thea", "guess").content.decode()
    assert "Too many tries with this name." in sign_in(client, "Thea", "thea").content.decode()
    assert not signed_in(client)
    # The window passes.
    FailedSignIn.objects.update(at=timezone.now() - sign_in_guard.WINDOW - timedelta(seconds=1))
    assert sign_in(client, "thea", "thea").status_code == 302


def test_one_name_that_waits_holds_up_nobody_else(client):
    make_user("thea")
    for _ in range(sign_in_guard.TRIES):
        sign_in(client, "bao", "guess")
    assert sign_in(client, "thea", "thea").status_code == 302


def test_signing_in_forgets_the_failures_and_old_ones_are_thrown_away(client):
    make_user("thea")
    FailedSignIn.objects.create(name="old")
    FailedSignIn.objects.update(at=timezone.now() - 2 * sign_in_guard.WINDOW)
    sign_in(client, "thea", "guess")
    assert [failure.name for failure in FailedSignIn.objects.all()] == ["thea"]
    sign_in(client, "thea", "thea")
    assert FailedSignIn.objects.count() == 0


def test_signing_out_is_a_post_and_ends_the_session(client):
    client.force_login(make_user("thea"))
    assert client.get("/out/").status_code == 405
    assert client.post("/out/").url == "/in/"
    assert not signed_in(client)


def test_the_password_changes_and_the_session_stays(client):
    thea = make_user("thea")
    client.force_login(thea)
    refused = client.post(
        "/password/",
        {"old_password": "thea", "new_password1": "12345678", "new_password2": "12345678"},
    ).content.decode()
    assert "entirely numeric" in refused
    answer = client.post(
        "/password/",
        {
            "old_password": "thea",
            "new_password1": "warm-kiln-quiet-92",
            "new_password2": "warm-kiln-quiet-92",
        },
    )
    assert answer.url == "/"
    assert signed_in(client)
    thea.refresh_from_db()
    assert thea.check_password("warm-kiln-quiet-92")


def test_no_password_and_no_sign_in_page_is_kept_by_the_browser(client):
    assert "no-store" in client.get("/in/")["Cache-Control"]
    client.force_login(make_user("thea"))
    assert "no-store" in client.get("/password/")["Cache-Control"]
