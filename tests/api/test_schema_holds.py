"""Every operation of the served OpenAPI file, called with what it allows and what it does not.

Schemathesis makes the requests; the farm's log takes what it must. A 500, or an answer that the file
does not describe, fails.
"""

import pytest
import schemathesis
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from drf_spectacular.generators import SchemaGenerator
from hypothesis import HealthCheck, Phase, given, settings
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from tests.api.conftest import stock
from tests.farms import two_farms
from tubertrack.apps.accounts.api import PairingThrottle
from tubertrack.config.wsgi import application

pytestmark = pytest.mark.django_db

SCHEMA = schemathesis.openapi.from_dict(SchemaGenerator().get_schema(request=None, public=True))
SCHEMA.app = application
# PDFs take seconds each and have tests of their own.
OPERATIONS = [found.ok() for found in SCHEMA.get_all_operations() if "pdf" not in found.ok().path]
CHECKS = (
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_schema_conformance,
)


@pytest.fixture(autouse=True)
def _one_connection():
    """As Django's own test client: the test's transaction outlives each request."""
    ends = (request_started, request_finished)
    for signal in ends:
        signal.disconnect(close_old_connections)
    yield
    for signal in ends:
        signal.connect(close_old_connections)


@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: f"{one.method} {one.path}")
def test_what_is_served_is_what_is_described(operation):
    farms = two_farms()
    stock(farms.owner, 2)
    headers = {"Authorization": f"Bearer {farms.owner.token}"}

    @settings(
        max_examples=15,
        derandomize=True,
        deadline=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(case=operation.as_strategy())
    def call(case):
        PairingThrottle.cache.clear()
        case.call_and_validate(headers=headers, checks=CHECKS)

    call()
