"""Sections and the people in them."""

import uuid

from django.conf import settings
from django.db import models
from django.db.models import F, Q

# Registers write GUIDs of 36 signs; some prefix them.
SOURCED_ID_LENGTH = 255


class Section(models.Model):
    """A class group in a term: the unit of access."""

    class Unit(models.TextChoices):
        MM = "mm", "millimetres"
        INCH = "in", "inches"

    name = models.CharField(max_length=80, help_text="As the timetable calls it, such as Bell 4.")
    term = models.CharField(max_length=40, blank=True, help_text="Such as Autumn 2026.")
    school = models.CharField(
        "school", max_length=80, blank=True, help_text="As it stands on the families' pages."
    )
    unit = models.CharField(
        "unit for bare numbers",
        max_length=2,
        choices=Unit,
        default=Unit.MM,
        help_text="What a number typed without a unit means. A unit typed with it always wins.",
    )
    archived_at = models.DateTimeField(null=True, blank=True, editable=False)
    uid = models.UUIDField(
        default=uuid.uuid4,
        unique=True,
        editable=False,
        help_text="Names it, its projects and its results in files that leave the site.",
    )
    sourced_id = models.CharField(
        max_length=SOURCED_ID_LENGTH,
        blank=True,
        editable=False,
        help_text="The class's sourcedId in the school's register, where it came from there.",
    )

    class Meta:
        ordering = ("name", "pk")

    def __str__(self):
        return f"{self.name}, {self.term}" if self.term else self.name


class Membership(models.Model):
    """A grown-up in a section: its teacher, or a department head it is shared with."""

    class Role(models.TextChoices):
        TEACHER = "teacher", "teacher"
        HEAD = "head", "department head (reads only)"

    user = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE)
    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="memberships")
    role = models.CharField(max_length=8, choices=Role)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("user", "section"), name="one_role_in_a_section"),
        ]

    def __str__(self):
        return f"{self.user} as {self.role} of {self.section}"


class Student(models.Model):
    """A learner. Has a login only where the teacher gave one."""

    name = models.CharField(max_length=120)
    school_id = models.CharField(
        "school number",
        max_length=40,
        blank=True,
        help_text="Tells two students of one name apart. Optional.",
    )
    login = models.OneToOneField(
        settings.AUTH_USER_MODEL,
        on_delete=models.SET_NULL,
        null=True,
        blank=True,
        related_name="student",
    )
    family_language = models.CharField(
        "the family's language",
        max_length=12,
        default="en",
        help_text="In which the page for the family is printed.",
    )
    uid = models.UUIDField(
        default=uuid.uuid4,
        unique=True,
        editable=False,
        help_text="Names the student in files that leave the site.",
    )
    sourced_id = models.CharField(
        max_length=SOURCED_ID_LENGTH,
        blank=True,
        editable=False,
        help_text="The sourcedId in the school's register, where the student came from there.",
    )
    sections = models.ManyToManyField(Section, through="Enrolment", related_name="students")

    class Meta:
        ordering = ("name", "pk")
        constraints = [
            models.UniqueConstraint(
                fields=("school_id",), condition=~Q(school_id=""), name="school_number_is_unique"
            ),
            models.UniqueConstraint(
                fields=("sourced_id",), condition=~Q(sourced_id=""), name="sourced_id_is_unique"
            ),
        ]

    def __str__(self):
        return self.name


LONGEST_NOTE = 2000
"""Signs of a private note: half a page."""


class EnrolmentQuerySet(models.QuerySet):
    """Who is where at present."""

    def now(self):
        """Those that give rights over the student: not ended, in a section not put away."""
        return self.filter(left_on=None, section__archived_at=None)


class Enrolment(models.Model):
    """A student's time in a section; leaving ends it, nothing is deleted."""

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="enrolments")
    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="enrolments")
    joined_on = models.DateField(auto_now_add=True)
    left_on = models.DateField(null=True, blank=True)
    note = models.TextField(
        "private note on access",
        blank=True,
        max_length=LONGEST_NOTE,
        help_text="Time, tools, a helper's hands. Only this section's teachers see it, while the "
        "student is in the section; it is never printed.",
    )

    objects = EnrolmentQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("student", "section"), name="one_enrolment_a_section"),
            models.CheckConstraint(
                condition=Q(left_on__isnull=True) | Q(left_on__gte=F("joined_on")),
                name="leaves_after_joining",
            ),
        ]

    def __str__(self):
        return f"{self.student} in {self.section}"


class GradeBand(models.Model):
    """One step of a section's grade scale: the label given from a percentage up."""

    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="grade_bands")
    label = models.CharField(max_length=12)
    from_percent = models.DecimalField("from", max_digits=5, decimal_places=2)

    class Meta:
        ordering = ("-from_percent",)
        constraints = [
            models.UniqueConstraint(fields=("section", "label"), name="grade_label_once"),
            models.UniqueConstraint(fields=("section", "from_percent"), name="grade_edge_once"),
            models.CheckConstraint(
                condition=Q(from_percent__gte=0, from_percent__lte=100),
                name="grade_edge_in_0_to_100",
            ),
        ]

    def __str__(self):
        return f"{self.label} from {self.from_percent} %"


class SignInCode(models.Model):
    """A code that lets a student in once, to choose a password. Only its hash is kept."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sign_in_codes"
    )
    hashed = models.CharField(max_length=64)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    made_at = models.DateTimeField(auto_now_add=True)
    expires_at = models.DateTimeField()
    wrong_tries = models.PositiveIntegerField(default=0)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=("user",), condition=Q(used_at__isnull=True), name="one_open_code_a_user"
            ),
        ]

    def __str__(self):
        return f"code of {self.user}"
