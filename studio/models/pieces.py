"""Pieces, the instruments they are measured with, and the readings."""

from functools import reduce
from operator import and_

from django.conf import settings
from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, Subquery, When

from studio.ware.hands import LEAST_FINGER_MM, MOST_FINGER_MM
from studio.ware.quantities import QUANTITIES
from studio.ware.uncertainty import reading_uncertainty

from .people import Section, Student
from .plans import Project, Stage

# The length limit of a code keeps it short enough to write in clay on a foot.
CODE_LENGTH = 16


class PieceQuerySet(models.QuerySet):
    """Named questions about pieces."""

    def in_order(self):
        return self.order_by("code")

    def for_list(self):
        """With what a row of a list shows, in one query."""
        return self.select_related("student", "project", "section").in_order()

    def going_on(self):
        """Neither lost nor broken."""
        return self.filter(state__in=(Piece.State.IN_WORK, Piece.State.FINISHED))

    def with_face(self):
        """With ``face_id``: the chosen photo, else the newest side view, else the newest."""
        photos = self.model._meta.get_field("photos").related_model.objects
        side_first = Case(When(view="side", then=0), default=1)
        newest = photos.filter(piece=OuterRef("pk")).order_by(
            "-chosen", side_first, F("taken_at").desc(nulls_last=True), "-pk"
        )
        return self.annotate(face_id=Subquery(newest.values("pk")[:1]))

    def with_marks_of_work(self):
        """With whether it was measured, also at its stage, is in doubt, noted or to be ruled."""
        readings = Reading.objects.current().filter(piece=OuterRef("pk"))
        photos = self.model._meta.get_field("photos").related_model.objects
        outcomes = self.model._meta.get_field("outcomes").related_model.objects
        return self.annotate(
            was_measured=Exists(readings),
            is_measured=Exists(readings.filter(stage=OuterRef("stage"))),
            in_doubt=Exists(readings.exclude(doubt="")),
            has_photo=Exists(photos.filter(piece=OuterRef("pk"))),
            has_outcome=Exists(outcomes.filter(piece=OuterRef("pk"))),
            to_rule=Exists(outcomes.filter(piece=OuterRef("pk"), doing="unclear")),
        )


class Piece(models.Model):
    """One thing a student makes."""

    class State(models.TextChoices):
        IN_WORK = "in work", "in work"
        FINISHED = "finished", "finished"
        LOST = "lost", "lost"
        BROKEN = "broken", "broken"

    class SeamIntent(models.TextChoices):
        SHOWN = "shown", "shown, as part of the design"
        HIDDEN = "hidden", "hidden"

    class AccentIntent(models.TextChoices):
        RIM = "rim", "the rim"
        BELLY = "belly", "the wall"
        HANDLE = "handle", "the handle"
        FOOT = "foot", "the foot"
        INSIDE = "inside", "the inside"
        WHOLE = "whole", "the form as a whole"

    class RimIntent(models.TextChoices):
        LEVEL = "level", "level all round"
        DRAWN = "drawn", "drawn out to a lip, or meant to wander"

    class HandleIntent(models.TextChoices):
        OPPOSITE = "opposite", "opposite the seam"
        OVER = "over", "over the seam"
        QUARTER = "quarter", "a quarter turn from the seam"
        NONE = "none", "no handle"

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="pieces")
    project = models.ForeignKey(Project, on_delete=models.CASCADE, related_name="pieces")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="pieces")
    code = models.CharField(
        max_length=CODE_LENGTH,
        help_text="Written on the foot or the tag; letters, figures, hyphen.",
    )
    stage = models.CharField(max_length=12, choices=Stage, default=Stage.WET)
    stage_since = models.DateField(null=True, blank=True)
    state = models.CharField(max_length=10, choices=State, default=State.IN_WORK)
    title = models.CharField(
        "its title",
        max_length=80,
        blank=True,
        help_text="If it has one. It stands on your family's page.",
    )
    intent = models.TextField(
        "what the student wants of it",
        blank=True,
        max_length=1000,
        help_text="Seam shown or hidden, focal point…",
    )
    intent_seam = models.CharField("the seam", max_length=8, choices=SeamIntent, blank=True)
    intent_accent = models.CharField(
        "where the eye should go first", max_length=8, choices=AccentIntent, blank=True
    )
    intent_rim = models.CharField("the rim", max_length=8, choices=RimIntent, blank=True)
    intent_handle = models.CharField("the handle", max_length=8, choices=HandleIntent, blank=True)

    finger_breadth_mm = models.FloatField(
        "breadth of a finger of the hand it is for [mm]",
        null=True,
        blank=True,
        help_text="Index finger, at its middle joint. Empty: as the project plans it.",
    )

    objects = PieceQuerySet.as_manager()

    class Meta:
        ordering = ("code",)
        constraints = [
            models.UniqueConstraint(fields=("section", "code"), name="code_once_in_a_section"),
            models.CheckConstraint(
                condition=Q(finger_breadth_mm__isnull=True)
                | Q(finger_breadth_mm__gte=LEAST_FINGER_MM, finger_breadth_mm__lte=MOST_FINGER_MM),
                name="own_finger_breadth_plausible",
            ),
            models.CheckConstraint(
                condition=Q(code__regex=r"^[A-Za-z0-9][A-Za-z0-9-]*$"), name="code_can_be_written"
            ),
        ]

    def __str__(self):
        return self.code


class Instrument(models.Model):
    """What a reading is taken with. Resolution and repeatability are in ``unit``."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        help_text="Nobody for an instrument that ships with the site.",
    )
    name = models.CharField(max_length=60)
    unit = models.CharField(
        max_length=4, default="mm", choices=[(u, u) for u in ("mm", "deg", "g")]
    )
    resolution = models.FloatField(help_text="The smallest step it shows.")
    repeatability = models.FloatField(
        help_text="Standard deviation of reading one spot again and again."
    )

    class Meta:
        ordering = ("name",)
        constraints = [
            models.UniqueConstraint(fields=("owner", "name"), name="instrument_name_once"),
            models.CheckConstraint(condition=Q(resolution__gt=0), name="resolution_above_zero"),
            models.CheckConstraint(
                condition=Q(repeatability__gte=0), name="repeatability_not_negative"
            ),
        ]

    def __str__(self):
        return self.name


class ReadingQuerySet(models.QuerySet):
    """Named questions about readings."""

    def current(self):
        """Those that count: neither superseded nor taken back."""
        return self.filter(superseded_at__isnull=True)


def _plausible_values() -> Q:
    """Every quantity within its range; not-a-number and infinity fall outside each."""
    return reduce(
        and_,
        (
            ~Q(quantity=q.key) | Q(value__gte=q.lowest, value__lte=q.highest)
            for q in QUANTITIES.values()
        ),
    )


class Reading(models.Model):
    """One value read off a piece at one stage. Never changed: a correction supersedes it."""

    class Source(models.TextChoices):
        HAND = "hand", "by hand"
        PHOTO = "photo", "from a photo"
        STUDENT = "student", "by the student's hand"

    piece = models.ForeignKey(Piece, on_delete=models.CASCADE, related_name="readings")
    stage = models.CharField(max_length=12, choices=Stage)
    quantity = models.CharField(
        max_length=20, choices=[(q.key, q.label) for q in QUANTITIES.values()]
    )
    name = models.CharField(max_length=24, blank=True)
    height_mm = models.FloatField(null=True, blank=True)
    azimuth_deg = models.FloatField(null=True, blank=True)
    station = models.CharField(
        max_length=60, blank=True, editable=False, help_text="Name, height and azimuth as one key."
    )
    value = models.FloatField(help_text="In mm, degrees or grams.")
    typed = models.CharField(max_length=40, help_text="As it was written, unit and all.")
    instrument = models.ForeignKey(Instrument, on_delete=models.PROTECT, null=True, blank=True)
    own_u = models.FloatField(
        null=True, blank=True, help_text="Standard uncertainty that came with the value (photo)."
    )
    source = models.CharField(max_length=8, choices=Source, default=Source.HAND)
    photo = models.ForeignKey("Photo", on_delete=models.SET_NULL, null=True, blank=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    doubt = models.CharField(
        max_length=160,
        blank=True,
        help_text="The question asked of a likely slip; empty when answered.",
    )
    supersedes = models.ForeignKey(
        "self", on_delete=models.SET_NULL, null=True, blank=True, related_name="successors"
    )
    superseded_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="+",
        help_text="Who took it back without putting another in its place.",
    )

    objects = ReadingQuerySet.as_manager()

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("piece", "stage", "quantity", "station", "source"),
                condition=Q(superseded_at__isnull=True),
                name="one_current_reading_a_station",
            ),
            models.CheckConstraint(condition=_plausible_values(), name="value_is_plausible"),
            models.CheckConstraint(
                condition=Q(quantity__in=list(QUANTITIES)), name="quantity_is_known"
            ),
            models.CheckConstraint(
                condition=Q(azimuth_deg__isnull=True) | Q(azimuth_deg__gte=0, azimuth_deg__lt=360),
                name="azimuth_within_a_turn",
            ),
            models.CheckConstraint(
                condition=Q(height_mm__isnull=True) | Q(height_mm__gte=0, height_mm__lte=2000),
                name="station_height_plausible",
            ),
            models.CheckConstraint(
                condition=Q(own_u__isnull=True) | Q(own_u__gt=0, own_u__lte=2000),
                name="own_uncertainty_above_zero",
            ),
        ]
        indexes = [
            models.Index(
                fields=("piece", "stage", "quantity"),
                condition=Q(superseded_at__isnull=True),
                name="current_readings",
            ),
        ]

    def __str__(self):
        return f"{self.piece} {self.stage} {self.quantity} {self.station}: {self.value:g}"

    @property
    def u(self) -> float:
        """Its standard uncertainty, in the unit of ``value``; needs ``instrument`` fetched."""
        return reading_uncertainty(
            self.quantity, self.stage, own_u=self.own_u, instrument=self.instrument
        )
