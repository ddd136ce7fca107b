"""The demo's critique in the middle, of the project in work, and its three anchor cups.

All invented, and written through the functions of the pages. Some remarks wait at the gate, one is
flagged, one came back, the rest are with their makers; the demo's student has pieces to read.
"""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

from rubrics.critique import answering, eye, gate, opening, pairs, writing
from rubrics.models import Critique, Look, Remark
from studio.models import Photo, Piece, Project
from studio.photos import storing

Box, Place = Remark.Box, Remark.Place
FLAT = {"rim": Place.RIM, "wall": Place.WALL, "handle": Place.HANDLE, "foot": Place.FOOT}
Parts = dict[int, dict[str, tuple[float, float]]]
"""By the id of a photo, where it shows each part."""

SEED = 1204
STANDS_IN = "Rendered photograph of a cup, standing in for the jug"
# Parts of a rendered cup, by the landmarks that its truth names; a pin stands in their middle.
PARTS = {
    "rim": ("rim_lowest",),
    "wall": ("rim_left", "rim_right", "foot_left", "foot_right"),
    "handle": ("handle_outermost",),
    "foot": ("foot_left", "foot_right"),
}
RIM, WALL, HANDLE, FOOT = (("part", name) for name in PARTS)

# What each reader in turn writes: (box, words, which part of the photo, or a place of the list).
SETS = (
    (
        (Box.SEE, "A straight wall with a rim that rises on one side.", RIM),
        (
            Box.WORKS,
            "Where the handle meets the wall the join is thick, so it looks strong.",
            HANDLE,
        ),
        (Box.STRONG, "The foot works because it is even all round.", FOOT),
        (Box.TRY, "Try to true the rim on a board, because it tips to the left.", RIM),
    ),
    (
        (Box.SEE, "My eye goes first to the handle, because it is darker than the wall.", HANDLE),
        (Box.ABOUT, "It seems made for pouring slowly because the wall is so upright.", Place.WALL),
        (Box.TRY, "If the handle sat a finger lower, then a full jug would hang straight.", HANDLE),
    ),
    (
        (Box.SEE, "Nice.", None),
        (Box.STRONG, "Keep the texture at the middle, because it leads round to the handle.", WALL),
        (Box.TRY, "Thin the lip at the spout, so that the last drop falls.", Place.RIM),
    ),
)
HURTFUL = (Box.TRY, "The handle looks stupid, do it again.", HANDLE)
KIND = "Write about the piece, not about its maker. What could be tried at the handle, and why?"
INTENTS = (
    (
        "Morning",
        "A jug for one cup of milk, quiet outside, with the eye at the rim.",
        "rim",
        "hidden",
    ),
    ("", "I want the seam to show as a line that leads to the handle.", "handle", "shown"),
    ("Low tide", "Rough below and smooth above, as if water had stood in it.", "belly", "hidden"),
    ("", "A jug that a small hand can lift when it is full.", "handle", "hidden"),
)
ANCHORS = ("K3-01", "K3-05", "K3-09")
STUDENT_LEVELS = (4, 3, 2)
TEACHER_LEVELS = (4, 3, 1)


def build(project: Project, cups: list[Piece], teacher, student, folder: Path) -> Critique:
    """Open the critique of the project in work, with remarks in every state; set three cups out."""
    pieces = opening.pieces_to_show(project)
    for number, piece in enumerate(pieces):
        title, intent, accent, seam = INTENTS[number % len(INTENTS)]
        piece.title, piece.intent = title, intent
        piece.intent_accent, piece.intent_seam = accent, seam
        piece.intent_handle = Piece.HandleIntent.OPPOSITE
        piece.save()
    parts = _photographs(pieces, cups, teacher, folder)
    pairs.keep_apart(project.section, pieces[3].student, pieces[4].student)
    critique = opening.open_critique(
        Critique(project=project, kind=Critique.Kind.MIDDLE, readers=3, names_hidden=True),
        teacher,
        pieces,
        seed=SEED,
    )
    _write(critique, student, parts)
    _rule(critique, teacher)
    _answer(critique, student)
    _set_eyes(project, cups, teacher, student)
    return critique


def _photographs(pieces: list[Piece], cups: list[Piece], teacher, folder: Path) -> Parts:
    """Rendered pictures of the cups stand in for the jugs, and say so; where their parts are."""
    truth = {each["file"]: each for each in json.loads((folder / "truth.json").read_text("utf-8"))}
    taken = Photo.objects.filter(piece__in=cups, view="side", came_as__in=truth)
    taken = taken.order_by("-stage", "pk")
    parts: Parts = {}
    for piece, photo in zip(pieces, taken, strict=False):
        with photo.file.open("rb") as opened:
            # Bytes of its own, after the picture's end: the site keeps the same photo once.
            upload = opened.read() + piece.code.encode()
        copy = storing.store(
            piece.section,
            piece,
            storing.take_in(upload, f"{piece.code}.jpg"),
            teacher,
            stage=piece.stage,
            view=photo.view,
        )
        copy.caption = STANDS_IN
        copy.save(update_fields=["caption"])
        parts[copy.pk] = _parts(truth[photo.came_as])
    return parts


def _parts(truth: dict) -> dict[str, tuple[float, float]]:
    """Where a photo shows each part, as shares of its width and height."""
    image, marks = truth["image"], truth["landmarks"]
    return {
        part: tuple(
            sum(marks[name]["px"][axis] for name in names) / len(names) / image[side]
            for axis, side in enumerate(("width", "height"))
        )
        for part, names in PARTS.items()
    }


def _write(critique: Critique, student, parts: Parts) -> None:
    looks = Look.objects.filter(shown__critique=critique).select_related(
        "reader", "shown__piece", "shown__critique__project"
    )
    turn = Counter()
    for look in looks:
        number = turn[look.shown_id]
        turn[look.shown_id] += 1
        if look.reader_id == student.pk:
            # The demo's student still has all to read.
            continue
        said = SETS[(number + look.shown.position) % len(SETS)]
        if look.shown.position == 1 and number == 1:
            said = (*said[:-1], HURTFUL)
        photo = look.shown.piece.photos.first()
        for box, words, where in said:
            writing.save_box(look, box, _written(words, where, photo, parts), version=0)
        writing.send(look)


def _written(words: str, where, photo, parts: Parts) -> writing.Written:
    if not isinstance(where, tuple):
        return writing.Written(words, where or "")
    if photo is None:
        return writing.Written(words, FLAT[where[1]])
    x, y = parts[photo.pk][where[1]]
    return writing.Written(words, photo=photo.pk, x=x, y=y)


def _rule(critique: Critique, teacher) -> None:
    """All but the flagged ones of the first places go through; some wait still."""
    waiting = gate.at_the_gate(critique)
    sound = [row.remark for row in waiting if not row.flags]
    through = sound[: len(sound) * 3 // 4]
    gate.let_through(critique, [(each.pk, each.version) for each in through], teacher)
    hurt = [row.remark for row in waiting if any("hurt" in flag for flag in row.flags)]
    gate.give_back(critique, [(each.pk, each.version) for each in hurt], teacher, words=KIND)


def _answer(critique: Critique, student) -> None:
    """The demo's student answers two of the remarks that came."""
    own = Remark.objects.passed().filter(
        look__shown__critique=critique, look__shown__piece__student=student
    )
    said = (
        answering.Answered("changed", "I trued it on the glass plate.", helped=True),
        answering.Answered("not", "The dark handle is meant: it is where the hand goes."),
    )
    rows = own.select_related("look__shown__piece__student").order_by("pk")
    for remark, each in zip(rows, said, strict=False):
        answering.answer(remark, student.login, each)


def _set_eyes(project: Project, cups: list[Piece], teacher, student) -> None:
    setting = eye.open_setting(project, teacher, [each for each in cups if each.code in ANCHORS])
    for who, levels in ((teacher, TEACHER_LEVELS), (student.login, STUDENT_LEVELS)):
        criteria = project.rubric_use.rubric.criteria.all()
        given = {
            (cup.pk, criterion.pk): level
            for cup, level in zip(setting.cups.all(), levels, strict=True)
            for criterion in criteria
        }
        eye.answer(setting, who, given)
