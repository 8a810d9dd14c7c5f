from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class InventoryConfig(AppConfig):
    name = "inventory"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from shared.people.models import Role
        from shared.people.nav import register

        register(Role.CLERK, _("To order"), "inventory:to_order", 10)
        register(Role.CLERK, _("Requisitions"), "inventory:requisitions", 20)
        register(Role.CLERK, _("Shelf"), "inventory:items", 30)
        register(Role.CLERK, _("Cutting"), "inventory:cutting", 35)
        register(Role.CLERK, _("Count"), "inventory:shelf_count", 40)
        register(Role.MANAGER, _("To order"), "inventory:to_order", 72)
        register(Role.MANAGER, _("Requisitions"), "inventory:requisitions", 74)
        for role in (Role.INSTRUCTOR, Role.MANAGER):
            register(role, _("Shelf"), "inventory:items", 80)
            register(role, _("Cutting"), "inventory:cutting", 82)
