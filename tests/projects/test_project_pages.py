"""Projects, plans, pieces and clays, as a teacher meets them."""

import pytest

from studio.models import Clay, Project
from studio.projects.starter_clays import ensure_starter_clays
from tests.factories import make_piece, make_student, read
from tests.pages import page_text

pytestmark = pytest.mark.django_db


@pytest.fixture
def as_teacher(client, school):
    client.force_login(school.teacher)
    return client


def new_project(**over):
    return {"starter": "squared-cup", "number": "4", "title": "", "brief": "", "clay": ""} | over


def test_a_project_starts_from_a_plan_with_its_title_and_brief(as_teacher, school):
    ensure_starter_clays()
    clay = Clay.objects.get(owner=None, name="Mid-fire stoneware")
    path = f"/sections/{school.section.pk}/projects/new/"
    answer = as_teacher.post(path, new_project(clay=clay.pk))
    project = Project.objects.get(number=4)
    assert answer.url == f"/projects/{project.pk}/plan/"
    assert project.title == "Lidless slab cup with a squared foot"
    assert "two handles" in project.brief.replace("\n", " ")
    assert (project.plan.clay, project.plan.sizes.count()) == (clay, 4)


def test_a_project_that_cannot_start_keeps_what_was_entered(as_teacher, school):
    path = f"/sections/{school.section.pk}/projects/new/"
    page = page_text(
        as_teacher.post(
            path,
            new_project(number="3", title="Ours", begun_on="2026-09-10", due_on="2026-09-01"),
        )
    )
    assert "The section has a project 3 already." in page
    assert "It is due before it begins." in page
    assert 'value="Ours"' in page
    assert Project.objects.count() == 1


def test_a_colleagues_clay_is_not_on_offer(as_teacher, school):
    hidden = Clay.objects.create(owner=school.colleague, name="HIDDEN CLAY")
    path = f"/sections/{school.section.pk}/projects/new/"
    assert "HIDDEN CLAY" not in page_text(as_teacher.get(path))
    assert "Select a valid choice" in page_text(as_teacher.post(path, new_project(clay=hidden.pk)))


def plan_data(plan, **over):
    data = {
        "building": "slab",
        "clay": plan.clay_id or "",
        "slab_mm": "1/4 in",
        "dart_count": "4",
        "fingers": "2",
        "handle_from_seam_deg": "180",
        "capacity_ml": "280",
        "line_ml": "",
        "sizes-TOTAL_FORMS": "4",
        "sizes-INITIAL_FORMS": "3",
    }
    for n, size in enumerate(plan.sizes.all()):
        data |= {
            f"sizes-{n}-id": size.pk,
            f"sizes-{n}-plan": plan.pk,
            f"sizes-{n}-name": size.name,
            f"sizes-{n}-fired_mm": f"{size.fired_mm:g}",
            f"sizes-{n}-height_mm": "",
        }
    data |= {"sizes-3-name": "", "sizes-3-fired_mm": "", "sizes-3-height_mm": ""}
    return data | over


def test_a_plan_takes_sizes_in_any_unit_and_tells_the_wet_ones(as_teacher, school):
    plan = school.project.plan
    path = f"/projects/{school.project.pk}/plan/"
    change = {
        "sizes-0-fired_mm": "90",
        "sizes-1-fired_mm": '3 1/2"',
        "sizes-3-name": "diameter",
        "sizes-3-fired_mm": "7.2 cm",
        "sizes-3-height_mm": "45",
    }
    assert as_teacher.post(path, plan_data(plan, **change)).url == f"/projects/{school.project.pk}/"
    plan.refresh_from_db()
    assert plan.slab_mm == pytest.approx(6.35)
    assert [(s.name, s.height_mm, s.fired_mm) for s in plan.sizes.all()] == [
        ("height", None, 90),
        ("rim_diameter", None, pytest.approx(88.9)),
        ("foot_side", None, 58),
        ("diameter", 45, 72),
    ]
    rows = as_teacher.get(path).context["rows"]
    # 90 mm at 12 %: 102.2727 wet (recomputed); at leather-hard, 2.5 %, 99.7159.
    assert rows[0].wet_mm == pytest.approx(102.272727)
    assert rows[0].leather_hard_mm == pytest.approx(99.715909)
    assert "102.3" in page_text(as_teacher.get(path))


def test_a_section_in_inches_means_inches(as_teacher, school):
    school.section.unit = "in"
    school.section.save()
    plan, path = school.project.plan, f"/projects/{school.project.pk}/plan/"
    page = page_text(as_teacher.get(path))
    assert 'value="95 mm"' in page  # as it stands: no whole fraction of an inch
    sizes = {f"sizes-{n}-fired_mm": value for n, value in enumerate(("3.5", "3 1/4", "58 mm"))}
    as_teacher.post(path, plan_data(plan, **sizes))
    assert [s.fired_mm for s in plan.sizes.all()] == pytest.approx([88.9, 82.55, 58])


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"sizes-0-fired_mm": "9 m"}, "metres are not used here"),
        ({"sizes-0-fired_mm": "nan"}, "is not a size"),
        ({"sizes-0-fired_mm": "9500"}, "9500 mm cannot be meant here"),
        ({"sizes-0-name": "rim_diameter"}, "This size is planned twice"),
        ({"sizes-0-name": "diameter"}, "Write the height at which"),
        ({"sizes-0-height_mm": "40"}, "Only a diameter at a height has one"),
        ({"slab_mm": "6.35 in"}, "161.29 mm cannot be meant here"),
        ({"fingers": "5"}, "four fingers"),
        ({"dart_count": "3"}, "are those of a square"),
        ({"capacity_ml": "-1"}, "more than zero"),
        ({"line_ml": "300"}, "The line lies below the brim"),
        ({"handle_from_seam_deg": "inf"}, "Enter a number"),
        ({"handle_from_seam_deg": "999"}, "An angle lies within a turn"),
    ],
)
def test_a_plan_that_cannot_be_is_refused_whole(as_teacher, school, change, said):
    plan, path = school.project.plan, f"/projects/{school.project.pk}/plan/"
    page = page_text(as_teacher.post(path, plan_data(plan, **change)))
    assert said in page
    (value,) = change.values()
    assert f'value="{value}"' in page
    plan.refresh_from_db()
    assert (plan.fingers, [s.fired_mm for s in plan.sizes.all()]) == (2, [95, 85, 58])


def test_a_head_reads_the_plan_without_a_field(client, school):
    client.force_login(school.head)
    page = page_text(client.get(f"/projects/{school.project.pk}/plan/"))
    assert "108.0" in page  # 95 / 0.88
    assert "<textarea" not in page
    assert 'name="slab_mm"' not in page


def test_codes_are_proposed_for_who_has_no_piece(as_teacher, school):
    zoe = make_student(school.section, "Zoe Q.")
    path = f"/projects/{school.project.pk}/pieces/"
    page = as_teacher.get(path)
    assert [(s, f.value()) for s, f in page.context["first_rows"]] == [(zoe, "K3-03")]
    assert [f.value() for _, f in page.context["second_rows"]] == ["", ""]
    page = as_teacher.get(path + "?prefix=CUP-")
    assert [f.value() for _, f in page.context["first_rows"]] == ["CUP-01"]
    as_teacher.post(path, {f"code-{zoe.pk}": "CUP-01", f"code-{school.amara.pk}": "K3-1b"})
    codes = {(p.student.name, p.code, p.stage) for p in school.project.pieces.all()}
    assert codes == {
        ("Amara O.", "K3-01", "wet"),
        ("Amara O.", "K3-1b", "wet"),
        ("Bao N.", "K3-02", "wet"),
        ("Zoe Q.", "CUP-01", "wet"),
    }


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("k3-01", "stands on another piece of this section"),
        ("K3 07", "Letters, figures and hyphens only"),
        ("-K3", "Letters, figures and hyphens only"),
        ("K3-07\n", None),
        ("K3-" + "0" * 20, "at most 16 characters"),
        ("", "No student has a code"),
    ],
)
def test_a_code_that_cannot_be_written_begins_nothing(as_teacher, school, code, said):
    zoe = make_student(school.section, "Zoe Q.")
    page = as_teacher.post(f"/projects/{school.project.pk}/pieces/", {f"code-{zoe.pk}": code})
    if said is None:
        assert [p.code for p in zoe.pieces.all()] == [code.strip()]
    else:
        assert said in page_text(page)
        assert zoe.pieces.count() == 0


def test_one_code_for_two_students_is_refused(as_teacher, school):
    zoe, ana = make_student(school.section, "Zoe Q."), make_student(school.section, "Ana P.")
    data = {f"code-{zoe.pk}": "K3-09", f"code-{ana.pk}": "k3-09"}
    page = page_text(as_teacher.post(f"/projects/{school.project.pk}/pieces/", data))
    assert "stands on another piece" in page
    assert 'value="k3-09"' in page
    assert school.project.pieces.count() == 2


def test_a_section_without_students_leads_to_the_class_list(as_teacher, school):
    school.section.enrolments.all().delete()
    page = page_text(as_teacher.get(f"/projects/{school.project.pk}/pieces/"))
    assert f'href="/sections/{school.section.pk}/students/"' in page
    assert "nobody to begin a piece for" in page


def test_ticked_pieces_move_on_together(as_teacher, school):
    path = f"/projects/{school.project.pk}/stages/"
    as_teacher.post(path, {"stage": "leather-hard", "pieces": [school.piece.pk]})
    stages = dict(school.project.pieces.values_list("code", "stage"))
    assert stages == {"K3-01": "leather-hard", "K3-02": "wet"}
    page = page_text(as_teacher.post(path, {"stage": "leather-hard"}, follow=True))
    assert "Tick the pieces that have come further." in page


def test_ticked_pieces_are_noted_as_sound_from_the_board(as_teacher, school):
    path = f"/projects/{school.project.pk}/"
    assert "They came out sound" not in page_text(as_teacher.get(f"{path}board/"))
    school.project.pieces.update(stage="glazed")
    assert "They came out sound" in page_text(as_teacher.get(f"{path}board/"))
    data = {"stage": "glazed", "pieces": [school.piece.pk], "sound": "1"}
    page = page_text(as_teacher.post(f"{path}stages/", data, follow=True))
    assert "1 fired piece noted as sound." in page
    assert [o.kind for o in school.piece.outcomes.all()] == ["sound"]
    assert school.other_piece.outcomes.count() == 0


def test_a_piece_of_another_project_does_not_move(as_teacher, school):
    other = Project.objects.create(section=school.section, number=9, title="Other")
    alien = make_piece(other, school.amara, "K9-01")
    path = f"/projects/{school.project.pk}/stages/"
    answer = as_teacher.post(path, {"stage": "bisque", "pieces": [alien.pk]}, follow=True)
    assert "not in this project" in page_text(answer)
    alien.refresh_from_db()
    assert alien.stage == "wet"


def test_the_five_steps_say_what_is_true_now(as_teacher, school):
    path = f"/projects/{school.project.pk}/"
    for code in ("K3-03", "K3-04"):
        make_piece(school.project, school.amara, code, stage="leather-hard")
    page = as_teacher.get(path)
    assert page.context["make_step"].lines == (
        "2 leather-hard.",
        "2 wet, too wet for a handle.",
        "0 of 4 measured at their stage.",
    )
    assert page.context["fire_step"].lines == ("Nothing fired yet.",)
    body = page_text(page)
    assert body.index("Plan</h2>") < body.index("Make</h2>") < body.index("Fire</h2>")
    assert body.index("Fire</h2>") < body.index("Judge</h2>") < body.index("Tell</h2>")
    for name in ("plan", "measure", "judge", "look-over", "rubric", "pieces"):
        assert f'href="{path}{name}/"' in body
    school.project.pieces.update(stage="glazed")
    school.project.pieces.filter(code="K3-04").update(state="broken")
    read(school.piece, "wall_thickness", 6.0, stage="leather-hard", height_mm=50, azimuth_deg=0)
    said = as_teacher.get(path).context["make_step"].lines[-1]
    assert said == "1 of 3 measured, 0 at the stage they are at now."
    lines = as_teacher.get(path).context["fire_step"].lines
    assert lines == ("3 glazed.", "1 lost or broken.", "3 glazed without an outcome noted.")


@pytest.mark.parametrize("page", ["", "pieces/"])
def test_a_batch_of_thirty_costs_no_more_queries_than_of_three(
    as_teacher, school, page, count_queries
):
    path = f"/projects/{school.project.pk}/{page}"

    def add(numbers):
        for n in numbers:
            student = make_student(school.section, f"Student {n}")
            read(make_piece(school.project, student, f"X-{n:02}"), "rim_height", 90, azimuth_deg=n)

    add(range(1))
    few = count_queries(as_teacher, path)
    add(range(1, 28))
    assert count_queries(as_teacher, path) == few


def test_a_head_sees_no_door_that_is_shut(client, school):
    client.force_login(school.head)
    page = page_text(client.get(f"/projects/{school.project.pk}/"))
    for shut in ("/edit/", '/judge/"', "/look-over/", "/stages/", "/import/", "/rubric/"):
        assert f"/projects/{school.project.pk}{shut}" not in page


def clay_data(**over):
    data = {"name": "Ours", "maturing_cone": "6", "absorption_percent": ""}
    for name, percent in (("LEATHER_HARD", 2), ("BONE_DRY", 5), ("BISQUE", 5), ("GLAZED", 11)):
        data |= {f"percent-{name}": percent, f"spread-{name}": "0.4"}
    return data | over


def test_a_clay_is_copied_changed_and_kept_ones_own(as_teacher, school):
    ensure_starter_clays()
    shipped = Clay.objects.get(owner=None, name="Porcelain")
    page = page_text(as_teacher.get(f"/clays/new/?from={shipped.pk}"))
    assert 'value="Porcelain, ours"' in page
    assert 'value="15.00"' in page
    as_teacher.post("/clays/new/", clay_data())
    clay = Clay.objects.get(name="Ours")
    assert clay.owner == school.teacher
    assert {s.stage: float(s.percent) for s in clay.shrinkages.all()} == {
        "leather-hard": 2,
        "bone dry": 5,
        "bisque": 5,
        "glazed": 11,
    }
    as_teacher.post(f"/clays/{clay.pk}/", clay_data(**{"percent-BISQUE": ""}))
    assert set(clay.shrinkages.values_list("stage", flat=True)) == {
        "leather-hard",
        "bone dry",
        "glazed",
    }
    assert as_teacher.post(f"/clays/{shipped.pk}/", clay_data()).status_code == 403


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"percent-GLAZED": ""}, "no wet size can be told"),
        ({"percent-GLAZED": "112"}, "less than or equal to 33"),
        ({"percent-GLAZED": "3"}, "glazed should not be less than bisque"),
        ({"spread-GLAZED": "0"}, "greater than or equal to 0.01"),
        ({"percent-GLAZED": "NaN"}, "Enter a number"),
    ],
)
def test_a_clay_that_cannot_be_is_refused(as_teacher, change, said):
    page = page_text(as_teacher.post("/clays/new/", clay_data(**change)))
    assert said in page
    assert 'value="Ours"' in page
    assert not Clay.objects.filter(name="Ours").exists()


def test_clays_cost_no_more_queries_when_there_are_more(as_teacher, school, count_queries):
    as_teacher.post("/clays/new/", clay_data())
    few = count_queries(as_teacher, "/clays/")
    for n in range(10):
        as_teacher.post("/clays/new/", clay_data(name=f"Clay {n}"))
    assert count_queries(as_teacher, "/clays/") == few
