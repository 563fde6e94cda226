"""Every response carries the policies, whoever made it."""

import pytest
from django.test import Client

from tubertrack.config.headers import CONTENT_SECURITY_POLICY


@pytest.mark.parametrize(
    "address",
    ["/", "/todo", "/api/schema/", "/api/nothing/", "/static/admin/css/base.css", "/x.js"],
)
@pytest.mark.django_db
def test_every_answer_carries_the_policy(client: Client, address: str) -> None:
    response = client.get(address)

    assert CONTENT_SECURITY_POLICY == response["Content-Security-Policy"]
    assert "nosniff" == response["X-Content-Type-Options"]
    assert response["Permissions-Policy"].startswith("camera=(self)")


def test_the_policy_allows_nothing_inline_and_no_other_host() -> None:
    assert "unsafe-inline" not in CONTENT_SECURITY_POLICY
    assert "'unsafe-eval'" not in CONTENT_SECURITY_POLICY
    assert "http" not in CONTENT_SECURITY_POLICY
