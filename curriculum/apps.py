from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class CurriculumConfig(AppConfig):
    name = "curriculum"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this app's pages in the head."""
        from shared.people.models import Role
        from shared.people.nav import register

        for role in (Role.STUDENT, Role.INSTRUCTOR, Role.CLERK, Role.MANAGER):
            register(role, _("Library"), "curriculum:library", order=60)
