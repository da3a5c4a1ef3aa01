from __future__ import annotations

import pytest
from django.urls import reverse

from tests import builders

pytestmark = pytest.mark.django_db
PASSWORD = "seven gulls on a rail"


@pytest.fixture
def person():
    user = builders.make_user(username="yarrow")
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user


def sign_in(client, password, **more):
    fields = {"username": "yarrow", "password": password, **more}
    return client.post(reverse("sign-in"), fields)


def test_the_right_password_leads_to_the_day(client, person):
    response = sign_in(client, PASSWORD)

    assert response.headers["Location"] == reverse("today")


def test_a_wrong_password_is_told_beside_the_fields(client, person):
    response = sign_in(client, "wrong")

    assert 'aria-describedby="sign-in-fault"' in response.text
    assert "Check both and try again" in response.text


def test_the_page_that_was_asked_for_is_opened_after_signing_in(client, person):
    asked = f"{reverse('roof-list')}?standing=AT_RISK"

    response = sign_in(client, PASSWORD, next=asked)

    assert response.headers["Location"] == asked


def test_signing_in_never_leads_to_another_site(client, person):
    response = sign_in(client, PASSWORD, next="https://elsewhere.example/")

    assert response.headers["Location"] == reverse("today")


def test_signing_out_needs_a_form_not_a_link(client, person):
    client.force_login(person)

    assert client.get(reverse("sign-out")).status_code == 405


def test_after_signing_out_the_roofs_are_closed(client, person):
    client.force_login(person)

    client.post(reverse("sign-out"))

    response = client.get(reverse("roof-list"))
    assert response.headers["Location"].startswith(reverse("sign-in"))
