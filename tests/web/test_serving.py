"""The site as its own server sends it: behind a proxy, without a body for HEAD, watched."""

import http.client
import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest
from django.db import DatabaseError
from django.urls import reverse

ROOT = Path(__file__).parents[2]
PATIENCE_S = 60
"""Until the server has its port: the slowest machine that was seen took ten."""


def free_port() -> int:
    with socket.socket() as own:
        own.bind(("127.0.0.1", 0))
        return own.getsockname()[1]


@pytest.fixture(scope="module")
def behind_proxy(tmp_path_factory):
    """``serve`` with HTTPS=1 and a database of its own; gives its port."""
    place, port = tmp_path_factory.mktemp("served"), free_port()
    own = os.environ | {
        "DJANGO_SETTINGS_MODULE": "studio.settings",
        "DATABASE_URL": f"sqlite:///{place / 'studio.sqlite3'}",
        "MEDIA_ROOT": str(place / "media"),
        "HTTPS": "1",
        "SECRET_KEY": "only for tests",
    }
    subprocess.run([sys.executable, "manage.py", "migrate"], cwd=ROOT, env=own, check=True)
    words = [sys.executable, "manage.py", "serve", "--port", str(port)]
    with subprocess.Popen(words, cwd=ROOT, env=own) as server:
        try:
            until = time.monotonic() + PATIENCE_S
            while not answers(port):
                assert server.poll() is None, "the server ended"
                assert time.monotonic() < until, "the server did not open its port"
                time.sleep(0.1)
            yield port
        finally:
            server.terminate()


def answers(port) -> bool:
    with socket.socket() as own:
        return own.connect_ex(("127.0.0.1", port)) == 0


def ask(port, path, method="GET", **headers):
    """Status, headers and all bytes of an answer."""
    own = http.client.HTTPConnection("127.0.0.1", port, timeout=PATIENCE_S)
    own.request(method, path, headers={name.replace("_", "-"): v for name, v in headers.items()})
    answer = own.getresponse()
    data = answer.read()
    own.close()
    return answer.status, dict(answer.getheaders()), data


def test_what_came_by_https_to_the_proxy_is_not_sent_there_again(behind_proxy):
    status, headers, page = ask(behind_proxy, "/in/", X_Forwarded_Proto="https")
    assert (status, headers.get("Location")) == (200, None)
    assert b"Sign in" in page
    assert "Secure" in headers["Set-Cookie"]


def test_what_came_without_is_sent_to_https_once(behind_proxy):
    status, headers, _data = ask(behind_proxy, "/in/", X_Forwarded_Proto="http")
    assert status == 301
    assert headers["Location"].startswith("https://")


def test_head_has_the_headers_of_get_and_no_body(behind_proxy):
    """RFC 9110, section 9.3.2. Read from the wire, since a client drops what it does not expect."""
    seen = {}
    for method in ("GET", "HEAD"):
        with socket.create_connection(("127.0.0.1", behind_proxy), timeout=PATIENCE_S) as own:
            own.sendall(
                f"{method} /in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Forwarded-Proto: https\r\n"
                "Connection: close\r\n\r\n".encode()
            )
            seen[method] = b"".join(iter(lambda own=own: own.recv(65536), b""))
    head, _, body = seen["HEAD"].partition(b"\r\n\r\n")
    assert body == b""
    assert head.startswith(b"HTTP/1.1 200")
    assert len(seen["GET"].partition(b"\r\n\r\n")[2]) > 1000


def test_who_watches_needs_no_certificate_and_no_name(behind_proxy):
    status, _headers, data = ask(behind_proxy, "/health/")
    assert (status, data) == (200, b"well\n")


@pytest.mark.django_db
def test_an_upload_of_a_stranger_is_refused_before_it_is_read(client):
    answer = client.post("/projects/1/photos/", {"files": "x" * 100_000})
    assert answer.status_code == 403
    assert "Sign in first" in answer.content.decode()


@pytest.mark.django_db
def test_a_database_that_does_not_answer_is_told(client, monkeypatch):
    def broken(*_args):
        raise DatabaseError("gone")

    monkeypatch.setattr("studio.views.web.health.connection.cursor", broken)
    answer = client.get("/health/")
    assert answer.status_code == 503
    assert "the database does not answer" in answer.content.decode()


@pytest.mark.django_db
def test_a_sign_that_no_database_keeps_is_a_sentence(client, school):
    client.force_login(school.student)
    path = f"/pieces/{school.piece.pk}/intent/"
    answer = client.post(path, {"intent": "a\0b"})
    assert answer.status_code == 400
    assert "a sign that no keyboard writes" in answer.content.decode()
    for_a_script = client.post(path, {"intent": "a\0b"}, headers={"Accept": "application/json"})
    assert for_a_script["Content-Type"].startswith("text/plain")


def test_a_part_of_a_page_never_holds_the_sign_in_page(client, db):
    path = reverse("second_looks_asked")
    assert client.get(path).status_code == 302
    answer = client.get(path, headers={"hx-request": "true"})
    assert (answer.status_code, answer.content) == (401, b"Sign in again.")
