"""Clays, projects and what a project plans."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studio.planning.wish import BUILDINGS, SLAB
from studio.ware import shrinkage, stages
from studio.ware.hands import LEAST_FINGER_MM, MOST_FINGER_MM, USUAL_HAND
from studio.ware.quantities import DIMENSIONS

from .people import Section


class Stage(models.TextChoices):
    """How far a piece has come. Each word is the trade's."""

    WET = stages.WET, "wet"
    LEATHER_HARD = stages.LEATHER_HARD, "leather-hard"
    BONE_DRY = stages.BONE_DRY, "bone dry"
    BISQUE = stages.BISQUE, "bisque"
    GLAZED = stages.GLAZED, "glazed"


class Clay(models.Model):
    """A clay body, with how much it shrinks from wet to each later stage."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        help_text="Nobody for a clay that ships with the site.",
    )
    name = models.CharField(max_length=80)
    maturing_cone = models.CharField(max_length=4, blank=True)
    absorption_percent = models.DecimalField(max_digits=4, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ("name",)
        constraints = [
            models.UniqueConstraint(fields=("owner", "name"), name="clay_name_once"),
        ]

    def __str__(self):
        return self.name


class ClayShrinkage(models.Model):
    """Linear shrinkage of a clay from wet to one stage, and its spread (standard deviation)."""

    clay = models.ForeignKey(Clay, on_delete=models.CASCADE, related_name="shrinkages")
    stage = models.CharField(max_length=12, choices=[c for c in Stage.choices if c[0] != "wet"])
    percent = models.DecimalField(max_digits=4, decimal_places=2)
    spread_percent = models.DecimalField(max_digits=4, decimal_places=2, default="0.50")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("clay", "stage"), name="one_shrinkage_a_stage"),
            models.CheckConstraint(
                condition=Q(
                    percent__gte=round(-100 * shrinkage.LARGEST_SWELLING),
                    percent__lte=round(100 * shrinkage.LARGEST_SHRINKAGE),
                ),
                name="shrinkage_is_plausible",
            ),
            models.CheckConstraint(condition=Q(spread_percent__gt=0), name="spread_above_zero"),
        ]

    def __str__(self):
        return f"{self.clay}: {self.percent} % to {self.stage}"


class Project(models.Model):
    """A section's task."""

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="projects")
    number = models.PositiveSmallIntegerField(default=1)
    title = models.CharField(max_length=120)
    brief = models.TextField(
        blank=True, max_length=4000, help_text="What the class is asked to make."
    )
    begun_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering = ("section", "number")
        constraints = [
            models.UniqueConstraint(fields=("section", "number"), name="project_number_once"),
        ]

    def __str__(self):
        return self.title


class Plan(models.Model):
    """What a project's piece should come out as; the sizes stand in ``PlannedSize``."""

    project = models.OneToOneField(Project, on_delete=models.CASCADE, related_name="plan")
    clay = models.ForeignKey(Clay, on_delete=models.PROTECT, null=True, blank=True)
    building = models.CharField(
        "how it is built", max_length=8, choices=list(BUILDINGS.items()), default=SLAB
    )
    slab_mm = models.FloatField("wet slab or wall thickness [mm]", default=6.35)
    handle_from_seam_deg = models.FloatField(
        "handle, counted from the seam [°]",
        default=180,
        help_text="Counter-clockwise seen from above; 180 is opposite the seam.",
    )
    fingers = models.PositiveSmallIntegerField("fingers through the handle", default=2)
    finger_breadth_mm = models.FloatField(
        "breadth of a finger [mm]",
        default=USUAL_HAND.finger_breadth_mm,
        help_text=(
            "At the middle joint of the index finger: small hand 16, usual 19.5, large 23. "
            "A student may give their own with the piece."
        ),
    )
    dart_count = models.PositiveSmallIntegerField("darts in the foot", default=4)
    dart_depth_mm = models.FloatField(
        "dart depth, fired [mm]",
        null=True,
        blank=True,
        help_text="Empty: a third of the height, or the whole wall where that is chosen.",
    )
    has_whole_wall_darts = models.BooleanField(
        "darts as long as the wall",
        default=False,
        help_text="The wall then leans in evenly from rim to foot.",
    )
    bevel_deg = models.FloatField("bevel of the ends [°]", default=45)
    seam_on_corner = models.BooleanField("seam on a corner", default=True)
    has_drawn_rim = models.BooleanField(
        "the rim is drawn out to a lip",
        default=False,
        help_text="Then nobody is told to level it. A student may plan their own piece otherwise.",
    )
    capacity_ml = models.FloatField("capacity to the brim [ml]", null=True, blank=True)
    line_ml = models.FloatField("capacity to the line [ml]", null=True, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(slab_mm__gt=0, slab_mm__lte=60), name="slab_plausible"
            ),
            models.CheckConstraint(
                condition=Q(handle_from_seam_deg__gt=-361, handle_from_seam_deg__lt=361),
                name="handle_angle_plausible",
            ),
            models.CheckConstraint(condition=Q(fingers__lte=4), name="at_most_four_fingers"),
            models.CheckConstraint(
                condition=Q(
                    finger_breadth_mm__gte=LEAST_FINGER_MM, finger_breadth_mm__lte=MOST_FINGER_MM
                ),
                name="finger_breadth_plausible",
            ),
            models.CheckConstraint(
                condition=Q(bevel_deg__gte=20, bevel_deg__lte=90), name="bevel_plausible"
            ),
            models.CheckConstraint(
                condition=Q(dart_depth_mm__isnull=True)
                | Q(dart_depth_mm__gt=0, dart_depth_mm__lte=2000),
                name="dart_depth_plausible",
            ),
        ]

    def __str__(self):
        return f"Plan of {self.project}"


class PlannedSize(models.Model):
    """One planned size of the finished, glazed piece."""

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="sizes")
    name = models.CharField(max_length=24, choices=list(DIMENSIONS.items()))
    height_mm = models.FloatField("at height [mm]", null=True, blank=True)
    fired_mm = models.FloatField("fired size [mm]")

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(
                fields=("plan", "name"),
                condition=Q(height_mm__isnull=True),
                name="planned_size_once",
            ),
            models.UniqueConstraint(
                fields=("plan", "name", "height_mm"), name="planned_size_once_a_height"
            ),
            models.CheckConstraint(
                condition=Q(fired_mm__gte=0.5, fired_mm__lte=2000), name="planned_size_plausible"
            ),
        ]

    def __str__(self):
        return f"{self.get_name_display()} {self.fired_mm} mm"
