"""A class of five in which a critique is open."""

from types import SimpleNamespace

import pytest

from rubrics.critique import gate, opening, writing
from rubrics.models import Critique, Look, Remark
from tests.factories import make_piece, make_student, make_user

GOOD = "Try a wider foot, because it rocks on the table."
# Long enough to stand in no page by chance, as a key of a record would.
SEED = 730_451_926


@pytest.fixture
def five(school):
    """The school with three makers more; all five have a piece and a login, in order ``pieces``."""
    names = ("Camila R.", "Dmitri V.", "Elif K.")
    logins = [make_user(f"student-{number}") for number in range(len(names))]
    students = [
        make_student(school.section, name, login=login)
        for name, login in zip(names, logins, strict=True)
    ]
    more = [
        make_piece(school.project, student, f"K3-0{number}")
        for number, student in enumerate(students, start=3)
    ]
    school.pieces = [school.piece, school.other_piece, *more]
    school.students = [school.amara, school.bao, *students]
    return school


@pytest.fixture
def critique(five):
    """A critique of the five, three readers a piece, names hidden; its school as ``school``."""
    opened = opening.open_critique(
        Critique(project=five.project, readers=3), five.teacher, five.pieces, seed=SEED
    )
    opened.school = five
    return opened


@pytest.fixture
def sent(critique):
    """One reader's remark on the first piece, sent; with ``look``, ``remark`` and ``reader``."""
    look = Look.objects.filter(shown__critique=critique, shown__piece=critique.school.piece).first()
    writing.save_box(look, Remark.Box.TRY, writing.Written(GOOD), version=0)
    writing.send(look)
    remark = look.remarks.get()
    return SimpleNamespace(
        critique=critique,
        school=critique.school,
        look=look,
        remark=remark,
        reader=look.reader,
    )


@pytest.fixture
def passed(sent):
    """The same, let through to the maker."""
    gate.let_through(sent.critique, [(sent.remark.pk, sent.remark.version)], sent.school.teacher)
    sent.remark.refresh_from_db()
    return sent
