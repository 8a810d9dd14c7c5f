"""Campus, people, their roles, shop tablets, the audit, the guard against repeated submission."""

from collections.abc import Iterable
from datetime import date
from functools import cached_property
from typing import Any, Self
from zoneinfo import ZoneInfo, available_timezones

from django.conf import settings
from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.auth.hashers import make_password
from django.core.exceptions import ValidationError
from django.db import models
from django.utils import timezone
from django.utils.crypto import get_random_string, salted_hmac
from django.utils.translation import gettext_lazy as _

from shared.text import fold


class Role(models.TextChoices):
    STUDENT = "student", _("Student")
    INSTRUCTOR = "instructor", _("Instructor")
    CLERK = "clerk", _("Purchasing clerk")
    MANAGER = "manager", _("Shop manager")


class Units(models.TextChoices):
    US = "us", _("US customary")
    METRIC = "metric", _("Metric")


class Theme(models.TextChoices):
    LIGHT = "light", _("Light")
    DARK = "dark", _("Dark")
    CONTRAST = "contrast", _("High contrast")


def validate_time_zone(name: str) -> None:
    if name not in available_timezones():
        raise ValidationError(
            _("%(name)s is no time zone. Write it as in America/Chicago or Europe/Madrid."),
            params={"name": name},
        )


class Campus(models.Model):
    """A place with its own shop; everything else belongs to one."""

    class Paper(models.TextChoices):
        A4 = "A4", _("A4")
        LETTER = "Letter", _("US Letter")

    class SymbolStandard(models.TextChoices):
        AWS = "AWS", _("AWS A2.4")
        ISO_A = "ISO-A", _("ISO 2553, system A")
        ISO_B = "ISO-B", _("ISO 2553, system B")

    name = models.CharField(_("name"), max_length=100, unique=True)
    time_zone = models.CharField(
        _("time zone"), max_length=64, default="UTC", validators=[validate_time_zone]
    )
    paper = models.CharField(_("paper"), max_length=6, choices=Paper.choices, default=Paper.LETTER)
    symbol_standard = models.CharField(
        _("welding symbol"),
        max_length=5,
        choices=SymbolStandard.choices,
        default=SymbolStandard.AWS,
    )
    default_units = models.CharField(
        _("units"), max_length=6, choices=Units.choices, default=Units.US
    )
    invented = models.BooleanField(_("invented data"), default=False)

    class Meta:
        verbose_name = _("campus")
        verbose_name_plural = _("campuses")
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def today(self) -> date:
        """Return the date it is at this campus."""
        return timezone.localdate(timezone=self.zone)


def _belongs_to(campus_ids: Iterable[int]) -> models.Q:
    members = Membership.objects.filter(campus__in=campus_ids).values("user")
    return models.Q(home_campus__in=campus_ids) | models.Q(pk__in=members)


class UserQuerySet(models.QuerySet["User"]):
    def at(self, campus: Campus) -> Self:
        """Everybody who belongs to `campus`: their home, or a role there."""
        return self.filter(_belongs_to([campus.pk]))

    def visible_to(self, user: "User") -> Self:
        """Themselves; an instructor's students; everybody at the campuses of a manager."""
        from shared.people.rosters import students_of

        seen = models.Q(pk=user.pk)
        managed = [campus for campus, role in user.held if role == Role.MANAGER]
        if managed:
            seen |= _belongs_to(managed)
        if user.has_role(Role.INSTRUCTOR):
            seen |= models.Q(pk__in=students_of(user))
        return self.filter(seen)

    def with_role(self, role: Role | str, campus: Campus) -> Self:
        return self.filter(memberships__role=role, memberships__campus=campus)

    def present(self) -> Self:
        """Without those who left or were erased."""
        return self.filter(is_active=True, erased_at=None)

    def matching(self, text: str) -> Self:
        """Those whose name, sign-in name or number has every word of `text`."""
        found = self
        for word in fold(text).split():
            found = found.filter(
                models.Q(search_name__contains=word)
                | models.Q(username__contains=word)
                | models.Q(student_number__icontains=word)
            )
        return found


class UserManager(BaseUserManager["User"]):
    def get_by_natural_key(self, username: str | None) -> "User":
        return self.get(username=(username or "").casefold())

    def create_person(
        self,
        *,
        name: str,
        home_campus: Campus,
        sort_name: str = "",
        username: str | None = None,
        student_number: str | None = None,
        password: str | None = None,
        roles: Iterable[Role | str] = (),
        **fields: Any,
    ) -> "User":
        """Store a person with their roles at `home_campus`; without a password none fits."""
        person = self.model(
            home_campus=home_campus,
            username=username.casefold() if username else None,
            student_number=student_number or None,
            **fields,
        )
        person.set_name(name, sort_name)
        person.set_password(password)
        person.save(using=self._db)
        Membership.objects.bulk_create(
            Membership(user=person, campus=home_campus, role=role) for role in roles
        )
        return person


def _new_stamp() -> str:
    return get_random_string(16)


class User(AbstractBaseUser):
    """A person. The key of a roster is campus and student number, never the name.

    Students usually have no sign-in name: they sign in with a PIN on a shop tablet.
    """

    username = models.CharField(
        _("sign-in name"), max_length=150, unique=True, null=True, blank=True
    )
    name = models.CharField(_("name"), max_length=150)
    sort_name = models.CharField(_("name in lists"), max_length=150)
    search_name = models.CharField(max_length=310, editable=False)
    home_campus = models.ForeignKey(
        Campus, on_delete=models.PROTECT, related_name="people", verbose_name=_("campus")
    )
    student_number = models.CharField(  # noqa: DJ001 - two without a number are no duplicates
        _("student number"), max_length=32, null=True, blank=True
    )
    pin_hash = models.CharField(max_length=128, blank=True, editable=False)
    pin_set_at = models.DateTimeField(null=True, blank=True, editable=False)
    units = models.CharField(_("units"), max_length=6, choices=Units.choices, blank=True)
    theme = models.CharField(_("appearance"), max_length=8, choices=Theme.choices, blank=True)
    language = models.CharField(_("language"), max_length=8, choices=settings.LANGUAGES, blank=True)
    left_handed = models.BooleanField(_("left-handed"), default=False)
    is_active = models.BooleanField(_("may sign in"), default=True)
    erased_at = models.DateTimeField(null=True, blank=True, editable=False)
    session_stamp = models.CharField(max_length=16, default=_new_stamp, editable=False)

    objects = UserManager.from_queryset(UserQuerySet)()

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS = ["name"]
    # A PIN session has student rights only; the middleware says so on the request's own object.
    only_student = False

    class Meta:
        verbose_name = _("person")
        verbose_name_plural = _("people")
        ordering = ["sort_name", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["home_campus", "student_number"],
                name="user_student_number_once",
                violation_error_message=_("Another person here has this student number."),
            ),
            models.CheckConstraint(
                condition=~models.Q(username=""), name="user_username_not_empty"
            ),
            models.CheckConstraint(
                condition=~models.Q(student_number=""), name="user_student_number_not_empty"
            ),
        ]
        indexes = [models.Index(fields=["search_name"], name="user_search_name")]

    def __str__(self) -> str:
        return self.name

    def set_name(self, name: str, sort_name: str = "") -> None:
        """Set the name, its form in lists (the name itself if none is given) and in searches."""
        self.name = " ".join(name.split())
        self.sort_name = " ".join(sort_name.split()) or self.name
        self.search_name = fold(f"{self.name} {self.sort_name}")

    def set_pin(self, pin: str) -> None:
        self.pin_hash = make_password(pin)
        self.pin_set_at = timezone.now()

    def end_sessions(self) -> None:
        """Make every session of this person invalid (after `save`)."""
        self.session_stamp = _new_stamp()

    def _get_session_auth_hash(self, secret: str | bytes | None = None) -> str:
        return salted_hmac(
            "shared.people.models.User.session",
            f"{self.password}{self.session_stamp}",
            secret=secret,
            algorithm="sha256",
        ).hexdigest()

    @cached_property
    def _held(self) -> list[tuple[int, str]]:
        return list(self.memberships.order_by("pk").values_list("campus_id", "role"))

    @property
    def held(self) -> list[tuple[int, str]]:
        """Campus and role, in the order they were given; in a PIN session student alone."""
        wanted = {Role.STUDENT.value} if self.only_student else set(Role.values)
        return [(campus, role) for campus, role in self._held if role in wanted]

    def forget_roles(self) -> None:
        """Read the roles anew at the next question (they are kept for a request)."""
        self.__dict__.pop("_held", None)

    @property
    def campus_ids(self) -> list[int]:
        """The campuses where this person has a role, in the order they were given."""
        return list(dict.fromkeys(campus for campus, _role in self._held))

    def roles_at(self, campus: Campus | None) -> frozenset[str]:
        """The roles in effect: of all campuses if `campus` is None; in a PIN session student."""
        return frozenset(r for c, r in self.held if campus is None or c == campus.pk)

    @property
    def roles(self) -> frozenset[str]:
        return self.roles_at(None)

    def has_role(self, role: Role | str, campus: Campus | None = None) -> bool:
        return role in self.roles_at(campus)


class Membership(models.Model):
    """A role of a person at a campus."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="memberships")
    campus = models.ForeignKey(Campus, on_delete=models.PROTECT, related_name="memberships")
    role = models.CharField(_("role"), max_length=10, choices=Role.choices)

    class Meta:
        verbose_name = _("role of a person")
        verbose_name_plural = _("roles of people")
        constraints = [
            models.UniqueConstraint(fields=["user", "campus", "role"], name="membership_once")
        ]

    def __str__(self) -> str:
        return f"{self.user} · {self.get_role_display()} · {self.campus}"


class Tablet(models.Model):
    """A shop tablet. Its cookie holds a random token; the row holds the token's hash alone."""

    campus = models.ForeignKey(Campus, on_delete=models.PROTECT, related_name="tablets")
    name = models.CharField(_("name"), max_length=50)
    token_hash = models.CharField(max_length=64, unique=True, editable=False)
    enrolled_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    enrolled_at = models.DateTimeField(default=timezone.now)
    revoked_at = models.DateTimeField(null=True, blank=True)
    last_seen = models.DateTimeField(null=True, blank=True)

    class Meta:
        verbose_name = _("tablet")
        verbose_name_plural = _("tablets")
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name


class PinTry(models.Model):
    """Wrong PINs in a row of one person, or of one tablet; never of an address."""

    user = models.OneToOneField(
        User, null=True, blank=True, on_delete=models.CASCADE, related_name="pin_try"
    )
    tablet = models.OneToOneField(
        Tablet, null=True, blank=True, on_delete=models.CASCADE, related_name="pin_try"
    )
    wrong = models.PositiveSmallIntegerField(default=0)
    locks = models.PositiveSmallIntegerField(default=0)
    locked_until = models.DateTimeField(null=True, blank=True)
    last_at = models.DateTimeField(default=timezone.now)

    class Meta:
        verbose_name = _("PIN tries")
        verbose_name_plural = _("PIN tries")
        constraints = [
            models.CheckConstraint(
                condition=models.Q(user=None, tablet__isnull=False)
                | models.Q(user__isnull=False, tablet=None),
                name="pin_try_of_person_or_tablet",
            )
        ]

    def __str__(self) -> str:
        return f"PinTry {self.pk}"


class AuditEntry(models.Model):
    """Who did what to which row. Holds ids, numbers and code words, never a person's name."""

    campus = models.ForeignKey(
        Campus, null=True, blank=True, on_delete=models.PROTECT, related_name="audit_entries"
    )
    actor = models.ForeignKey(
        User, null=True, blank=True, on_delete=models.PROTECT, related_name="audit_entries"
    )
    action = models.CharField(_("action"), max_length=60)
    target_type = models.CharField(_("kind"), max_length=60, blank=True)
    target_id = models.CharField(_("number"), max_length=40, blank=True)
    detail = models.JSONField(_("detail"), default=dict, blank=True)
    at = models.DateTimeField(_("when"), default=timezone.now)

    class Meta:
        verbose_name = _("audit entry")
        verbose_name_plural = _("audit entries")
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["campus", "-at"], name="audit_campus_at"),
            models.Index(fields=["target_type", "target_id"], name="audit_target"),
        ]

    def __str__(self) -> str:
        return f"{self.action} {self.target_type} {self.target_id}".rstrip()


class Submission(models.Model):
    """A writing form that was taken, with the answer it got; see `shared.people.once`."""

    user = models.ForeignKey(User, on_delete=models.CASCADE, related_name="submissions")
    key = models.UUIDField()
    path = models.CharField(max_length=500)
    digest = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(default=0)
    location = models.CharField(max_length=2000, blank=True)
    headers = models.JSONField(default=dict, blank=True)
    body = models.TextField(blank=True)
    created = models.DateTimeField(default=timezone.now)

    class Meta:
        verbose_name = _("submission")
        verbose_name_plural = _("submissions")
        constraints = [models.UniqueConstraint(fields=["user", "key"], name="submission_once")]
        indexes = [models.Index(fields=["user", "created"], name="submission_user_created")]

    def __str__(self) -> str:
        return f"{self.path} {self.key}"
