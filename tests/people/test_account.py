"""Signing in, out, and the password."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from studio.models import FailedSignIn
from studio.people import sections, sign_in_guard
from tests.factories import make_section, make_student, make_user

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


OWN_WORDS = {"new_password1": "warm-kiln-quiet-92", "new_password2": "warm-kiln-quiet-92"}


@pytest.fixture
def amara():
    """A student with a slip in her hand."""
    student = make_student(make_section(), "Amara O.")
    student.slip = sections.give_code(student, "amara.o", by=None)
    return student


def test_a_student_signs_in_with_the_code_chooses_a_password_and_goes_on(client, amara):
    answer = sign_in(client, "amara.o", amara.slip.code.upper(), next="/clays/")
    assert answer.url == "/in/password/"
    assert not signed_in(client)
    page = client.get(answer.url)
    assert "no-store" in page["Cache-Control"]
    assert "<h1>Choose your password</h1>" in page.content.decode()
    refused = client.post(answer.url, {"new_password1": "1234", "new_password2": "1234"})
    assert "too short" in refused.content.decode()
    assert not signed_in(client)
    assert client.post(answer.url, OWN_WORDS).url == "/clays/"
    assert signed_in(client)
    client.post("/out/")
    assert WRONG in sign_in(client, "amara.o", amara.slip.code).content.decode()
    assert sign_in(client, "amara.o", OWN_WORDS["new_password1"]).url == "/"


def test_nobody_chooses_a_password_without_a_code(client, amara):
    assert client.post("/in/password/", OWN_WORDS).url == "/in/"
    amara.login.refresh_from_db()
    assert not amara.login.has_usable_password()


def test_two_phones_with_one_code_give_one_password(client, amara, django_user_model):
    other = type(client)()
    sign_in(client, "amara.o", amara.slip.code)
    sign_in(other, "amara.o", amara.slip.code)
    client.post("/in/password/", OWN_WORDS)
    late = {"new_password1": "other-words-17", "new_password2": "other-words-17"}
    assert other.post("/in/password/", late).url == "/in/"
    assert not signed_in(other)
    assert django_user_model.objects.get(username="amara.o").check_password("warm-kiln-quiet-92")


def test_guessing_codes_is_slowed_like_guessing_passwords(client, amara):
    for _ in range(sign_in_guard.TRIES):
        sign_in(client, "amara.o", "badu-badu-22")
    told = sign_in(client, "amara.o", amara.slip.code).content.decode()
    assert "ask your teacher for a new code" in told


def test_a_new_code_from_the_class_list_signs_the_old_session_out(client, amara):
    sign_in(client, "amara.o", amara.slip.code)
    client.post("/in/password/", OWN_WORDS)
    sections.give_code(amara.__class__.objects.get(pk=amara.pk), "", by=None)
    assert client.get("/").url.startswith("/in/")
