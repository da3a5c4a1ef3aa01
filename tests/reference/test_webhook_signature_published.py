"""Webhook signatures against the published vector.

Source: the Standard Webhooks specification's reference libraries, repository
standard-webhooks/standard-webhooks, ``libraries/go/webhook_symmetric_test.go``
(TestSymmetricWebhookSign), commit 3ac24afe352b5989ddf44d4b4cd4f08bdfa2c2e4.
"""

from __future__ import annotations

import pytest

from jobs.webhooks.signing import SecretInputError, headers_of, new_secret, signature

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
MESSAGE = "msg_p5jXN8AQM9LWM0D4loKWxJek"
TIMESTAMP = 1614265330
BODY = b'{"test": 2432232314}'
EXPECTED = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def signed(**over) -> str:
    fields = {
        "secret": SECRET,
        "message_id": MESSAGE,
        "timestamp": TIMESTAMP,
        "body": BODY,
    }
    return signature(**{**fields, **over})


def test_the_published_vector():
    assert signed() == EXPECTED


@pytest.mark.parametrize(
    "over",
    [
        {"timestamp": TIMESTAMP + 1},
        {"message_id": f"{MESSAGE}x"},
        {"body": BODY + b" "},
        {"secret": new_secret()},
    ],
)
def test_anything_else_signs_otherwise(over):
    assert signed(**over) != EXPECTED


def test_both_live_secrets_sign_while_one_is_rotated():
    headers = headers_of(
        secrets_live=[new_secret(), SECRET],
        message_id=MESSAGE,
        timestamp=TIMESTAMP,
        body=BODY,
    )

    first, second = headers["webhook-signature"].split(" ")
    assert (first[:3], second) == ("v1,", EXPECTED)
    assert headers["webhook-id"] == MESSAGE
    assert headers["webhook-timestamp"] == str(TIMESTAMP)


@pytest.mark.parametrize("secret", ["whsec_", "whsec_c2hvcnQ=", "whsec_*", "x" * 200])
def test_a_text_that_is_no_secret_is_refused(secret):
    with pytest.raises(SecretInputError, match="secret"):
        signed(secret=secret)


def test_an_id_with_a_full_stop_is_refused():
    with pytest.raises(ValueError, match="message_id"):
        signed(message_id="a.b")


def test_no_live_secret_is_refused():
    with pytest.raises(ValueError, match="secrets_live"):
        headers_of(secrets_live=[], message_id="a", timestamp=1, body=b"")
