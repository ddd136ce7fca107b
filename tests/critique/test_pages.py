"""The pages of a critique: who reads which name, what a form without a script keeps, queries."""

import pytest
from django.urls import reverse

from rubrics.critique import gate, opening, writing
from rubrics.critique.pairs import keep_apart
from rubrics.judging.marking import set_level
from rubrics.judging.self_judging import OwnJudgement, judge_own
from rubrics.models import Critique, Look, Mark, Remark
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, copy_rubric
from studio.photos import storing
from tests.critique.conftest import GOOD
from tests.factories import make_piece, make_student
from tests.pages import page_text
from tests.photos.photo_files import plain_picture


@pytest.fixture
def as_user(client):
    """Return ``as_user(user)``: the client signed in."""

    def sign_in(user):
        client.force_login(user)
        return client

    return sign_in


def text_of(client, name, *args, status=200):
    answer = client.get(reverse(name, args=args))
    assert answer.status_code == status
    return answer.content.decode()


def test_opening_deals_and_says_the_number(as_user, five):
    page = as_user(five.teacher)
    pieces = [piece.pk for piece in five.pieces]
    asked = {
        "kind": "middle",
        "readers": 2,
        "names_hidden": "on",
        "pieces": pieces,
        "maker_first_s": 60,
        "group_s": 180,
        "maker_last_s": 60,
    }
    answer = page.post(reverse("critique_new", args=[five.project.pk]), asked)
    made = Critique.objects.get()
    assert answer.url == reverse("critique", args=[made.pk])
    assert str(made.seed) in text_of(page, "critique", made.pk)
    assert Look.objects.filter(shown__critique=made).count() == 2 * len(pieces)


def test_too_few_pieces_are_told_and_what_was_chosen_stays(as_user, five):
    page = as_user(five.teacher)
    asked = {"kind": "finished", "readers": 4, "pieces": [five.piece.pk, five.other_piece.pk]}
    asked |= {"maker_first_s": 61, "group_s": 180, "maker_last_s": 60}
    shown = page.post(reverse("critique_new", args=[five.project.pk]), asked).content.decode()
    assert "2 makers are too few for 4 readers" in shown
    assert 'value="61"' in shown
    assert not Critique.objects.exists()


def test_a_reader_sees_no_makers_name_and_a_maker_no_readers(as_user, passed):
    school, reader = passed.school, passed.reader
    page = text_of(as_user(reader.login), "look", passed.look.pk)
    assert school.piece.code in page
    assert school.amara.name not in page
    came = text_of(as_user(school.student), "remarks", school.piece.pk)
    assert GOOD in came
    assert all(student.name not in came for student in school.students)


def test_where_names_are_shown_both_are_read(as_user, five):
    made = opening.open_critique(
        Critique(project=five.project, readers=2, names_hidden=False),
        five.teacher,
        five.pieces,
        seed=3,
    )
    look = Look.objects.filter(shown__critique=made, shown__piece=five.piece).first()
    writing.save_box(look, Remark.Box.TRY, writing.Written(GOOD), version=0)
    writing.send(look)
    remark = look.remarks.get()
    gate.let_through(made, [(remark.pk, remark.version)], five.teacher)
    assert five.amara.name in text_of(as_user(look.reader.login), "look", look.pk)
    assert look.reader.name in text_of(as_user(five.student), "remarks", five.piece.pk)


def test_a_head_reads_what_passed_but_no_writer_and_no_pair(as_user, passed):
    school = passed.school
    keep_apart(school.section, school.students[3], school.students[4])
    head = as_user(school.head)
    whole = text_of(head, "critique", passed.critique.pk)
    assert "Read by" not in whole
    assert str(passed.critique.seed) not in whole
    piece = text_of(head, "critique_piece", passed.critique.pk, school.piece.pk)
    assert GOOD in piece
    assert passed.reader.name not in piece
    assert "apart" not in text_of(head, "critiques", school.project.pk)


def test_self_peers_and_teacher_stand_beside_each_other_as_they_are_kept(as_user, passed):
    school = passed.school
    rubric = copy_rubric(ensure_starter_rubric(), school.teacher)
    choose_rubric(school.project, rubric)
    first, second, third = list(rubric.criteria.all())[:3]
    judge_own(
        school.piece, school.student, OwnJudgement({first.pk: 4, second.pk: 3}, "The curve.", "Dry")
    )
    version = 0
    for criterion, level in ((first, 2), (second, 3), (third, 1)):
        mark = set_level(
            school.piece, criterion, level, school.teacher,
            expected_version=version, reason=Mark.Reason.SEEN,
        )  # fmt: skip
        version = mark.assessment.version

    answer = as_user(school.teacher).get(
        reverse("critique_piece", args=[passed.critique.pk, school.piece.pk])
    )
    rows = {
        row["criterion"].pk: tuple(
            getattr(row.get(side), "number", None) for side in ("own", "theirs")
        )
        for row in answer.context["levels"]
    }
    assert rows == {first.pk: (4, 2), second.pk: (3, 3), third.pk: (None, 1)}
    page = page_text(answer)
    own, peers, teacher = (page.index(f'id="{name}"') for name in ("self", "peers", "teacher"))
    assert own < page.index("The curve.") < peers < page.index(GOOD) < teacher
    # Where the two differ the row says so, and only there.
    assert page.count('class="differs"') == 1
    # What is not published is nobody's yet but the teacher's.
    head = as_user(school.head).get(answer.request["PATH_INFO"])
    assert {tuple(row)[1:] for row in head.context["levels"]} == {("own",)}


def test_a_head_reads_no_remark_that_has_not_passed(as_user, sent):
    head = as_user(sent.school.head)
    args = (sent.critique.pk, sent.school.piece.pk)
    assert GOOD not in text_of(head, "critique_piece", *args)
    teacher = text_of(as_user(sent.school.teacher), "critique_piece", *args)
    assert GOOD in teacher
    assert sent.reader.name in teacher


def test_the_photo_of_a_dealt_piece_opens_for_its_reader_until_the_end(as_user, critique):
    piece = critique.school.piece
    upload = storing.take_in(plain_picture("tan", (64, 48)), "a.jpg")
    photo = storing.store(piece.section, piece, upload, None)
    look = Look.objects.filter(shown__critique=critique, shown__piece=piece).first()
    page = as_user(look.reader.login)
    there = reverse("look_photo", args=[look.pk, photo.pk, "middle"])
    assert page.get(there).status_code == 200
    assert page.get(reverse("photo", args=[photo.pk, "middle"])).status_code == 404
    other = Look.objects.filter(shown__critique=critique, reader=look.reader).exclude(pk=look.pk)
    elsewhere = reverse("look_photo", args=[other.first().pk, photo.pk, "middle"])
    assert page.get(elsewhere).status_code == 404
    opening.close(critique)
    assert page.get(there).status_code == 404


def test_a_form_without_a_script_keeps_all_five_and_sends(as_user, critique):
    look = Look.objects.filter(shown__critique=critique).first()
    page = as_user(look.reader.login)
    there = reverse("look", args=[look.pk])
    sent = {"see-text": "A level rim.", "see-version": 0, "try-text": "", "try-version": 0}
    page.post(there, sent)
    assert look.remarks.get().text == "A level rim."
    # A stale page is told so; both wordings stand on it, and the stored one is not touched.
    stale = page.post(there, {"see-text": "Another.", "see-version": 0}).content.decode()
    assert "Another." in stale
    assert "A level rim." in stale
    assert look.remarks.get().text == "A level rim."
    page.post(there, {"see-text": "A level rim here.", "see-version": 1, "send": "1"})
    assert look.remarks.get().state == "waiting"


def test_the_script_is_answered_with_the_version_or_with_both_words(as_user, critique):
    look = Look.objects.filter(shown__critique=critique).first()
    page = as_user(look.reader.login)
    there = reverse("look_save", args=[look.pk])
    asked = {"box": "see", "text": "A rim", "place": "", "photo": "", "x": "", "y": ""}
    assert page.post(there, asked | {"version": 0}).json()["version"] == 1
    told = page.post(there, asked | {"version": 0, "text": "A foot"})
    assert (told.status_code, told.json()["state"], told.json()["text"]) == (
        409,
        "conflict",
        "A rim",
    )
    assert page.post(there, asked).json()["state"] == "problem"


def test_many_go_through_at_once_and_what_changed_is_told(as_user, sent):
    page = as_user(sent.school.teacher)
    there = reverse("gate", args=[sent.critique.pk])
    nothing = page.post(there, {"let": "1"}).content.decode()
    assert "Tick the remarks first" in nothing
    ids = [f"{sent.remark.pk}:{sent.remark.version}", f"{sent.remark.pk}:77", "x:y"]
    told = page.post(there, {"let": "1", "seen": ids}, follow=True).content.decode()
    assert "1 remark went to their makers" in told
    assert "1 remark was changed or ruled meanwhile" in told


def test_a_refused_answer_keeps_what_was_typed(as_user, passed):
    page = as_user(passed.school.student)
    there = reverse("remark_answer", args=[passed.remark.pk])
    key = f"r{passed.remark.pk}"
    shown = page.post(there, {f"{key}-answer": "not", f"{key}-helped": "on"})
    assert shown.status_code == 400
    assert "Say why you do not take it up" in shown.content.decode()
    assert " checked" in shown.content.decode().partition("-helped")[2][:200]
    page.post(there, {f"{key}-answer": "not", f"{key}-why": "It is meant."})
    passed.remark.refresh_from_db()
    assert passed.remark.why == "It is meant."


def test_what_was_written_on_paper_is_typed_in_by_the_teacher(as_user, critique):
    look = Look.objects.filter(shown__critique=critique).first()
    page = as_user(critique.school.teacher)
    there = reverse("look_typed", args=[look.pk])
    page.post(there, {"see-text": "A level rim.", "see-place": "rim", "see-version": 0})
    look.refresh_from_db()
    remark = look.remarks.get()
    assert (remark.state, remark.place) == ("waiting", "rim")
    assert look.typed_by == critique.school.teacher


def test_the_large_screen_shows_words_that_passed_and_no_writer(as_user, passed):
    school = passed.school
    page = as_user(school.teacher)
    there = reverse("critique_day", args=[passed.critique.pk])
    shown = page.get(f"{there}?piece={school.piece.pk}").content.decode()
    words = text_of(page, "critique_day_words", passed.critique.pk, school.piece.pk)
    for each in (shown, words):
        assert GOOD in each
        assert passed.reader.name not in each
    assert page.get(f"{there}?piece=nonsense").status_code == 200


def test_students_find_what_waits_on_their_first_page(as_user, passed):
    waits = text_of(as_user(passed.school.student), "student_waits")
    assert f"1 remark on {passed.school.piece.code} came" in waits
    assert "is yours to read" in waits


@pytest.mark.parametrize(
    ("name", "who"),
    [
        ("critique", "teacher"),
        ("gate", "teacher"),
        ("critique_day", "teacher"),
        ("critique_piece", "teacher"),
        ("looks", "reader"),
        ("look", "reader"),
        ("remarks", "student"),
        ("student_waits", "student"),
        ("judge_state", "teacher"),
    ],
)
def test_a_longer_list_costs_no_more_queries(client, count_queries, passed, name, who):
    school, critique = passed.school, passed.critique
    args = {
        "critique_piece": [critique.pk, school.piece.pk],
        "looks": [],
        "student_waits": [],
        "look": [passed.look.pk],
        "remarks": [school.piece.pk],
        "judge_state": [school.project.pk],
    }.get(name, [critique.pk])
    user = {"teacher": school.teacher, "reader": passed.reader.login, "student": school.student}
    client.force_login(user[who])
    there = reverse(name, args=args)
    count_queries(client, there)
    before = count_queries(client, there)
    more(passed)
    assert count_queries(client, there) == before


def more(passed) -> None:
    """Fill every box of every look, let half through, and open a second critique like the first."""
    school = passed.school
    for number in range(6, 12):
        student = make_student(school.section, f"Student {number}")
        make_piece(school.project, student, f"K3-{number:02}")
    second = opening.open_critique(
        Critique(project=school.project, readers=3),
        school.teacher,
        opening.pieces_to_show(school.project),
        seed=11,
    )
    for critique in (passed.critique, second):
        for look in Look.objects.filter(shown__critique=critique):
            for box in Remark.Box.values:
                if not look.remarks.filter(box=box).exists():
                    written = writing.Written(f"{GOOD} {look.pk}")
                    writing.save_box(look, box, written, version=0)
            writing.send(look)
        rows = [(row.remark.pk, row.remark.version) for row in gate.at_the_gate(critique)]
        gate.let_through(critique, rows[::2], school.teacher)
