import pytest

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
def can(campus):
    """A 10 lb can of electrodes, whose item is `can.item`."""
    return PackFactory(item__campus=campus, item__name="E7018 1/8 in")
