import pytest
from django.core import signing
from django.test import Client

from shared.people import rosters
from shared.people.models import Role
from shared.people.tablets import COOKIE
from tests.factories import PIN, CampusFactory, TabletFactory, UserFactory


@pytest.fixture
def campus(db):
    return CampusFactory()


@pytest.fixture
def manager(campus):
    return UserFactory(name="Mara Quill", username="mara", roles=[Role.MANAGER])


@pytest.fixture
def student(campus):
    return UserFactory(
        name="Sol Reyes", username=None, student_number="S-1", roles=[Role.STUDENT], pin=PIN
    )


@pytest.fixture
def instructor(campus):
    return UserFactory(name="Ines Vale", username="ines", roles=[Role.INSTRUCTOR])


@pytest.fixture
def tablet(campus):
    return TabletFactory(campus=campus)


@pytest.fixture
def class_list(monkeypatch, student):
    """The evening class, with the student alone in it; no other app's classes."""
    listed = [("Evening class", [(student.pk, student.name)])]
    monkeypatch.setattr(rosters, "_providers", [lambda campus: listed])
    return listed


@pytest.fixture
def signed_in():
    """Return a client signed in as a person, with a password session."""

    def sign_in(person):
        client = Client()
        client.force_login(person, "shared.people.backends.PasswordBackend")
        return client

    return sign_in


@pytest.fixture
def on_tablet():
    """Return a client that comes from an enrolled tablet (its token is its name)."""

    def client_of(tablet):
        client = Client()
        signer = signing.get_cookie_signer(salt=COOKIE + "shared.people.tablets")
        client.cookies[COOKIE] = signer.sign(tablet.name)
        return client

    return client_of
