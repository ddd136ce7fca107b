"""A private reason and a private note stay with the teacher: every address, as every reader.

An agreed accommodation and the note on access are told to nobody else, and are in no file that
leaves the site, the teacher's own files included.
"""

import io
import zipfile

from django.db import transaction
from django.test import Client, TestCase
from django.urls import reverse
from pypdf import PdfReader

from rubrics.judging import marking
from rubrics.models import Mark, Rubric
from studio.models import Enrolment, Student
from tests.web.test_doors import ARGUMENTS, DOORS, ROLES
from tests.world import make_world

REASON, EXCUSE, WHY, NOTE = "plumbago", "zibeline", "borzoi", "quokka"
"""Words that the site has no other use for."""

ON_SCREEN = ("text/html", "application/json")
"""What a page shows or asks for while it is open; all else is a file."""


def words_of(content: bytes, kind: str) -> str:
    """All text of an answer: a PDF's and a packed file's too."""
    if kind.startswith("application/pdf"):
        return "\n".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    if zipfile.is_zipfile(io.BytesIO(content)):
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            return "\n".join(
                name + words_of(packed.read(name), "application/pdf" if ".pdf" in name else "")
                for name in packed.namelist()
            )
    return content.decode("utf-8", errors="replace")


class PrivateWords(TestCase):
    @classmethod
    def setUpTestData(cls):
        cls.world = make_world()
        cls.piece = Student.objects.get(name="Amara O.").pieces.get(code="K3-01")
        teacher = cls.world.people["teacher"]
        lowered, excused = Rubric.objects.get(pk=cls.world.ids["rubric_id"]).criteria.all()[:2]
        version = cls.piece.assessments.get(kind="teacher").version
        for change in (
            lambda version: marking.set_level(
                cls.piece,
                lowered,
                2,
                teacher,
                expected_version=version,
                reason=Mark.Reason.ACCESS,
                reason_text=REASON,
                why=WHY,
            ),
            lambda version: marking.excuse(
                cls.piece,
                excused,
                teacher,
                expected_version=version,
                reason=Mark.Reason.ACCESS,
                reason_text=EXCUSE,
                why=WHY,
            ),
        ):
            version = change(version).assessment.version
        Enrolment.objects.filter(student=cls.piece.student_id).update(note=NOTE)

    def test_nobody_else_reads_them_and_no_file_carries_them(self):
        told_to_teacher = set()
        for name in DOORS["GET"]:
            for role in ROLES:
                words, on_screen = self.read(role, name)
                found = {word for word in (REASON, EXCUSE, WHY, NOTE) if word in words.lower()}
                if role == "teacher" and on_screen:
                    told_to_teacher |= found
                    continue
                with self.subTest(address=name, role=role):
                    assert not found
        assert told_to_teacher == {REASON, EXCUSE, WHY, NOTE}

    def read(self, role, name):
        client = Client()
        if self.world.people[role] is not None:
            client.force_login(self.world.people[role])
        ids = self.world.ids
        with transaction.atomic():
            answer = client.get(reverse(name, kwargs={key: ids[key] for key in ARGUMENTS[name]}))
            content = b"".join(answer.streaming_content) if answer.streaming else answer.content
            transaction.set_rollback(True)
        kind = answer.headers.get("Content-Type", "")
        is_file = "Content-Disposition" in answer.headers
        return words_of(content, kind), kind.startswith(ON_SCREEN) and not is_file
