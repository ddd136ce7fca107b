"""The plain rules: counts, a place, a reason, and what is flagged."""

import pytest

from rubrics.critique import wording


@pytest.mark.parametrize(
    ("text", "words", "place", "reason"),
    [
        ("", 0, False, False),
        ("The rim tips left because the slab was thin.", 9, True, True),
        ("It feels calm.", 3, False, False),
        ("Because I like it", 4, False, True),
        ("RIM!", 1, True, False),
        # Words within words do not count: "brim" is no rim, "sofa" no so.
        ("A brim on a sofa", 5, False, False),
        # A name in another script is a word like others.
        ("El canto दीवार 壁", 4, False, False),
        ("El borde se inclina porque la placa era delgada.", 9, True, True),
        ("Ya es bonita", 3, False, False),
        ("Más alto, ya que pesa", 5, False, True),
        ("Sí, así me gusta", 4, False, False),
        ("LA UNIÓN se ve, así que alísala", 7, True, True),
        ("Es como una casa", 4, False, False),
    ],
)
def test_a_remark_is_read_by_its_words(text, words, place, reason):
    said = wording.read(text)
    assert (said.words, said.names_place, said.gives_reason) == (words, place, reason)


def test_a_pin_names_a_place():
    assert wording.read("It feels calm.", pointed=True).names_place


def test_the_limit_is_of_words():
    assert not wording.read("word " * wording.MOST_WORDS).too_long
    assert wording.read("word " * (wording.MOST_WORDS + 1)).too_long


@pytest.mark.parametrize(
    ("text", "flags"),
    [
        ("Try a thinner lip at the spout.", ()),
        ("Nice.", ("says hardly anything",)),
        ("I really like it, it is so nice", ("says hardly anything",)),
        ("It feels calm and very quiet to me.", ("names no place",)),
        ("The handle looks stupid, do it again.", ("may hurt: “stupid”",)),
        ("ugly trash", ("may hurt: “trash, ugly”", "says hardly anything")),
        ("Me gusta mucho, muy bonita", ("says hardly anything",)),
        ("Se siente tranquila y muy callada.", ("names no place",)),
        ("El asa es fea, hazla otra vez.", ("may hurt: “fea”",)),
        ("Prueba un borde delgado en el pico.", ()),
        # "skill" holds a word of the list, and is none.
        ("Your skill shows at the seam here.", ()),
    ],
)
def test_flags_are_told_in_words(text, flags):
    assert wording.flags(text) == flags
