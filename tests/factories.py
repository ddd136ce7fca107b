"""Rows for tests, made plainly: every function makes what its name says and no more."""

from __future__ import annotations

import uuid

from django.contrib.auth import get_user_model
from django.utils import timezone

from studio.models import (
    Clay,
    ClayShrinkage,
    Enrolment,
    Firing,
    GradeBand,
    Kiln,
    Load,
    MatPrint,
    Membership,
    Photo,
    Piece,
    Plan,
    PlannedSize,
    Project,
    Reading,
    Section,
    Student,
)
from studio.ware.quantities import QUANTITIES, station_of

# (label, from per cent)
BANDS = (("A", 90), ("B", 80), ("C", 70), ("D", 60), ("E", 0))

# Linear shrinkage from wet, per cent: a mid-fire stoneware, as in the craft checks' starter plan.
SHRINKAGE = {"leather-hard": "2.5", "bone dry": "6", "bisque": "6.5", "glazed": "12"}


def make_user(username: str, **fields):
    """A person with a login; the password is the user name."""
    user = get_user_model()(username=username, **fields)
    user.set_password(username)
    user.save()
    return user


def make_section(teacher=None, *, head=None, name: str = "Bell 4", **fields) -> Section:
    """A section with a grade scale, its teacher and, if given, a head it is shared with."""
    section = Section.objects.create(name=name, **fields)
    for user, role in ((teacher, Membership.Role.TEACHER), (head, Membership.Role.HEAD)):
        if user is not None:
            Membership.objects.create(user=user, section=section, role=role)
    for label, edge in BANDS:
        GradeBand.objects.create(section=section, label=label, from_percent=edge)
    return section


def make_student(
    section: Section, name: str = "Amara O.", *, login=None, note: str = "", **fields
) -> Student:
    """A student enrolled in a section, with its private note."""
    student = Student.objects.create(name=name, login=login, **fields)
    Enrolment.objects.create(student=student, section=section, note=note)
    return student


def make_project(section: Section, title: str = "Slab cup", *, number: int = 3) -> Project:
    """A project with a plan: a cup 95 high, 85 across, on a foot of 58, of a stoneware."""
    project = Project.objects.create(section=section, title=title, number=number)
    clay = Clay.objects.create(name=f"Stoneware of {section.pk}-{number}")
    for stage, percent in SHRINKAGE.items():
        ClayShrinkage.objects.create(clay=clay, stage=stage, percent=percent)
    plan = Plan.objects.create(project=project, clay=clay, capacity_ml=280)
    for size, fired_mm in (("height", 95), ("rim_diameter", 85), ("foot_side", 58)):
        PlannedSize.objects.create(plan=plan, name=size, fired_mm=fired_mm)
    return project


def make_piece(project: Project, student: Student, code: str = "K3-01", **fields) -> Piece:
    """A piece of a student."""
    return Piece.objects.create(
        section=project.section, project=project, student=student, code=code, **fields
    )


def read(piece: Piece, quantity: str, value: float, *, stage: str = "leather-hard", **fields):
    """One current reading; ``name``, ``height_mm`` and ``azimuth_deg`` say where."""
    place = (fields.get("name", ""), fields.get("height_mm"), fields.get("azimuth_deg"))
    return Reading.objects.create(
        piece=piece,
        stage=stage,
        quantity=quantity,
        value=value,
        typed=f"{value:g}",
        station=station_of(QUANTITIES[quantity], *place),
        **fields,
    )


U_MM = 0.1
"""So sure that a level follows from the value alone; a test of uncertainty names an instrument."""


def _sure(fields: dict) -> dict:
    return fields if "instrument" in fields else {"own_u": U_MM, **fields}


def read_rim(piece: Piece, *heights: float, **fields) -> None:
    """Rim heights at even steps round the cup, from the handle on."""
    for place, height in enumerate(heights):
        azimuth = place * 360 / len(heights)
        read(piece, "rim_height", height, azimuth_deg=azimuth, **_sure(fields))


def read_wall(piece: Piece, *thicknesses: float, **fields) -> None:
    """Wall readings at half height, at even steps round the cup."""
    for place, thickness in enumerate(thicknesses):
        azimuth = place * 360 / len(thicknesses)
        read(piece, "wall_thickness", thickness, height_mm=45, azimuth_deg=azimuth, **_sure(fields))


def make_photo(piece: Piece, *, stage: str = "leather-hard", view: str = "side") -> Photo:
    """A row of a photo without its files."""
    return Photo.objects.create(
        section=piece.section,
        piece=piece,
        stage=stage,
        view=view,
        width=4,
        height=3,
        sha256=uuid.uuid4().hex,
    )


def take_back(reading: Reading) -> None:
    """Take a reading back, as a correction does with the one it replaces."""
    reading.superseded_at = timezone.now()
    reading.save(update_fields=["superseded_at"])


def make_firing(owner, *pieces, kind: str = "glazed", shelf: int | None = 1, **fields) -> Firing:
    """A firing to cone 6 in a kiln of ``owner``, with these pieces on one shelf."""
    kiln, _new = Kiln.objects.get_or_create(owner=owner, name="Back kiln")
    firing = Firing.objects.create(
        **{
            "kiln": kiln,
            "kind": kind,
            "planned_cone": "6",
            "fired_on": timezone.localdate(),
            "begun_by": owner,
            **fields,
        }
    )
    for piece in pieces:
        Load.objects.create(firing=firing, piece=piece, shelf=shelf)
    return firing


def make_mat(owner, bar_mm=100.0):
    """A printed mat whose bar was measured."""
    return MatPrint.objects.create(owner=owner, bar_mm=bar_mm)
