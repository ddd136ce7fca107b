"""Printed mats: whose, and how long the check bar of each came out."""

from __future__ import annotations

from dataclasses import dataclass

from django.db import transaction

from studio.camera import mat
from studio.models import MatPrint, Photo, Turning
from studio.photos import confirming
from studio.photos.camera_findings import PhotoFindings


def latest(user) -> MatPrint | None:
    """The mat that a person photographs on now, if there was any."""
    return MatPrint.objects.filter(owner=user).last()


def current(user) -> MatPrint:
    """As :func:`latest`; the first photo begins one, its bar not measured yet."""
    return latest(user) or MatPrint.objects.create(owner=user)


def begin(user) -> MatPrint:
    """A newly printed mat: its bar is asked for anew, earlier photos keep theirs."""
    now = latest(user)
    if now is not None and not now.photos.exists() and now.bar_mm is None:
        return now  # nothing stands on it yet
    return MatPrint.objects.create(owner=user)


def bar_of(photo: Photo) -> float | None:
    """The check bar that a photo's sizes stand on [mm]; None where no ruler told it."""
    return photo.mat.bar_mm if photo.mat else None


@dataclass(frozen=True, slots=True)
class LengthChange:
    """What a new length did: photos that wait to be measured, and those of them that were looked
    over and wait for that again."""

    photos: int
    looked_over: int


@transaction.atomic
def measure(mat_print: MatPrint, bar_mm: float, user) -> LengthChange:
    """Keep the bar's length and put every photo on that mat to the new scale.

    Sizes read with another length are taken back and measured anew; points that a hand placed
    stay where they are.
    """
    mat_print.bar_mm = bar_mm
    mat_print.save(update_fields=["bar_mm"])
    changed = looked_over = 0
    for photo in mat_print.photos.select_for_update().exclude(found=None):
        found = PhotoFindings.from_json(photo.found)
        if found.bar_mm == bar_mm or found.camera is None:
            continue
        looked_over += photo.confirmed_at is not None
        confirming.withdraw(photo, user)
        photo.found = found.on_bar(bar_mm).to_json()
        photo.save(update_fields=["found", "confirmed_by", "confirmed_at"])
        changed += 1
    # What photos all round told together stands on the same length.
    for turning in Turning.objects.filter(photos__mat=mat_print).exclude(found=None).distinct():
        if turning.found["bar_mm"] != bar_mm:
            confirming.withdraw_turning(turning, user)
            turning.found = turning.read_at = None
            turning.save(update_fields=["found", "read_at"])
    return LengthChange(changed, looked_over)


def said_of(bar_mm: float) -> str:
    """What a bar of this length means for the sizes, in a sentence."""
    scale = mat.print_scale(bar_mm)
    if abs(scale - 1) <= mat.SCALE_WORTH_SAYING:
        return f"The mat is printed true: its bar measures {bar_mm:g} mm."
    return (
        f"The mat is printed at {scale:.1%} of its size: its bar measures {bar_mm:g} mm, not "
        f"{mat.CHECK_BAR_MM:g}. All sizes are scaled by that."
    )
