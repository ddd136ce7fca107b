"""The look-over before publishing, and publishing from it."""

import pytest

from rubrics.families.portfolios import came_out
from rubrics.judging.marking import excuse, set_level
from rubrics.models import Assessment
from rubrics.reports.outcomes import outcome_said
from rubrics.rubric.starter_rubric import ensure_starter_rubric
from rubrics.rubric.versions import choose_rubric
from rubrics.views.judging import look_rows
from tests.factories import make_piece, make_project, make_student, read, read_wall


@pytest.fixture
def judged(client, school):
    """Three pieces: one ready, one with a reason missing, one unfinished."""
    school.rubric = ensure_starter_rubric()
    choose_rubric(school.project, school.rubric)
    school.c = {each.letter: each for each in school.rubric.criteria.all()}
    school.third = make_piece(school.project, school.amara, "K3-03")
    for piece in (school.piece, school.other_piece):
        read_wall(piece, 6.0, 6.1, 6.0, 6.1)
        for letter in "ACDEFGHI":
            set_level(piece, school.c[letter], 3, school.teacher, expected_version=99)
    set_level(school.piece, school.c["B"], 4, school.teacher, expected_version=99)
    set_level(school.other_piece, school.c["B"], 2, school.teacher, expected_version=99)
    set_level(school.third, school.c["A"], 1, school.teacher, expected_version=0)
    client.force_login(school.teacher)
    return school


def look(client, judged):
    return client.get(f"/projects/{judged.project.pk}/look-over/")


def row_of(page, code):
    return next(row for row in page.context["rows"] if row.look.piece.code == code)


def publish(client, judged, *pieces):
    url = f"/projects/{judged.project.pk}/publish/"
    return client.post(url, {"piece": [piece.pk for piece in pieces]}, follow=True)


def test_the_look_over_tells_what_is_ready_unfinished_and_missing(client, judged):
    page = look(client, judged)
    found = page.context["look"]
    rows = {row.look.piece.code: row for row in page.context["rows"]}
    # A, C to I at 85 points and B at 100 of 10 in 100: (90 * 85 + 10 * 100) / 100 = 86.5.
    assert [(piece.code, rows[piece.code].grade) for piece in found.ready] == [("K3-01", "87 %, B")]
    assert [(piece.code, len(missing)) for piece, missing in found.unfinished] == [("K3-03", 8)]
    assert [each.piece.code for each in found.reasons_missing] == ["K3-02"]


def test_the_spread_counts_levels_excuses_and_what_is_open(client, judged):
    excuse(judged.third, judged.c["B"], judged.teacher, expected_version=9, reason="kiln")
    page = look(client, judged)
    rows = {row.criterion.letter: row for row in page.context["level_rows"]}
    assert [cell.count for cell in rows["A"].cells] == [0, 2, 0, 1]
    assert [cell.count for cell in rows["B"].cells] == [1, 0, 1, 0]
    assert (rows["B"].excused, rows["B"].open) == (1, 0)
    assert (rows["C"].excused, rows["C"].open) == (0, 1)
    # Two of three pieces: two thirds of a cell 60 wide, from the right.
    assert (rows["A"].cells[1].x, rows["A"].cells[1].width) == (20.0, 40.0)
    assert {bar["label"]: bar["count"] for bar in page.context["spread"]} == {
        "A": 0,
        "B": 2,
        "C": 0,
        "D": 0,
        "E": 0,
    }


def test_where_eye_and_measure_differ_both_sides_and_the_reason_are_told(client, judged):
    page = look(client, judged)
    (words,) = row_of(page, "K3-02").overruled
    assert words == "B Wall: suggested 4, given 2, down. No reason yet."
    assert page.context["differ_words"] == "1 mark leaves its suggestion: 0 up, 1 down."


def test_a_reading_that_changed_since_is_shown_once_more(client, judged):
    read(judged.piece, "wall_thickness", 12.0, height_mm=80, azimuth_deg=45)
    page = look(client, judged)
    said = "B Wall: readings changed since you decided; the suggestion was 4 and is 1 today."
    assert said in row_of(page, "K3-01").warnings


def test_the_chosen_pieces_are_sent_and_the_page_says_so(client, judged):
    page = publish(client, judged, judged.piece)
    assert "1 piece sent." in page.content.decode()
    sent = Assessment.objects.published()
    assert [each.piece.code for each in sent] == ["K3-01"]
    assert sent.get().shown["percent"] == "87"
    assert page.context["look"].ready == []


def test_nothing_is_sent_when_one_of_them_is_not_ready(client, judged):
    page = publish(client, judged, judged.piece, judged.third)
    assert "K3-03 lacks" in page.content.decode()
    assert not Assessment.objects.published().exists()


@pytest.mark.parametrize("fields", [{}, {"piece": ["x"]}, {"piece": ["999999"]}])
def test_choosing_nothing_sends_nothing(client, judged, fields):
    url = f"/projects/{judged.project.pk}/publish/"
    page = client.post(url, fields, follow=True)
    assert "nothing was sent" in page.content.decode()
    assert not Assessment.objects.published().exists()


def test_a_piece_of_another_project_is_not_sent_along(client, judged):
    elsewhere = make_project(judged.section, "Coil vase", number=2)
    stranger = make_piece(elsewhere, judged.amara, "Z-1")
    page = publish(client, judged, judged.piece, stranger)
    assert "1 piece sent." in page.content.decode()
    assert not stranger.assessments.exists()


def test_a_grade_of_part_of_the_weight_says_so(client, judged):
    version = judged.piece.assessments.get().version
    excuse(judged.piece, judged.c["C"], judged.teacher, expected_version=version, reason="kiln")
    # Without C's 15 of 100: (75 * 85 + 10 * 100) / 85 = 86.76.
    assert row_of(look(client, judged), "K3-01").grade == "87 %, B (85 of 100 weight)"


# -- the last look at one piece ----------------------------------------------------------------


def save_row(client, piece, **fields):
    version = piece.assessments.get().version
    sent = {"version": version, "words": "", "next_step": "", "strength": ""}
    sent |= {"seen_words": "", "seen_next_step": "", "seen_strength": ""} | fields
    return client.post(f"/pieces/{piece.pk}/last-look/", sent, headers={"HX-Request": "true"})


def test_a_reason_is_given_in_place_and_the_piece_can_be_sent(client, judged):
    b = judged.c["B"].pk
    assert not row_of(look(client, judged), "K3-02").look.is_ready
    row = save_row(client, judged.other_piece, **{f"reason_text_{b}": "A lump by the seam"})
    assert "data-publish-tick" in row.content.decode()
    mark = judged.other_piece.assessments.get().marks.get(criterion=judged.c["B"])
    assert (mark.reason, mark.reason_text, mark.level.number) == ("other", "A lump by the seam", 2)
    assert row_of(look(client, judged), "K3-02").look.is_ready


def test_what_goes_out_is_shown_and_can_be_changed_in_place(client, judged):
    before = row_of(look(client, judged), "K3-01")
    assert (before.strength, before.next_step) == ("", "")
    row = save_row(
        client, judged.piece, strength="The lip is calm all round.", next_step="Draw it twice."
    )
    body = row.content.decode()
    assert "The lip is calm all round." in body
    after = row_of(look(client, judged), "K3-01")
    assert (after.strong, after.step) == ("The lip is calm all round.", "Draw it twice.")
    publish(client, judged, judged.piece)
    shown = judged.piece.assessments.get().shown
    assert (shown["strong"], shown["next_steps"]) == (
        "The lip is calm all round.",
        ["Draw it twice."],
    )


def test_whose_doing_is_ruled_in_place(client, judged):
    crack = judged.piece.outcomes.create(stage="bisque", kind="seam crack")
    row = row_of(look(client, judged), "K3-01")
    assert row.outcome.startswith("In the first firing: a crack along the seam.")
    assert "Nobody said yet whose doing the seam crack is." in row.warnings
    save_row(client, judged.piece, **{f"doing_{crack.pk}": "kiln"})
    crack.refresh_from_db()
    assert crack.doing == "kiln"
    # What a family will read, ruling and all, and not the trade's word for it.
    told = outcome_said(came_out(crack))
    assert "The teacher says the kiln did it." in told
    assert row_of(look(client, judged), "K3-01").outcome == told
    assert not any(
        "whose doing" in words for words in row_of(look(client, judged), "K3-01").warnings
    )


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"strength": "x" * 301}, "at most 300 characters"),
        ({"next_step": "x" * 301}, "at most 300 characters"),
        ({"version": "x", "words": "Kept."}, "whole number"),
    ],
)
def test_what_cannot_be_saved_stays_in_its_field_with_a_sentence(client, judged, fields, said):
    body = save_row(client, judged.piece, **fields).content.decode()
    assert said in body
    typed = next(value for name, value in fields.items() if name != "version")
    assert typed in body
    assert judged.piece.assessments.get().words == ""


def test_two_windows_in_one_row_lose_neither_sentence(client, judged):
    save_row(client, judged.piece, words="A calm cup.")
    second = save_row(client, judged.piece, words="A lively cup.").content.decode()
    assert "“A calm cup.”" in second
    assert "A lively cup." in second
    assert judged.piece.assessments.get().words == "A calm cup."
    # The row now rests on what was told: saving again puts the second in.
    save_row(client, judged.piece, words="A lively cup.", seen_words="A calm cup.")
    assert judged.piece.assessments.get().words == "A lively cup."


def test_it_warns_of_figures_from_softer_clay_and_of_what_nobody_measured(client, judged):
    judged.piece.stage = "glazed"
    judged.piece.save()
    warnings = row_of(look(client, judged), "K3-01").warnings
    assert "Measured leather-hard, and glazed now: B Wall." in warnings
    assert any(words.startswith("Not measured, judged by eye: ") for words in warnings)


@pytest.mark.parametrize(
    ("part", "empty", "said"),
    [
        ("strong", "", "It goes out without a word on what is strong."),
        ("next_steps", [], "It goes out without a next step."),
    ],
)
def test_it_warns_where_a_sentence_is_missing(client, judged, monkeypatch, *, part, empty, said):
    """What is proposed depends on the piece: here the proposal has nothing to say of it."""
    made = look_rows.drafts

    def without(batch, pieces):
        return {pk: shown | {part: empty} for pk, shown in made(batch, pieces).items()}

    monkeypatch.setattr(look_rows, "drafts", without)
    assert said in row_of(look(client, judged), "K3-01").warnings
    monkeypatch.undo()
    own = {"strength": "A calm lip.", "next_step": "Draw it twice."}
    save_row(client, judged.piece, **own)
    assert said not in row_of(look(client, judged), "K3-01").warnings


def test_it_says_where_the_words_of_a_level_and_its_limit_differ(client, judged):
    assert look(client, judged).context["descriptor_notes"] == []
    step = judged.c["C"].limits.filter(figure="seam_join.largest_step_mm")
    step.update(b=2)
    (note,) = look(client, judged).context["descriptor_notes"]
    assert note.startswith(f"{judged.c['C']}, level 3: The words say 1.5 mm")
    shelf = client.get(f"/projects/{judged.project.pk}/judge/{judged.c['C'].pk}/")
    assert shelf.context["descriptor_notes"] == [note]
    other = client.get(f"/projects/{judged.project.pk}/judge/{judged.c['A'].pk}/")
    assert other.context["descriptor_notes"] == []


# -- what is true after publishing -------------------------------------------------------------


def words(page):
    return page.context["standing"], page.context["send_words"], page.context["differ_words"]


def test_what_is_said_is_true_before_while_and_after_publishing(client, judged):
    standing, send, differ = words(look(client, judged))
    assert standing == "3 pieces: 1 ready to send, 1 unfinished, 1 without a reason for a mark."
    assert send == ""
    assert differ == "1 mark leaves its suggestion: 0 up, 1 down."
    publish(client, judged, judged.piece)
    standing, send, _differ = words(look(client, judged))
    assert standing == "3 pieces: 1 unfinished, 1 without a reason for a mark, 1 sent."
    assert send.startswith("Nothing more is ready: ")
    b = judged.c["B"].pk
    save_row(client, judged.other_piece, **{f"reason_text_{b}": "A lump"})
    judged.third.state = "lost"
    judged.third.save()
    publish(client, judged, judged.other_piece)
    standing, send, differ = words(look(client, judged))
    assert standing == "2 pieces: 2 sent."
    assert send.startswith("All 2 sent.")
    # An overruled mark is still one after it was sent.
    assert differ == "1 mark leaves its suggestion: 0 up, 1 down."
    assert row_of(look(client, judged), "K3-02").overruled


def test_before_anything_is_judged_it_says_so(client, judged):
    Assessment.objects.all().delete()
    standing, send, differ = words(look(client, judged))
    assert standing == "3 pieces: 3 unfinished."
    assert send.startswith("Nothing is ready yet")
    assert differ == "Nothing is judged yet."


def test_it_tells_where_a_whole_class_misses_a_planned_size_on_one_side(client, judged):
    def tight(number):
        student = make_student(judged.section, f"Maker {number}")
        piece = make_piece(judged.project, student, f"T-{number:02}", stage="glazed")
        for name, size in (("height", 18), ("depth", 30)):
            read(piece, "handle_opening", size, stage="glazed", name=name, own_u=0.1)
        read(piece, "handle_top", 70, stage="glazed", azimuth_deg=0, own_u=0.1)
        read(piece, "handle_bottom", 25, stage="glazed", azimuth_deg=0, own_u=0.1)

    assert "Look at the plan before you send" not in look(client, judged).content.decode()
    for number in range(12):
        tight(number)
    page = look(client, judged).content.decode()
    assert "Look at the plan before you send" in page
    assert "opening too small for the fingers" in page
    assert "12 of 12" in page
