"""Signing in and out, and what belongs to who signed in."""

from __future__ import annotations

from django.urls import path

from fleet.pages import account, people, second_factor, sign_in

urlpatterns = [
    path("sign-in", sign_in.sign_in, name="sign-in"),
    path("sign-in/code", sign_in.sign_in_code, name="sign-in-code"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("account/", account.account, name="account"),
    path("account/second-factor", second_factor.second_factor, name="second-factor"),
    path("account/sessions", account.sessions, name="sessions"),
    path("account/sessions/<uuid:uuid>", account.session_end, name="session-end"),
    path("account/log", account.access_log, name="access-log"),
    path("keys/", account.keys, name="keys"),
    path("keys/<uuid:uuid>/rotate", account.key_rotate, name="key-rotate"),
    path("keys/<uuid:uuid>/revoke", account.key_revoke, name="key-revoke"),
    path("people/", people.people, name="people"),
    *(
        path(
            f"people/<uuid:uuid>/{what}",
            people.change,
            {"what": what},
            name=f"person-{what}",
        )
        for what in people.CHANGES
    ),
    path(
        "invitations/<uuid:uuid>/withdraw",
        people.withdraw_invitation,
        name="invitation-withdraw",
    ),
    path("invitation/<str:word>", people.invitation, name="invitation"),
]
