from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class GradingConfig(AppConfig):
    name = "grading"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this app's pages into the head; tell curriculum who is ready for what."""
        from curriculum.services.assign import register_ready
        from curriculum.services.places import register_handed_in
        from grading.services.standing import handed_in, still_needed
        from shared.people.models import Role
        from shared.people.nav import register

        register(Role.STUDENT, _("Today"), "grading:today", 10)
        register(Role.STUDENT, _("My record"), "grading:own_record", 20)
        register(Role.INSTRUCTOR, _("Session"), "grading:next_session", 10)
        register(Role.MANAGER, _("Session"), "grading:next_session", 10)
        register_ready(still_needed)
        register_handed_in(handed_in)
