"""Every field of every form with what no hand writes: a sentence, never a fault of the site."""

import re
from html.parser import HTMLParser

import pytest
from django.db import transaction
from django.test import Client, TestCase
from django.urls import reverse

from tests.web.test_doors import ARGUMENTS, DOORS, IN, ROLES
from tests.world import make_world

HOSTILE = {
    "a NUL": "a\0b",
    "5,000 digits": "9" * 5000,
    "year 1": "0001-01-01",
    "year 9999": "9999-12-31",
    "not a number": "NaN",
    "without end": "-Infinity",
    "a huge power": "1e400",
    "one over the largest id": str(2**63),
    "an Arabic digit": "\u0663",
    "a lone surrogate in JSON": '{"a": "\\ud800", "b": ["\\u0000"]}',
    "a list in JSON": "[[[[1]]]]",
    "one long word": "m" * 200_000,
    "right to left and combining": "\u202e" + "e\u0301" * 2000 + "\ufffe",
}


class Fields(HTMLParser):
    """The names of all fields of a page."""

    def __init__(self):
        super().__init__()
        self.names: set[str] = set()

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag in {"input", "select", "textarea", "button"} and found.get("name"):
            self.names.add(found["name"])


def fields_of(page: str) -> set[str]:
    parser = Fields()
    parser.feed(page)
    return parser.names - {"csrfmiddlewaretoken"}


# Fields that no form of a page names, since a script sends them.
SENT_BY_SCRIPTS = {
    "reading_save": ("piece", "set", "stage", "column", "value", "where", "base", "instrument"),
    "mark_save": ("criterion", "level", "chosen", "version", "note", "reason", "why", "action"),
    "words_save": ("words", "next_step", "strength", "seen_words", "seen_next_step", "version"),
    "look_save": ("box", "text", "place", "photo", "x", "y", "version"),
    "photo_sizes": ("points", "height", "size", "state"),
    "photo_seam": ("points", "x", "y"),
    "photo_read": ("wait",),
    "plan_figures": ("capacity_ml", "height", "rim_diameter", "foot_side", "wall"),
    "last_look_save": ("piece", "words", "next_step", "version", "strength"),
    "report_chunk": ("run", "chunk", "students"),
    "report_run": ("students", "day", "order"),
}
MOST_FIELDS = 25
"""Of one page: a sheet has hundreds that are alike."""
IN_ADDRESSES = (
    *("page", "day", "week", "set", "stage", "at", "q", "next", "wait", "board", "criterion"),
    *("piece", "photo", "kiln", "kind", "paper", "unit", "order", "copy", "from", "to", "with"),
)


class Hostile(TestCase):
    """The world is made once; what is written is rolled back each time."""

    @classmethod
    def setUpTestData(cls):
        cls.world = make_world()

    def client_of(self, role):
        client = Client()
        client.force_login(self.world.people[role])
        return client

    def path(self, name):
        return reverse(name, kwargs={key: self.world.ids[key] for key in ARGUMENTS[name]})

    def who(self, kind):
        return next((role for role, way in zip(ROLES, kind, strict=True) if way == IN), None)

    def test_every_field_of_every_form(self):
        for name, kind in DOORS["POST"].items():
            role = self.who(kind)
            if role is None or role == "nobody":
                continue
            client, path = self.client_of(role), self.path(name)
            names = set(SENT_BY_SCRIPTS.get(name, ()))
            if name in DOORS["GET"]:
                answer = client.get(path)
                if answer.status_code == 200 and "html" in answer["Content-Type"]:
                    names |= fields_of(answer.content.decode())
            for said, value in HOSTILE.items():
                with self.subTest(address=name, value=said), transaction.atomic():
                    answer = client.post(path, dict.fromkeys(names, value))
                    assert answer.status_code < 500, answer.status_code
                    b"".join(answer)
                    transaction.set_rollback(True)

    def test_one_field_at_a_time(self):
        """The others as the page had them, so that a form comes as far as that field."""
        for name, kind in DOORS["POST"].items():
            role = self.who(kind)
            if role is None or role == "nobody" or name not in DOORS["GET"]:
                continue
            client, path = self.client_of(role), self.path(name)
            answer = client.get(path)
            if answer.status_code != 200 or "html" not in answer["Content-Type"]:
                continue
            page = answer.content.decode()
            filled = values_of(page)
            for field in sorted(fields_of(page))[:MOST_FIELDS]:
                for said in ("year 1", "one over the largest id"):
                    with self.subTest(address=name, field=field, value=said), transaction.atomic():
                        answer = client.post(path, filled | {field: HOSTILE[said]})
                        assert answer.status_code < 500, answer.status_code
                        transaction.set_rollback(True)

    def test_every_address_with_hostile_words_after_it(self):
        for name, kind in DOORS["GET"].items():
            role = self.who(kind)
            if role is None:
                continue
            client, path = self.client_of(role), self.path(name)
            for said, value in HOSTILE.items():
                if len(value) > 10_000:
                    continue  # no server takes so long an address
                with self.subTest(address=name, value=said):
                    answer = client.get(path, dict.fromkeys(IN_ADDRESSES, value))
                    assert answer.status_code < 500, answer.status_code


def values_of(page: str) -> dict[str, str]:
    """What the page's plain inputs hold, and the first choice of each list."""
    found = {}
    for tag in re.findall(r"<input[^>]*>", page):
        attrs = dict(re.findall(r'([a-z-]+)="([^"]*)"', tag))
        if attrs.get("name") and attrs.get("type") not in {"checkbox", "radio", "file", "submit"}:
            found[attrs["name"]] = attrs.get("value", "")
        elif attrs.get("type") == "radio" and (" checked" in tag or attrs.get("name") not in found):
            found[attrs.get("name", "")] = attrs.get("value", "")
    for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', page, re.S):
        chosen = re.search(r'value="([^"]*)"[^>]*selected', options)
        first = re.search(r'value="([^"]+)"', options)
        found[name] = (chosen or first)[1] if (chosen or first) else ""
    for name, text in re.findall(
        r'<textarea[^>]*name="([^"]+)"[^>]*>\s*(.*?)</textarea>', page, re.S
    ):
        found[name] = text
    found.pop("csrfmiddlewaretoken", None)
    return found


@pytest.mark.parametrize("page", ['<input name="a" value="b"><textarea name="c">d</textarea>'])
def test_the_fields_of_a_page_are_found(page):
    assert fields_of(page) == {"a", "c"}
    assert values_of(page) == {"a": "b", "c": "d"}
