"""The judging pages as a teacher reads them: shelves, piece, start; who gets in; what they cost."""

import re

import pytest
from django.urls import reverse

from rubrics.judging.marking import excuse, keep_rest, set_level
from rubrics.models import Assessment
from rubrics.publishing.publish import publish
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from rubrics.views.judging import tiles
from studio.models import Photo, Piece, Project
from tests.factories import make_piece, make_student, read, read_rim, read_wall
from tests.pages import page_text


@pytest.fixture
def judged(school):
    """The school, its project judged by the starter rubric; criteria by letter as ``c``."""
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    return school


@pytest.fixture
def as_teacher(client, judged):
    client.force_login(judged.teacher)
    return client


def shelf(judged, letter, query=""):
    return f"/projects/{judged.project.pk}/judge/{judged.c[letter].pk}/{query}"


def standing(page) -> dict[str, list[str]]:
    """Codes by shelf, as they stand on the page, in order."""
    found = {}
    for place, body in re.findall(
        r'data-shelf="(\w+)"(.*?)(?=data-shelf="|<aside)', page_text(page), re.DOTALL
    ):
        found[place] = re.findall(r'data-code="([^"]+)"', body)
    return found


def add_photo(piece, stage="glazed", view="side", **fields):
    name = f"photos/{piece.code}-{stage}-{view}.jpg"
    return Photo.objects.create(
        section=piece.section,
        piece=piece,
        stage=stage,
        view=view,
        file=name,
        middle=name,
        small=name,
        width=4,
        height=3,
        sha256=f"{piece.code}{stage}{view}",
        **fields,
    )


# -- the shelves -----------------------------------------------------------------------------------


def test_measured_pieces_stand_on_their_suggested_shelf_in_order_of_the_measure(as_teacher, judged):
    make_piece(judged.project, judged.amara, "K3-03")
    third, first = make_piece(judged.project, judged.bao, "K3-04"), judged.piece
    read_wall(judged.other_piece, 6.0, 6.1, 6.0, 6.1)  # spread 0.1: up to 1 is 4
    read_wall(first, 6.0, 6.7, 6.0, 6.2)  # 0.7: 4 as well, further along
    read_wall(third, 5.0, 9.0, 6.0, 6.0)  # 4.0: beyond 3 is 1
    page = as_teacher.get(shelf(judged, "B"))
    assert standing(page) == {
        "4": ["K3-02", "K3-01"],
        "3": [],
        "2": [],
        "1": ["K3-04"],
        "board": ["K3-03"],
        "aside": [],
    }


def test_criteria_judged_by_eye_start_on_the_ware_board_in_a_shuffled_order(as_teacher, judged):
    codes = ["K3-01", "K3-02"] + [f"K3-{number:02d}" for number in range(3, 15)]
    for code in codes[2:]:
        make_piece(judged.project, judged.amara, code)
    first = standing(as_teacher.get(shelf(judged, "A")))
    again = standing(as_teacher.get(shelf(judged, "A")))
    other = standing(as_teacher.get(shelf(judged, "F")))
    assert sorted(first["board"]) == codes
    assert first == again
    assert first["board"] != other["board"]
    assert first["board"] != codes


def test_the_shuffle_is_another_one_for_another_reader(judged):
    pieces = [make_piece(judged.project, judged.amara, f"X-{number}") for number in range(12)]
    orders = [
        tiles.shuffled(pieces, reader_id=reader, criterion=judged.c["A"]) for reader in (1, 2, 1)
    ]
    assert orders[0] == orders[2]
    assert orders[0] != orders[1]


def test_each_shelf_offers_the_next_by_name_and_the_last_the_look_over(as_teacher, judged):
    def offered(letter):
        return re.search(r">Next: (.*?)</a>", page_text(as_teacher.get(shelf(judged, letter))))[1]

    letters = sorted(judged.c)
    assert offered(letters[0]).startswith(f"{letters[1]} ")
    # Going round: what was left out before is offered after the last.
    assert offered(letters[-1]).startswith(f"{letters[0]} ")
    for letter in letters[1:]:
        for piece in judged.project.pieces.all():
            version = Assessment.objects.filter(piece=piece).values_list("version", flat=True)
            set_level(
                piece, judged.c[letter], 3, judged.teacher,
                expected_version=version.first() or 0, reason_text="seen",
            )  # fmt: skip
    assert offered(letters[1]).startswith(f"{letters[0]} ")
    assert offered(letters[0]) == "look over"


def test_names_are_hidden_until_they_are_asked_for(as_teacher, judged):
    hidden = as_teacher.get(shelf(judged, "A"))
    shown = as_teacher.get(shelf(judged, "A", "?names=1"))
    assert "Amara O." not in page_text(hidden)
    assert page_text(shown).count("Amara O.") == 1
    assert "Amara" not in page_text(as_teacher.get(f"/pieces/{judged.piece.pk}/judge/"))


def test_every_state_is_told_by_a_word_and_a_place(as_teacher, judged):
    kept, moved, excused, suggested, by_eye = (
        make_piece(judged.project, judged.amara, f"S-{number}") for number in range(5)
    )
    for piece in (kept, moved, excused, suggested):
        read_wall(piece, 6.0, 6.1, 6.0, 6.1)
    wall, teacher = judged.c["B"], judged.teacher
    set_level(kept, wall, 4, teacher, expected_version=0)
    set_level(moved, wall, 2, teacher, expected_version=0)
    excuse(excused, wall, teacher, expected_version=0, reason="kiln")
    set_level(by_eye, wall, 3, teacher, expected_version=0)
    page = as_teacher.get(shelf(judged, "B"))
    said = {
        made.piece.code: (made.state.place, made.state.words, made.state.wants_reason)
        for row in page.context["shelves"]
        for made in row.tiles
    } | {
        made.piece.code: (made.state.place, made.state.words, False)
        for made in page.context["aside"]
    }
    assert said == {
        "S-0": ("4", "kept", False),
        "S-1": ("2", "down from 4", True),
        "S-2": ("aside", "excused", False),
        "S-3": ("4", "suggested", False),
        "S-4": ("3", "placed", False),
    }
    assert page.context["done"] == 4
    assert page.context["to_keep"] == 1
    assert page.context["seen"] == f"{suggested.pk}:4"


def test_the_mark_is_read_against_the_suggestion_as_it_stood(as_teacher, judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.1)
    set_level(judged.piece, judged.c["B"], 4, judged.teacher, expected_version=0)
    read(judged.piece, "wall_thickness", 12.0, height_mm=80, azimuth_deg=45)
    page = as_teacher.get(shelf(judged, "B"))
    assert standing(page)["4"] == ["K3-01"]
    assert 'data-state="kept"' in page_text(page)


def test_a_lost_piece_is_not_judged_and_a_broken_one_says_so(as_teacher, judged):
    Piece.objects.filter(pk=judged.piece.pk).update(state=Piece.State.LOST)
    Piece.objects.filter(pk=judged.other_piece.pk).update(state=Piece.State.BROKEN)
    page = as_teacher.get(shelf(judged, "A"))
    assert standing(page)["board"] == ["K3-02"]
    assert [made.remark for made in page.context["board"]] == ["broken"]


def test_the_tile_shows_the_latest_photo_from_the_side(as_teacher, judged):
    add_photo(judged.piece, "leather-hard", "side")
    best = add_photo(judged.piece, "glazed", "side")
    add_photo(judged.piece, "glazed", "top")
    page = as_teacher.get(shelf(judged, "A"))
    shown = {made.piece.code: made.photo for made in page.context["board"]}
    assert shown == {"K3-01": best.pk, "K3-02": None}
    assert page_text(page).count("no photo,") == 1


def test_a_criterion_with_several_figures_names_the_one_that_decides(as_teacher, judged):
    read_rim(judged.piece, 95, 99, 95, 95)  # 4 mm across 94.2 mm at leather-hard
    page = as_teacher.get(shelf(judged, "D"))
    figures = [made.figure for row in page.context["shelves"] for made in row.tiles]
    assert figures == ["rise 2.4°"]


def test_the_small_drawing_puts_the_figure_among_its_limits(as_teacher, judged):
    # A spread of 2.0 at four places is one of 2.0 * 3.258 / 2.059 at twelve, on an axis that ends
    # at 1.3 * 4.5.
    read_wall(judged.piece, 5.0, 7.0, 6.0, 6.0)
    dot = 100 * 2.0 * 3.258 / 2.059 / (1.3 * 4.5)
    page = as_teacher.get(shelf(judged, "B"))
    (mini,) = [made.mini for row in page.context["shelves"] for made in row.tiles]
    assert mini.edges == (25.6, 51.3, 76.9)
    assert mini.dot == pytest.approx(dot - 2.5, abs=0.1)
    assert mini.low < dot < mini.low + mini.width


def test_lifting_a_piece_shows_its_check_and_sentence_for_one_criterion(as_teacher, judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.1)
    read_rim(judged.piece, 95, 95, 95, 95)
    page = as_teacher.get(f"/pieces/{judged.piece.pk}/lift/{judged.c['B'].pk}/")
    assert [each.picture.name for each in page.context["checks"]] == ["wall_evenness"]
    body = page_text(page)
    assert page.context["checks"][0].picture.sentence in body
    assert "<html" not in body
    assert re.findall(r'data-pick="(\d)"\s+aria-pressed="(\w+)"(?:\s+(data-suggested))?', body) == [
        ("4", "false", "data-suggested"),
        ("3", "false", ""),
        ("2", "false", ""),
        ("1", "false", ""),
    ]


# -- the piece -------------------------------------------------------------------------------------


def test_the_piece_shows_every_criterion_with_its_suggestion(as_teacher, judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.1)
    set_level(judged.piece, judged.c["A"], 3, judged.teacher, expected_version=0, note="Neat.")
    page = as_teacher.get(f"/pieces/{judged.piece.pk}/judge/")
    rows = {row.criterion.letter: row for row in page.context["rows"]}
    assert list(rows) == list("ABCDEFGHI")
    assert (rows["A"].state.words, rows["A"].note) == ("placed", "Neat.")
    assert rows["B"].suggested.level == 4
    assert [each.picture.name for each in rows["B"].checks] == ["wall_evenness"]
    assert [each.number for each in rows["B"].levels if each.suggested] == [4]
    assert [each.number for each in rows["A"].levels if each.chosen] == [3]
    assert page.context["done"] == 1


def test_the_page_says_what_the_student_reads_where_no_step_is_written(as_teacher, judged):
    read_wall(judged.piece, 5.0, 9.0, 6.0, 6.0)
    set_level(judged.piece, judged.c["B"], 1, judged.teacher, expected_version=0)
    page = as_teacher.get(f"/pieces/{judged.piece.pk}/judge/")
    proposed = page.context["proposed_step"]
    told = page_text(as_teacher.get(f"/pieces/{judged.piece.pk}/feedback/"))
    assert proposed
    assert proposed in told


def test_the_piece_leads_to_its_neighbours_and_to_the_next_unfinished(as_teacher, judged):
    third = make_piece(judged.project, judged.amara, "K3-03")
    for criterion in judged.c.values():
        set_level(judged.other_piece, criterion, 3, judged.teacher, expected_version=9)
    page = as_teacher.get(f"/pieces/{judged.piece.pk}/judge/")
    assert page.context["previous"] is None
    assert page.context["next"] == judged.other_piece
    assert page.context["unfinished"] == third
    assert (page.context["place"], page.context["count"]) == (1, 3)
    last = as_teacher.get(f"/pieces/{third.pk}/judge/")
    assert last.context["unfinished"] == judged.piece


# -- the start -------------------------------------------------------------------------------------


def test_the_start_tells_both_ways_and_how_far_each_criterion_is(as_teacher, judged):
    read_wall(judged.piece, 6.0, 6.1, 6.0, 6.1)
    keep_rest(judged.project, judged.c["B"], judged.teacher)
    page = as_teacher.get(f"/projects/{judged.project.pk}/judge/")
    assert [(row.criterion.letter, row.done) for row in page.context["rows"]] == [
        (letter, int(letter == "B")) for letter in "ABCDEFGHI"
    ]
    assert page.context["rows"][3].leans_on == "the rim, the foot"
    assert page.context["next_criterion"] == judged.c["A"]
    body = page_text(page)
    assert shelf(judged, "A") in body
    assert f"/pieces/{judged.piece.pk}/judge/" in body


def test_a_project_without_pieces_says_so(as_teacher, judged):
    Piece.objects.all().delete()
    page = as_teacher.get(f"/projects/{judged.project.pk}/judge/")
    assert "no pieces yet" in page_text(page)


@pytest.mark.parametrize("path", ["judge/", "look-over/"])
def test_a_project_without_a_rubric_leads_to_choosing_one(client, school, path):
    client.force_login(school.teacher)
    page = client.get(f"/projects/{school.project.pk}/{path}")
    assert reverse("rubric_choose", args=[school.project.pk]) in page_text(page)
    assert client.get(f"/pieces/{school.piece.pk}/judge/").status_code == 200


# -- who gets in -----------------------------------------------------------------------------------


def test_drafts_are_the_teachers_alone(client, judged):
    project, piece, wall = judged.project.pk, judged.piece.pk, judged.c["B"].pk
    reads = [
        f"/projects/{project}/judge/",
        f"/projects/{project}/judge/{wall}/",
        f"/projects/{project}/look-over/",
        f"/pieces/{piece}/judge/",
        f"/pieces/{piece}/lift/{wall}/",
    ]
    writes = [
        f"/pieces/{piece}/marks/{wall}/",
        f"/projects/{project}/judge/{wall}/keep/",
        f"/projects/{project}/judge/undo/",
        f"/projects/{project}/publish/",
        f"/pieces/{piece}/words/",
    ]
    expected = {"head": 403, "student": 404, "colleague": 404, "outsider": 404, None: 302}
    for name, status in expected.items():
        client.logout()
        if name:
            client.force_login(getattr(judged, name))
        found = [client.get(url).status_code for url in reads]
        found += [client.post(url, {"version": 0, "chosen": 4}).status_code for url in writes]
        assert found == [status] * (len(reads) + len(writes)), name
    assert not judged.piece.assessments.exists()


def test_a_criterion_of_another_rubric_is_not_there(as_teacher, judged):
    stranger = judged.rubric.criteria.order_by("-pk").first().pk + 1
    urls = (
        f"/projects/{judged.project.pk}/judge/{stranger}/",
        f"/pieces/{judged.piece.pk}/lift/{stranger}/",
    )
    assert [as_teacher.get(url).status_code for url in urls] == [404, 404]
    save = f"/pieces/{judged.piece.pk}/marks/{stranger}/"
    assert as_teacher.post(save, {"version": 0, "chosen": 4}).status_code == 404


# -- what it costs ---------------------------------------------------------------------------------


def fill(judged, count):
    """A batch of measured pieces with photos, some of them judged and some published."""
    for number in range(count):
        student = make_student(judged.section, f"Student {number}")
        piece = make_piece(judged.project, student, f"Q-{number:02d}")
        read_wall(piece, 6.0, 6.0 + number % 5, 6.0, 6.1)
        read_rim(piece, 95, 95, 95 + number % 3, 95)
        add_photo(piece)
        if number % 3 == 0:
            for criterion in judged.c.values():
                set_level(piece, criterion, 3, judged.teacher, expected_version=99, reason="seen")
    publish(judged.project, judged.teacher)


PATHS = {
    "start": ("/projects/{project}/judge/", 14),
    "shelf measured": ("/projects/{project}/judge/{B}/", 18),
    "shelf by eye": ("/projects/{project}/judge/{A}/", 18),
    "look-over": ("/projects/{project}/look-over/", 19),
    "marks now": ("/projects/{project}/judge/now/?criterion={B}", 6),
}


@pytest.mark.parametrize("name", PATHS)
def test_queries_do_not_grow_with_the_batch(
    as_teacher, judged, django_assert_max_num_queries, name
):
    path, most = PATHS[name]
    url = path.format(project=judged.project.pk, A=judged.c["A"].pk, B=judged.c["B"].pk)
    counts = []
    for add in (3, 27):
        fill(judged, add) if add == 3 else more(judged, add)
        with django_assert_max_num_queries(most) as captured:
            assert as_teacher.get(url).status_code == 200
        counts.append(len(captured))
    assert counts[0] == counts[1]


def more(judged, count):
    for number in range(count):
        piece = make_piece(judged.project, judged.amara, f"R-{number:02d}")
        read_wall(piece, 6.0, 6.0 + number % 5, 6.0, 6.1)
        add_photo(piece)
        set_level(piece, judged.c["B"], 2, judged.teacher, expected_version=0)


def test_the_first_open_criterion_stands_open_from_the_start(as_teacher, judged):
    url = f"/pieces/{judged.piece.pk}/judge/"

    def stands_open():
        page = page_text(as_teacher.get(url))
        return re.findall(r'class="criterion is-current" id="c(\d+)"', page)

    first, second = list(judged.c.values())[:2]
    assert stands_open() == [str(first.pk)]
    set_level(judged.piece, first, 3, judged.teacher, expected_version=0)
    assert stands_open() == [str(second.pk)]


def test_queries_of_a_piece_do_not_grow_with_the_batch(
    as_teacher, judged, django_assert_num_queries
):
    url = f"/pieces/{judged.piece.pk}/judge/"
    with django_assert_num_queries(23) as first:
        as_teacher.get(url)
    more(judged, 12)
    with django_assert_num_queries(len(first)):
        as_teacher.get(url)
    assert Project.objects.get().pieces.count() == 14
