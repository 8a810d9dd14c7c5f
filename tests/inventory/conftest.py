import pytest
from django.utils import timezone

from inventory.services import requisitions
from inventory.services.requisitions import Wanted
from shared.people.models import Role
from tests.factories import CampusFactory, PackFactory, UserFactory
from tests.people.conftest import signed_in  # noqa: F401 - a fixture


@pytest.fixture
def campus(db):
    return CampusFactory()


@pytest.fixture
def clerk(campus):
    return UserFactory(name="Cleo Marsh", username="cleo", roles=[Role.CLERK])


@pytest.fixture
def at_desk(clerk, signed_in):  # noqa: F811 - the fixture imported above
    """A browser in which the clerk has signed in."""
    return signed_in(clerk)


@pytest.fixture
def can(campus):
    """A 10 lb can of electrodes, whose item is `can.item`."""
    return PackFactory(item__campus=campus, item__name="E7018 1/8 in")


@pytest.fixture
def manager(campus):
    return UserFactory(name="Mara Quill", username="mara", roles=[Role.MANAGER])


@pytest.fixture
def order(campus, clerk, can):
    return requisitions.make_requisition(campus=campus, wanted=[Wanted(can, 3)], by=clerk)


@pytest.fixture
def approved(order, manager):
    return requisitions.approve(requisition=order, by=manager, now=timezone.now())


@pytest.fixture
def as_manager(signed_in, manager):  # noqa: F811 - the fixture imported above
    return signed_in(manager)
