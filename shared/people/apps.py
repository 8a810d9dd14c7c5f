from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class PeopleConfig(AppConfig):
    name = "shared.people"
    label = "people"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from shared.people import nav
        from shared.people.models import Role

        nav.register(Role.MANAGER, _("People"), "people:people", 800)
        nav.register(Role.MANAGER, _("Tablets"), "people:tablets", 810)
        nav.register(Role.MANAGER, _("Audit"), "people:audit", 820)
