"""A student judges, reads, answers and sees the own way; the teacher sees what was said."""

import pytest
from django.urls import reverse

from rubrics.judging import marking
from rubrics.judging.self_judging import OwnJudgement, judge_own
from rubrics.models import Assessment, NextStep
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from tests.factories import make_piece, make_project
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def judged(school):
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    return school


def tell(judged, piece, level=3, step=""):
    version = 0
    for criterion in judged.c.values():
        mark = marking.set_level(piece, criterion, level, judged.teacher, expected_version=version)
        version = mark.assessment.version
    if step:
        marking.set_words(
            piece, judged.teacher, words="", next_step=step, seen_words="", seen_next_step=""
        )
    publish(piece.project, judged.teacher, [piece])


def page(client, name, *args):
    return page_text(client.get(reverse(name, args=args)))


def test_a_student_judges_the_own_piece_and_reads_it_beside_the_teachers(client, judged):
    client.force_login(judged.student)
    form = page(client, "judge_own", judged.piece.pk)
    assert all(level.descriptor.split(",")[0] in form for level in judged.c["A"].levels.all())
    sent = {f"level_{judged.c['A'].pk}": "4", "worked": "The rim is true.", "to_try": "Thinner."}
    client.post(reverse("judge_own", args=[judged.piece.pk]), sent)
    tell(judged, judged.piece)
    told = page(client, "feedback", judged.piece.pk)
    assert told.count("You judged it yourself") == 1
    assert "The rim is true." in told
    own = Assessment.objects.get(kind="self")
    assert [(m.criterion.letter, m.level.number) for m in own.marks.all()] == [("A", 4)]
    assert Assessment.objects.get(kind="teacher").shown["percent"] == "85"


def test_a_level_that_a_student_chose_can_be_taken_back(client, judged):
    url = reverse("judge_own", args=[judged.piece.pk])
    a, b = (f"level_{judged.c[letter].pk}" for letter in "AB")
    client.force_login(judged.student)
    client.post(url, {a: "4", b: "2"})
    form = page(client, "judge_own", judged.piece.pk)
    assert form.count("Not judged") == len(judged.c)
    client.post(url, {a: "4", b: ""})
    own = Assessment.objects.get(kind="self")
    assert [(m.criterion.letter, m.level.number) for m in own.marks.all()] == [("A", 4)]
    answer = client.post(url, {a: "", b: ""}, follow=True)
    assert "Taken back" in page_text(answer)
    assert not Assessment.objects.filter(kind="self").exists()
    # Nothing at all, where nothing was judged, is told and not kept.
    assert "Choose a level" in page_text(client.post(url, {a: ""}))


def test_the_own_judgement_stands_once_the_marks_are_told(client, judged):
    mine = OwnJudgement({judged.c["B"].pk: 2}, "Even wall.", "")
    judge_own(judged.piece, judged.student, mine)
    tell(judged, judged.piece)
    with pytest.raises(marking.GradingError, match="stays as it was"):
        judge_own(judged.piece, judged.student, OwnJudgement({}, "Better now.", ""))
    client.force_login(judged.student)
    answer = client.post(reverse("judge_own", args=[judged.piece.pk]), {"worked": "Better now."})
    assert answer.url == reverse("feedback", args=[judged.piece.pk])
    assert Assessment.objects.get(kind="self").words == "Even wall."


def test_nobody_else_judges_as_the_maker(judged):
    with pytest.raises(marking.GradingError, match="Only who made"):
        judge_own(judged.piece, judged.other_student, OwnJudgement({}, "Mine.", ""))


def test_a_step_is_answered_seen_and_comes_back_with_the_next_piece(client, judged):
    tell(judged, judged.piece, step="Level the rim on a board.")
    step = NextStep.objects.get()
    client.force_login(judged.student)
    assert "Read it, and say what you will try." in page(client, "student_waits")
    path = reverse("step_answer", args=[step.pk])
    client.post(path, {"taken_up": "1", "reply": "I will use the glass plate."})
    step.refresh_from_db()
    assert (step.reply, step.taken_up_at is None) == ("I will use the glass plate.", False)
    assert "Read it, and say" not in page(client, "student_waits")
    later = make_piece(make_project(judged.section, "Box", number=4), judged.amara, "K4-01")
    waits = page(client, "student_waits")
    assert "Before your next piece" in waits
    assert "I will use the glass plate." in waits
    client.force_login(judged.teacher)
    choose_rubric(later.project, judged.rubric)
    assert "I will use the glass plate." in page(client, "judge_piece", judged.piece.pk)
    assert "I will use the glass plate." in page(client, "judge_piece", later.pk)
    client.force_login(judged.other_student)
    assert client.post(path, {"reply": "no"}).status_code == 404


@pytest.mark.parametrize(
    ("levels", "word"),
    [
        ((1, 2, 3, 4), "Too early to tell"),
        ((1, 1, 1, 2, 2, 3, 3, 3, 4, 4), "Rising"),
        ((3, 3, 3, 3, 3, 3, 3), "Steady"),
    ],
)
def test_progress_says_no_more_than_it_can(client, judged, levels, word):
    for number, level in enumerate(levels, start=10):
        project = make_project(judged.section, f"Cup {number}", number=number)
        choose_rubric(project, judged.rubric)
        tell(judged, make_piece(project, judged.amara, f"P-{number}"), level)
    client.force_login(judged.student)
    told = page(client, "progress", judged.amara.pk)
    if word == "Too early to tell":  # said once for all lines
        assert told.count("is too early to tell.") == 1
        assert "Rising" not in told
    else:
        assert told.count(f"<td>{word}") == len(judged.c)
    assert "Bao" not in told
    assert client.get(reverse("progress", args=[judged.bao.pk])).status_code == 404


def test_progress_costs_the_same_for_many_projects(client, judged, count_queries):
    client.force_login(judged.student)
    path = reverse("progress", args=[judged.amara.pk])
    tell(judged, judged.piece)
    few = count_queries(client, path)
    for number in range(10, 14):
        project = make_project(judged.section, f"Cup {number}", number=number)
        choose_rubric(project, judged.rubric)
        tell(judged, make_piece(project, judged.amara, f"P-{number}"))
    assert count_queries(client, path) == few


def test_agreement_is_not_told_of_a_few_pieces(client, judged):
    mine = OwnJudgement({each.pk: 4 for each in judged.c.values()}, "", "")
    judge_own(judged.piece, judged.student, mine)
    tell(judged, judged.piece)
    client.force_login(judged.teacher)
    told = page(client, "self_agreement", judged.project.pk)
    assert "0 are the same, 9 higher and 0 lower" in told
    assert "Too few pieces were read by both: 1" in told
    assert "kappa" not in told


def test_the_intent_is_three_choices_and_words(client, judged):
    client.force_login(judged.student)
    client.post(
        reverse("piece_intent", args=[judged.piece.pk]),
        {
            "intent_seam": "hidden",
            "intent_accent": "rim",
            "intent_handle": "opposite",
            "intent": "",
        },
    )
    told = page(client, "piece", judged.piece.pk)
    assert "Seam: hidden. The eye goes first to the rim. Handle: opposite the seam." in told
