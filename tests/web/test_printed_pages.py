"""Every PDF tells its language and its title to a program that reads it aloud."""

import io

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests.web.test_doors import ARGUMENTS, DOORS, IN, ROLES
from tests.world import make_world

pytestmark = pytest.mark.django_db


def test_every_printed_page_names_its_language_and_has_a_title():
    world = make_world()
    client = Client()
    client.force_login(world.people["teacher"])
    printed = []
    for name, kind in DOORS["GET"].items():
        if kind[ROLES.index("teacher")] != IN:
            continue
        path = reverse(name, kwargs={key: world.ids[key] for key in ARGUMENTS[name]})
        answer = client.get(path, follow=True)
        if answer.headers["Content-Type"] != "application/pdf":
            continue
        data = b"".join(answer.streaming_content) if answer.streaming else answer.content
        file = PdfReader(io.BytesIO(data))
        assert file.trailer["/Root"].get("/Lang") in ("en", "es"), name
        assert file.metadata.title, name
        assert file.metadata.title != "untitled", name
        printed.append(name)
    assert len(printed) >= 8, printed
