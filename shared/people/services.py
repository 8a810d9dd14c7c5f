"""Writes about people that touch more than one row."""

from datetime import timedelta

from django.utils import timezone

from shared.people.models import Submission, User

SUBMISSIONS_KEPT = timedelta(days=7)


def forget_old_submissions(person: User) -> None:
    """Drop the keys of forms sent so long ago that none of them is still waiting anywhere."""
    Submission.objects.filter(user=person, created__lt=timezone.now() - SUBMISSIONS_KEPT).delete()
