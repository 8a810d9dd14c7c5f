"""The smallest valid row of each model, with plain values; each app has its own section."""

import hashlib

import factory

from inventory.models import Pack, StockItem
from shared.people.models import Campus, Membership, Role, Tablet, User

PASSWORD = "plain-steel-7018"
PIN = "4072"

# People


class CampusFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Campus
        django_get_or_create = ["name"]

    name = "North"
    time_zone = "America/Chicago"


class UserFactory(factory.django.DjangoModelFactory):
    """A person; `UserFactory(roles=[Role.STUDENT], pin=PIN)` gives roles at the home campus."""

    class Meta:
        model = User
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Person {n:03}")
    username = factory.Sequence(lambda n: f"person{n:03}")
    home_campus = factory.SubFactory(CampusFactory)

    @classmethod
    def _create(cls, model_class, *args, roles=(), pin="", password=PASSWORD, **fields):
        person = User.objects.create_person(roles=roles, password=password, **fields)
        if pin:
            person.set_pin(pin)
            person.save(update_fields=["pin_hash", "pin_set_at"])
        return person


class MembershipFactory(factory.django.DjangoModelFactory):
    class Meta:
        model = Membership

    user = factory.SubFactory(UserFactory)
    campus = factory.SelfAttribute("user.home_campus")
    role = Role.STUDENT


class TabletFactory(factory.django.DjangoModelFactory):
    """A tablet whose cookie's token is its name."""

    class Meta:
        model = Tablet

    name = factory.Sequence(lambda n: f"Tablet {n}")
    campus = factory.SubFactory(CampusFactory)
    token_hash = factory.LazyAttribute(lambda o: hashlib.sha256(o.name.encode()).hexdigest())
    enrolled_by = factory.SubFactory(UserFactory)


# Stock


class StockItemFactory(factory.django.DjangoModelFactory):
    """Covered electrodes, an empty shelf."""

    class Meta:
        model = StockItem

    campus = factory.SubFactory(CampusFactory)
    kind = "electrode"
    name = factory.Sequence(lambda n: f"Electrode {n:03}")
    spec_key = factory.Sequence(lambda n: f"electrode:E{n}:3200")
    base_unit = "mg"
    moved_by = "open"
    piece_mg = 34_000


class PackFactory(factory.django.DjangoModelFactory):
    """A 10 lb can at 42.00, bought by default; makes its item."""

    class Meta:
        model = Pack

    item = factory.SubFactory(StockItemFactory)
    name = "can, 10 lb"
    size = 4_535_924
    price_e4 = 420_000
