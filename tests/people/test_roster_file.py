"""Columns of a class list: headings in any order, case and language-ish; then the lines."""

import pytest

from studio.people import roster_file, tables
from studio.people.roster import RosterLine
from studio.people.roster_file import Layout, RosterColumn, RosterProblem

NAME, GIVEN, FAMILY, NUMBER, NONE = (
    RosterColumn.NAME,
    RosterColumn.GIVEN,
    RosterColumn.FAMILY,
    RosterColumn.NUMBER,
    RosterColumn.NONE,
)


def table(text):
    return tables.read(text.encode())


@pytest.mark.parametrize(
    ("head", "columns"),
    [
        ("Name,ID", [NAME, NUMBER]),
        ("STUDENT ID,last name,First_Name", [NUMBER, FAMILY, GIVEN]),
        ("Nr,Apellido(s),Nombre", [NONE, FAMILY, GIVEN]),
        ("Matrícula,Nombre y apellidos", [NUMBER, NAME]),
        ("Schülernummer,Nachname,Vorname,E-Mail", [NUMBER, FAMILY, GIVEN, NONE]),
        ("Nom de famille,Prénom", [FAMILY, GIVEN]),
        ("Imię i nazwisko,Klasa", [NAME, NONE]),
        ("Display Name,Given Name,Family Name", [NONE, GIVEN, FAMILY]),
        ("Grade,First,Birthday", [NONE, NAME, NONE]),
    ],
)
def test_headings_are_understood(head, columns):
    guess = roster_file.guess(table(f"{head}\nx,y,z,w"))
    assert list(guess.columns)[: len(columns)] == columns
    assert guess.has_head


@pytest.mark.parametrize(
    ("text", "columns"),
    [
        ("Amara O.,20418\nBao N.,20419", [NAME, NUMBER]),
        ("20418,Okafor,Amara\n20419,Nguyen,Bao", [NUMBER, FAMILY, GIVEN]),
        ("Amara O.\nBao N.", [NAME]),
    ],
)
def test_without_headings_the_columns_are_looked_at(text, columns):
    assert roster_file.guess(table(text)) == Layout(tuple(columns), has_head=False)


def test_parts_of_a_name_are_put_together_and_a_comma_turns_it_round():
    parts = table("Last,First,ID\nOkafor,Amara,20418\n,Sukarno,")
    assert roster_file.lines(parts, roster_file.guess(parts)) == (
        [RosterLine(2, "Amara Okafor", "20418"), RosterLine(3, "Sukarno", "")],
        [],
    )
    whole = table('Name\n"Okafor, Amara"\n"Garcia Lopez, Ana"')
    lines, _problems = roster_file.lines(whole, roster_file.guess(whole))
    assert [line.name for line in lines] == ["Amara Okafor", "Ana Garcia Lopez"]


def test_every_line_that_is_wrong_has_its_sentence():
    wrong = table(f"Name,ID\n,20418\n{'x' * 130},2\nBao,3\nCy,{'4' * 50}")
    lines, problems = roster_file.lines(wrong, roster_file.guess(wrong))
    assert [line.name for line in lines] == ["Bao"]
    assert [problem.line for problem in problems] == [2, 3, 5]
    assert problems[0].sentence == "The line has no name. Write it, or take the line out."


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ([NUMBER, NONE], "No column holds the name. Say below which one does."),
        ([NAME, NAME], "Two columns are said to hold the whole name. Choose one of them."),
    ],
)
def test_a_layout_that_makes_no_list_is_told(columns, said):
    one = table("a,b\nc,d")
    assert roster_file.lines(one, Layout(tuple(columns), True)) == ([], [RosterProblem(0, said)])


def test_only_headings_are_no_list():
    one = table("Name,ID")
    assert roster_file.lines(one, roster_file.guess(one))[1][0].sentence.startswith(
        "There is only the row of headings."
    )
