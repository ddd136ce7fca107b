"""Who did what with a student's record, what teachers ask of each other, and who guesses."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from studio.models.people import Section, Student


class ActQuerySet(models.QuerySet):
    """The log is written and read; nobody changes a line of it."""

    def update(self, **fields):
        raise TypeError("A line of the log is never changed.")


class Act(models.Model):
    """A line of the log: what was done with a student's place, record or login, by whom.

    Each section that it touches has a line of its own, and its teachers read it. It holds no code,
    no password and no word of a private note. A line is never changed; it goes with the student's
    record, with the section, or when it is older than ``studio.people.act_log.KEPT``.
    """

    class Kind(models.TextChoices):
        JOINED = "joined", "enrolled"
        LEFT = "left", "ended the time in the section of"
        ASKED = "asked", "asked for"
        REFUSED = "refused", "refused the asking for"
        CODE = "code", "gave a sign-in code, which ended password and sessions of"
        LOGIN_CLOSED = "closed", "closed the login of"
        CHANGED = "changed", "changed the record of"
        NOTE = "note", "changed the private note on"
        SAVED = "saved", "saved the whole record of"
        REMOVED = "removed", "removed a student with every record"
        SHARED = "shared", "let somebody read the section:"
        UNSHARED = "unshared", "stopped sharing the section with"
        PUT_AWAY = "put away", "put a section away:"
        BROUGHT_BACK = "back", "brought a section back:"

    at = models.DateTimeField(auto_now_add=True, db_index=True)
    section = models.ForeignKey(Section, on_delete=models.CASCADE, related_name="acts")
    student = models.ForeignKey(Student, on_delete=models.CASCADE, null=True, related_name="acts")
    by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    by_name = models.CharField(max_length=320, blank=True, help_text="As it stood then.")
    kind = models.CharField(max_length=12, choices=Kind)
    detail = models.CharField(max_length=300, blank=True)

    objects = ActQuerySet.as_manager()

    class Meta:
        ordering = ("-at", "-pk")
        verbose_name = "line of the log"
        verbose_name_plural = "lines of the log"

    def __str__(self):
        return f"{self.by_name}: {self.kind}"

    def save(self, *args, **kwargs):
        """Write a new line; one that stands is never changed."""
        if not self._state.adding:
            raise TypeError("A line of the log is never changed.")
        super().save(*args, **kwargs)


class PlaceRequest(models.Model):
    """A student of another teacher's section is asked for; that teacher answers."""

    student = models.ForeignKey(Student, on_delete=models.CASCADE, related_name="place_requests")
    section = models.ForeignKey(
        Section, on_delete=models.CASCADE, related_name="place_requests", help_text="That asks."
    )
    asked_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    name = models.CharField(max_length=120, help_text="As the asking teacher wrote it.")
    asked_at = models.DateTimeField(auto_now_add=True)
    answered_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ("asked_at", "pk")
        verbose_name = "asking for a place"
        verbose_name_plural = "askings for places"
        constraints = [
            models.UniqueConstraint(
                fields=("student", "section"),
                condition=Q(answered_at__isnull=True),
                name="asked_once_at_a_time",
            ),
        ]

    def __str__(self):
        return f"{self.student} for {self.section}"


class FailedSignIn(models.Model):
    """How often somebody at one address tried to sign in with one name, since it last worked."""

    name = models.CharField(max_length=150, help_text="As typed, in lower case.")
    address = models.CharField(max_length=45, help_text="Of an IPv6 network its first half.")
    tries = models.PositiveIntegerField(default=0)
    last_at = models.DateTimeField(db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=("name", "address"), name="counted_once_an_address"),
        ]

    def __str__(self):
        return f"{self.name} from {self.address}: {self.tries}"
