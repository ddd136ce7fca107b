"""What pieces are judged by."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

from rubrics.checks.register import figure_choices
from studio.models import Project

LONGEST_DESCRIPTOR = 4000
"""Signs of a description or a descriptor: what a page still shows."""


class RubricQuerySet(models.QuerySet):
    """Named questions about rubrics."""

    def whole(self):
        """With criteria, levels and limits, in four queries whatever the number."""
        return self.prefetch_related("criteria__levels", "criteria__limits")

    def with_counts(self):
        """With ``criteria_count`` and ``project_count``, in order of name, latest first."""
        return self.select_related("owner").annotate(
            criteria_count=models.Count("criteria", distinct=True),
            project_count=models.Count("uses", distinct=True),
        )


class Rubric(models.Model):
    """A set of criteria. Frozen once a piece has been marked by it; a change makes a version."""

    owner = models.ForeignKey(
        settings.AUTH_USER_MODEL,
        on_delete=models.CASCADE,
        null=True,
        blank=True,
        help_text="Nobody for a starter rubric that ships with the site.",
    )
    name = models.CharField(max_length=120)
    version = models.PositiveSmallIntegerField(default=1, editable=False)
    previous = models.ForeignKey(
        "self",
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        editable=False,
        related_name="later",
    )
    frozen_at = models.DateTimeField(null=True, blank=True, editable=False)
    made_at = models.DateTimeField(auto_now_add=True)
    changed_at = models.DateTimeField(auto_now=True)
    uid = models.UUIDField(
        default=uuid.uuid4,
        unique=True,
        editable=False,
        help_text="Names it, its criteria and levels in files that leave the site.",
    )

    objects = RubricQuerySet.as_manager()

    class Meta:
        ordering = ("name", "-version")
        constraints = [
            models.UniqueConstraint(
                fields=("owner", "name", "version"), name="rubric_version_once"
            ),
            models.CheckConstraint(condition=Q(version__gte=1), name="versions_count_from_one"),
        ]

    def __str__(self):
        return f"{self.name} (version {self.version})" if self.version > 1 else self.name


class Criterion(models.Model):
    """One thing looked at, with its weight and, where a check speaks to it, its limits."""

    class Group(models.TextChoices):
        CRAFT = "craft", "craft"
        DESIGN = "design", "design"
        THINKING = "thinking", "thinking"
        HABITS = "habits", "habits"

    rubric = models.ForeignKey(Rubric, on_delete=models.CASCADE, related_name="criteria")
    position = models.PositiveSmallIntegerField(default=0)
    letter = models.CharField(max_length=2)
    name = models.CharField(max_length=80)
    group = models.CharField(max_length=8, choices=Group, default=Group.CRAFT)
    weight = models.DecimalField(max_digits=5, decimal_places=2)
    description = models.TextField(blank=True, max_length=LONGEST_DESCRIPTOR)

    class Meta:
        ordering = ("position", "pk")
        constraints = [
            models.UniqueConstraint(fields=("rubric", "letter"), name="criterion_letter_once"),
            models.CheckConstraint(condition=Q(weight__gt=0), name="weight_above_zero"),
        ]

    def __str__(self):
        return f"{self.letter} {self.name}"


class Level(models.Model):
    """One of the four levels of a criterion. 4 is the highest."""

    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="levels")
    number = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=30)
    points = models.DecimalField(max_digits=5, decimal_places=2)
    descriptor = models.TextField(max_length=LONGEST_DESCRIPTOR)

    class Meta:
        ordering = ("-number",)
        constraints = [
            models.UniqueConstraint(fields=("criterion", "number"), name="level_once"),
            models.CheckConstraint(
                condition=Q(number__gte=1, number__lte=4), name="level_is_1_to_4"
            ),
            models.CheckConstraint(
                condition=Q(points__gte=0, points__lte=100), name="points_in_0_to_100"
            ),
        ]

    def __str__(self):
        return f"{self.number} {self.name}"


class Limit(models.Model):
    """How one figure of a check is cut into levels: up to a is 4, to b is 3, to c is 2."""

    criterion = models.ForeignKey(Criterion, on_delete=models.CASCADE, related_name="limits")
    figure = models.CharField(max_length=60, choices=figure_choices)
    a = models.DecimalField("4 up to", max_digits=7, decimal_places=3)
    b = models.DecimalField("3 up to", max_digits=7, decimal_places=3)
    c = models.DecimalField("2 up to", max_digits=7, decimal_places=3)

    class Meta:
        ordering = ("pk",)
        constraints = [
            models.UniqueConstraint(fields=("criterion", "figure"), name="one_limit_a_figure"),
            models.CheckConstraint(
                condition=Q(a__gte=0, b__gte=F("a"), c__gte=F("b")), name="limits_rise"
            ),
        ]

    def __str__(self):
        return f"{self.get_figure_display()}: {self.a}, {self.b}, {self.c}"


class RubricUse(models.Model):
    """Which version of which rubric a project is judged by."""

    project = models.OneToOneField(Project, on_delete=models.CASCADE, related_name="rubric_use")
    rubric = models.ForeignKey(Rubric, on_delete=models.PROTECT, related_name="uses")

    def __str__(self):
        return f"{self.project} by {self.rubric}"
