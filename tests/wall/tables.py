"""Which tables stand behind the second wall, and why the others need not."""

from __future__ import annotations

from django.apps import apps

# Tables without a wall, each with the reason why no owner's data is in it.
OPEN_TABLES = {
    "auth_group": "Django's own, unused",
    "auth_group_permissions": "Django's own, unused",
    "auth_permission": "Django's own, unused",
    "django_content_type": "names of tables",
    "fleet_checkpoint": "a root over all chains, published",
    "fleet_pairingattempt": "addresses that tried codes",
    "fleet_signingkey": "public keys",
    "fleet_signintry": "networks, and names that were typed, keyed",
    "fleet_system": "products",
    "fleet_systemcoat": "products",
    "fleet_systemsubstrate": "products",
    "fleet_technician": "who works on roofs",
    "fleet_user_groups": "Django's own, unused",
    "fleet_user_user_permissions": "Django's own, unused",
    "jobs_runnerbeat": "when a runner was last seen",
    "warranty_edition": "terms",
}


def tables() -> set[str]:
    """Return every table of the program."""
    found = apps.get_models(include_auto_created=True)
    return {model._meta.db_table for model in found}
