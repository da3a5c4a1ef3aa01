"""People who sign in, and the register itself."""

from __future__ import annotations

from fleet.models import Role, User

REGISTER_NAME = "register"


def register_user() -> User:
    """Return the register's own user, which records what commands bring in."""
    user, created = User.objects.get_or_create(
        username=REGISTER_NAME, defaults={"role": Role.OFFICE, "is_active": False}
    )
    if created:
        user.set_unusable_password()
        user.save(update_fields=["password"])
    return user


def user_or_register(user_id: int | None) -> User:
    """Return the person who asked for a run, or the register when nobody did."""
    asked = User.objects.filter(pk=user_id).first() if user_id else None
    return asked or register_user()
