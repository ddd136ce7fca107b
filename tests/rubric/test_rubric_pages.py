"""The rubric pages as teacher, colleague, head, student and outsider meet them."""

import pytest

from rubrics.forms.rubric.rubrics import initial_of
from rubrics.judging.marking import open_assessment
from rubrics.models import Rubric, RubricUse
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric, content_of, copy_rubric, fingerprint


@pytest.fixture
def shelf(school):
    """The school with the starter rubric and the teacher's own copy of it."""
    school.starter = ensure_starter_rubric()
    school.own = copy_rubric(school.starter, school.teacher)
    return school


def fields(rubric: Rubric) -> dict:
    """What the editor's form sends back when nothing is touched."""
    head, criteria = initial_of(rubric.name, content_of(rubric))
    head["seen"] = fingerprint(rubric)
    data = {f"head-{name}": value for name, value in head.items()}
    for place, initial in enumerate(criteria):
        data |= {f"criteria-{place}-{name}": value for name, value in initial.items()}
    blank = f"criteria-{len(criteria)}"
    data |= {f"{blank}-group": "craft", f"{blank}-letter": "", f"{blank}-name": ""}
    counts = {"TOTAL_FORMS": len(criteria) + 1, "INITIAL_FORMS": len(criteria)}
    data |= {f"criteria-{name}": value for name, value in counts.items()}
    return data


def edit(client, shelf, **changes):
    client.force_login(shelf.teacher)
    return client.post(f"/rubrics/{shelf.own.pk}/edit/", fields(shelf.own) | changes)


def test_the_list_has_own_rubrics_and_the_starter(client, shelf):
    client.force_login(shelf.teacher)
    page = client.get("/rubrics/")
    assert page.context["own"] == [shelf.own]
    assert [each.name for each in page.context["shipped"]] == [
        "Slab cup with a squared foot",
        "Pinch or coil form",
        "Free form",
    ]


def test_each_reads_what_is_theirs(client, shelf):
    choose_rubric(shelf.project, shelf.own)
    answers = {}
    for name in ("teacher", "head", "student", "colleague", "outsider"):
        client.force_login(getattr(shelf, name))
        answers[name] = client.get(f"/rubrics/{shelf.own.pk}/").status_code
    assert answers == {
        "teacher": 200,
        "head": 200,
        "student": 200,
        "colleague": 404,
        "outsider": 404,
    }


def test_only_the_owner_edits(client, shelf):
    choose_rubric(shelf.project, shelf.own)
    answers = {}
    for name in ("teacher", "head", "student", "colleague"):
        client.force_login(getattr(shelf, name))
        answers[name] = client.get(f"/rubrics/{shelf.own.pk}/edit/").status_code
    assert answers == {"teacher": 200, "head": 403, "student": 403, "colleague": 404}


def test_nobody_edits_the_starter_but_anyone_grown_up_takes_a_copy(client, shelf):
    client.force_login(shelf.colleague)
    assert client.get(f"/rubrics/{shelf.starter.pk}/edit/").status_code == 403
    client.post(f"/rubrics/{shelf.starter.pk}/copy/")
    assert Rubric.objects.filter(owner=shelf.colleague).count() == 1
    client.force_login(shelf.student)
    assert client.post(f"/rubrics/{shelf.starter.pk}/copy/").status_code == 403
    assert client.get("/rubrics/").status_code == 403


def test_saving_untouched_changes_nothing(client, shelf):
    before = content_of(shelf.own)
    answer = edit(client, shelf)
    assert answer.status_code == 302
    assert content_of(shelf.own) == before


def test_one_page_changes_names_weights_words_limits_and_order(client, shelf):
    answer = edit(
        client,
        shelf,
        **{
            "head-name": "Mugs",
            "head-points_1": "50",
            "criteria-1-weight": "25",
            "criteria-1-descriptor_4": "Even.",
            "criteria-1-a_1": "0.8",
            "criteria-1-position": "99",
        },
    )
    assert answer.status_code == 302
    shelf.own.refresh_from_db()
    assert shelf.own.name == "Mugs"
    wall = shelf.own.criteria.last()
    assert (wall.letter, wall.weight) == ("B", 25)
    assert wall.levels.get(number=4).descriptor == "Even."
    assert {each.points for each in wall.levels.filter(number=1)} == {50}
    assert str(wall.limits.first().a) == "0.800"


def test_a_criterion_is_removed_and_another_added(client, shelf):
    new = {
        "letter": "j",
        "name": "Lid",
        "weight": "5",
        "group": "craft",
        **{f"descriptor_{n}": f"Lid {n}." for n in (4, 3, 2, 1)},
    }
    changes = {f"criteria-9-{name}": value for name, value in new.items()}
    edit(client, shelf, **{"criteria-0-DELETE": "on", **changes})
    assert [each.letter for each in shelf.own.criteria.all()] == list("BCDEFGHIJ")
    assert shelf.own.criteria.last().limits.count() == 0


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"criteria-1-weight": "heavy"}, "criteria-1-weight", "Write the weight as a number"),
        ({"criteria-1-weight": "0"}, "criteria-1-weight", "A weight is above 0"),
        ({"criteria-1-weight": "-3"}, "criteria-1-weight", "A weight is above 0"),
        ({"criteria-1-weight": "NaN"}, "criteria-1-weight", "Write the weight as a number"),
        ({"criteria-1-letter": "A"}, "criteria-1-letter", "Two criteria have the letter A."),
        ({"criteria-1-b_1": "0.5"}, "criteria-1-b_1", "The limits rise from level 4 to level 2."),
        ({"criteria-1-c_1": ""}, "criteria-1-c_1", "A figure needs all three limits."),
        ({"criteria-1-figure_1": ""}, "criteria-1-figure_1", "Say which figure"),
        ({"criteria-1-descriptor_2": ""}, "criteria-1-descriptor_2", "Say what level 2 looks like"),
        ({"head-points_3": "101"}, "head-points_3", "Points go from 0 to 100."),
        ({"head-points_2": "99"}, "head-points_2", "A lower level is never worth more"),
        ({"head-name": ""}, "head-name", "A rubric needs a name"),
    ],
)
def test_bad_input_is_told_at_its_field_and_nothing_is_lost(
    client, shelf, changes, field, sentence
):
    before = content_of(shelf.own)
    page = edit(client, shelf, **{"criteria-2-description": "TYPED-AND-KEPT", **changes})
    assert page.status_code == 422
    text = page.content.decode()
    assert sentence in text.split(f'name="{field}"')[1].split("</div>")[0]
    assert "TYPED-AND-KEPT" in text
    assert f'<a href="#id_{field}">' in text
    assert content_of(shelf.own) == before


def test_two_windows_do_not_overwrite_each_other_silently(client, shelf):
    opened = fields(shelf.own)
    edit(client, shelf, **{"head-name": "First"})
    page = client.post(f"/rubrics/{shelf.own.pk}/edit/", opened | {"head-name": "Second"})
    assert page.status_code == 422
    assert "saved from another window" in page.content.decode()
    shelf.own.refresh_from_db()
    assert shelf.own.name == "First"
    again = opened | {"head-name": "Second", "head-seen": page.context["head"]["seen"].value()}
    client.post(f"/rubrics/{shelf.own.pk}/edit/", again)
    shelf.own.refresh_from_db()
    assert shelf.own.name == "Second"


def test_all_criteria_removed_is_refused(client, shelf):
    page = edit(client, shelf, **{f"criteria-{n}-DELETE": "on" for n in range(9)})
    assert page.status_code == 422
    assert "A rubric needs at least one criterion." in page.content.decode()


def test_forms_that_were_tampered_with_get_a_sentence(client, shelf):
    page = edit(client, shelf, **{"criteria-TOTAL_FORMS": "x"})
    assert page.status_code == 422


def test_a_rubric_in_use_is_not_edited_but_gets_a_version(client, shelf):
    choose_rubric(shelf.project, shelf.own)
    open_assessment(shelf.piece, shelf.teacher)
    before = content_of(shelf.own)
    answer = edit(client, shelf, **{"head-name": "Changed"})
    assert (answer.status_code, answer.url) == (302, f"/rubrics/{shelf.own.pk}/")
    assert content_of(shelf.own) == before
    client.post(f"/rubrics/{shelf.own.pk}/version/")
    assert Rubric.objects.get(owner=shelf.teacher, version=2).previous == shelf.own


def test_a_teacher_chooses_the_rubric_of_a_project(client, shelf):
    client.force_login(shelf.teacher)
    client.post(f"/projects/{shelf.project.pk}/rubric/", {"rubric": shelf.own.pk})
    assert RubricUse.objects.get(project=shelf.project).rubric == shelf.own


@pytest.mark.parametrize("value", ["", "x", "999999"])
def test_choosing_nothing_changes_nothing(client, shelf, value):
    client.force_login(shelf.teacher)
    answer = client.post(f"/projects/{shelf.project.pk}/rubric/", {"rubric": value}, follow=True)
    assert "Choose one of the rubrics first." in answer.content.decode()
    assert not RubricUse.objects.exists()


def test_a_rubric_that_is_not_visible_cannot_be_chosen(client, shelf):
    theirs = copy_rubric(shelf.starter, shelf.colleague)
    client.force_login(shelf.teacher)
    client.post(f"/projects/{shelf.project.pk}/rubric/", {"rubric": theirs.pk})
    assert not RubricUse.objects.exists()


def test_only_the_teacher_chooses(client, shelf):
    answers = {}
    for name in ("head", "student", "colleague"):
        client.force_login(getattr(shelf, name))
        url = f"/projects/{shelf.project.pk}/rubric/"
        answers[name] = client.post(url, {"rubric": shelf.own.pk}).status_code
    assert answers == {"head": 403, "student": 404, "colleague": 404}
    assert not RubricUse.objects.exists()
