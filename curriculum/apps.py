from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class CurriculumConfig(AppConfig):
    name = "curriculum"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this app's pages in the head, and its classes on the tablets."""
        from curriculum.services import lists
        from shared.people.models import Role
        from shared.people.nav import register
        from shared.people.rosters import register_class_lists, register_students_of

        for role in (Role.STUDENT, Role.INSTRUCTOR, Role.CLERK, Role.MANAGER):
            register(role, _("Library"), "curriculum:library", order=60)
        for role in (Role.INSTRUCTOR, Role.MANAGER):
            register(role, _("Term plan"), "curriculum:own_plan", order=30)
            register(role, _("Booths"), "curriculum:booths", order=70)
        for role in (Role.INSTRUCTOR, Role.MANAGER, Role.CLERK):
            register(role, _("Classes"), "curriculum:classes", order=50)
        register_class_lists(lists.class_lists)
        register_students_of(lists.students_of)
