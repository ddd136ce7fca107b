"""A pasted class list: what is read, and what is asked about before anybody joins."""

import pytest

from studio.people.roster import MOST_LINES, Case, Known, RosterError, RosterLine, compare, parse


def test_a_line_is_a_name_or_a_name_and_a_number():
    assert parse("Amara Okafor\n\n  Bao   Nguyen , 20418 \n") == [
        RosterLine(1, "Amara Okafor", ""),
        RosterLine(3, "Bao Nguyen", "20418"),
    ]


@pytest.mark.parametrize("between", ["\t", ";", ","])
def test_columns_from_a_spreadsheet_are_read(between):
    assert parse(f"Bao Nguyen{between}20418") == [RosterLine(1, "Bao Nguyen", "20418")]


def test_a_surname_first_is_turned_round():
    assert parse("Okafor, Amara\nNguyen, Bao, 20418") == [
        RosterLine(1, "Amara Okafor", ""),
        RosterLine(2, "Bao Nguyen", "20418"),
    ]


def test_composed_and_decomposed_letters_are_one_name():
    # Unicode: é is U+00E9 or e with U+0301; a list from one program and one from another.
    (line,) = parse("Rene\u0301 D.")
    assert line.name == "Ren\u00e9 D."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (", 20418", "Line 1 has no name"),
        ("Bao, 20418, 77", "Line 1 has more than a name and a number"),
        ("A" * 121, "Line 1 is too long"),
        ("Bao \x07 Nguyen", "Line 1 holds a sign that cannot be printed"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(text, said):
    with pytest.raises(RosterError, match=said):
        parse(text)


def test_a_whole_school_is_not_taken_at_once():
    with pytest.raises(RosterError, match="up to 200 are taken at once"):
        parse("\n".join(f"Student {n}" for n in range(MOST_LINES + 1)))


def cases(text, known=()):
    return [proposal.case for proposal in compare(parse(text), list(known))]


def test_new_names_are_new():
    assert cases("Amara Okafor\nBao Nguyen") == [Case.NEW, Case.NEW]


def test_a_name_that_stands_twice_is_asked_about_once():
    assert cases("Bao Nguyen\nAmara Okafor\nbao nguyen") == [Case.NEW, Case.NEW, Case.TWICE]


def test_two_of_one_name_with_two_numbers_are_two():
    assert cases("Bao Nguyen, 1\nBao Nguyen, 2") == [Case.NEW, Case.NEW]


def test_one_number_on_two_lines_is_a_clash():
    assert cases("Bao Nguyen, 1\nAmara Okafor, 1") == [Case.CLASH, Case.CLASH]


def test_a_slip_of_the_pen_is_asked_about():
    assert cases("Sana Zahir\nSanna Zahir") == [Case.ALIKE, Case.ALIKE]
    assert cases("Sanna Zahir", [Known(1, "Sana Zahir", "")]) == [Case.ALIKE]


def test_names_that_only_share_a_surname_are_not():
    assert cases("Ana Silva\nRui Silva") == [Case.NEW, Case.NEW]


def test_accents_and_case_do_not_make_another_person():
    assert cases("rene d", [Known(1, "René D.", "")]) == [Case.HERE]


def test_who_is_here_or_was_here_or_is_elsewhere_is_known():
    known = [
        Known(1, "Amara Okafor", ""),
        Known(2, "Bao Nguyen", "", left=True),
        Known(3, "Camila Reyes", "", section="Bell 2"),
    ]
    assert cases("Amara Okafor\nBao Nguyen\nCamila Reyes", known) == [
        Case.HERE,
        Case.LEFT,
        Case.ELSEWHERE,
    ]


def test_a_number_decides_before_a_name():
    known = [Known(1, "Amara Okafor", "77", section="Bell 2")]
    assert cases("Amara Okafor, 77", known) == [Case.ELSEWHERE]
    assert cases("Zoe Quist, 77", known) == [Case.CLASH]
    # Another number beside the same name is another person.
    assert cases("Amara Okafor, 78", known) == [Case.NEW]


def test_a_clash_does_not_tell_whose_number_it_is():
    (proposal,) = compare(parse("Zoe Quist, 77"), [Known(1, "Amara Okafor", "77", section="x")])
    assert proposal.like == ""
