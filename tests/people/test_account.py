"""Signing in, out, and the password."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from studio.models import FailedSignIn, SignInCode
from studio.people import sections, sign_in_codes, sign_in_guard
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


def guess(client, name, times=sign_in_guard.TRIES, **more):
    for _ in range(times):
        sign_in(client, name, "guess", **more)


def test_guessing_is_slowed_and_the_right_password_waits_too(client):
    make_user("thea")
    for _ in range(sign_in_guard.TRIES):
        assert WRONG in sign_in(client, "thea", "guess").content.decode()
    told = sign_in(client, "Thea", "thea").content.decode()
    assert "Too many tries with this name from here. Wait 30 seconds" in told
    assert not signed_in(client)
    # The wait passes.
    FailedSignIn.objects.update(last_at=timezone.now() - sign_in_guard.FIRST_WAIT)
    assert sign_in(client, "thea", "thea").status_code == 302


def test_a_try_that_has_to_wait_is_not_counted_and_each_that_fails_doubles_the_wait(client):
    make_user("thea")
    guess(client, "thea", 3 * sign_in_guard.TRIES)
    assert FailedSignIn.objects.get().tries == sign_in_guard.TRIES
    waits = [sign_in_guard.wait_after(sign_in_guard.TRIES + more) for more in range(-1, 7)]
    assert [wait.total_seconds() for wait in waits] == [0, 30, 60, 120, 240, 480, 900, 900]
    assert sign_in_guard.wait_after(10**6) == sign_in_guard.LONGEST_WAIT


def test_one_name_that_waits_holds_up_nobody_else(client):
    make_user("thea")
    guess(client, "bao")
    assert sign_in(client, "thea", "thea").status_code == 302


def test_who_guesses_elsewhere_shuts_nobody_out(client):
    make_user("thea")
    for _ in range(3 * sign_in_guard.TRIES):
        client.post("/in/", {"username": "thea", "password": "guess"}, REMOTE_ADDR="203.0.113.9")
    assert sign_in(client, "thea", "thea").status_code == 302


@pytest.mark.parametrize(
    ("https", "connection", "forwarded", "address"),
    [
        (False, "203.0.113.9", "198.51.100.1", "203.0.113.9"),
        (True, "127.0.0.1", "192.0.2.7, 198.51.100.1", "198.51.100.1"),
        (True, "203.0.113.9", "", "203.0.113.9"),
        # Addresses for documentation: RFC 5737 and RFC 3849. A home has a network of 64 bits.
        (False, "2001:db8:1:2:3:4:5:6", "", "2001:db8:1:2::"),
        (False, "::ffff:203.0.113.9", "", "203.0.113.9"),
        (True, "127.0.0.1", "nonsense", "unknown"),
    ],
)
def test_the_address_is_the_proxys_word_only_where_there_is_a_proxy(
    rf, settings, https, connection, forwarded, address
):
    settings.HTTPS = https
    more = {"HTTP_X_FORWARDED_FOR": forwarded} if forwarded else {}
    request = rf.get("/in/", REMOTE_ADDR=connection, **more)
    assert sign_in_guard.address_of(request) == address


def test_signing_in_forgets_the_failures_and_old_ones_are_thrown_away(client):
    make_user("thea")
    long_ago = timezone.now() - 2 * sign_in_guard.FORGOTTEN
    FailedSignIn.objects.create(name="old", address="192.0.2.1", tries=3, last_at=long_ago)
    sign_in(client, "thea", "guess")
    assert [failure.name for failure in FailedSignIn.objects.all()] == ["thea"]
    sign_in(client, "thea", "thea")
    assert FailedSignIn.objects.count() == 0


@pytest.mark.django_db(transaction=True)
def test_forty_tries_at_once_get_no_more_guesses_than_eight_in_a_row(monkeypatch):
    make_user("thea")
    tried = []

    def authenticate(_request, *, username, password):
        tried.append(password)

    monkeypatch.setattr("studio.forms.people.account.authenticate", authenticate)

    def one(number):
        try:
            return sign_in(Client(), "thea", f"guess {number}").status_code
        finally:
            connection.close()

    with ThreadPoolExecutor(40) as pool:
        answers = list(pool.map(one, range(40)))
    assert set(answers) == {200}
    assert len(tried) == sign_in_guard.TRIES


def test_a_shared_computer_forgets_with_the_browser_and_when_it_is_left(client, monkeypatch):
    make_user("thea")
    now = 1_800_000_000
    monkeypatch.setattr("studio.web.shared_computer.time.time", lambda: now)
    answer = sign_in(client, "thea", "thea", shared="on")
    # A cookie without an age ends with the browser (RFC 6265, section 5.3, step 3).
    assert answer.cookies["sessionid"]["max-age"] == ""
    assert answer.cookies["sessionid"]["expires"] == ""
    for _ in range(3):
        now += 29 * 60
        assert client.get("/").status_code == 200
    now += 30 * 60 + 1
    assert client.get("/").url == "/in/?next=/"
    assert not signed_in(client)


def test_ones_own_computer_keeps_the_session(client):
    make_user("thea")
    assert sign_in(client, "thea", "thea").cookies["sessionid"]["max-age"] == 14 * 24 * 3600


def test_a_shared_computer_is_remembered_through_a_code(client, amara):
    sign_in(client, "amara.o", amara.slip.code, shared="on")
    answer = client.post("/in/password/", OWN_WORDS)
    assert answer.cookies["sessionid"]["max-age"] == ""


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


def test_no_page_of_somebody_signed_in_is_kept_by_the_browser(client, school):
    client.force_login(school.teacher)
    for path in ("/", f"/students/{school.amara.pk}/", f"/pieces/{school.piece.pk}/"):
        assert client.get(path)["Cache-Control"] == "private, no-store"


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


def test_a_new_code_works_whoever_spent_the_tries(client, amara):
    guess(client, "amara.o")
    assert "it works at once" in sign_in(client, "amara.o", "guess").content.decode()
    slip = sections.give_code(amara, "", by=None)
    guess(client, "amara.o", 2 * sign_in_guard.TRIES)
    assert sign_in(client, "amara.o", slip.code).url == "/in/password/"


def test_guessing_codes_is_slowed_like_guessing_passwords_after_the_free_tries(client, amara):
    wrong = "b2b2-b2b2-b2"
    assert sign_in_codes.looks_like_code(amara.slip.code)
    for _ in range(sign_in_guard.TRIES):
        sign_in(client, "amara.o", wrong)
    assert SignInCode.objects.get().wrong_tries == sign_in_guard.TRIES
    SignInCode.objects.update(wrong_tries=sign_in_codes.FREE_TRIES)
    told = sign_in(client, "amara.o", amara.slip.code).content.decode()
    assert "ask your teacher for a new code" in told
    FailedSignIn.objects.all().delete()
    assert sign_in(client, "amara.o", amara.slip.code).url == "/in/password/"


@pytest.mark.parametrize("typed", ["badu-badu-22", "b2b2-b2b2", "1b2b2b2b2b", "a2b2-b2b2-b2", ""])
def test_what_no_slip_has_is_no_code(typed):
    assert not sign_in_codes.looks_like_code(typed)


def test_a_new_code_from_the_class_list_signs_the_old_session_out(client, amara):
    sign_in(client, "amara.o", amara.slip.code)
    client.post("/in/password/", OWN_WORDS)
    sections.give_code(amara.__class__.objects.get(pk=amara.pk), "", by=None)
    assert client.get("/").url.startswith("/in/")
