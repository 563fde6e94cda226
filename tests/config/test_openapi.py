"""The committed OpenAPI file and the client's types are those of the code."""

import pytest

from tubertrack.config.api_types import OPENAPI, TYPES, openapi_text, types_text

REMEDY = "run: python3 manage.py types"


def test_the_committed_openapi_file_is_current() -> None:
    assert openapi_text() == OPENAPI.read_text("utf-8"), REMEDY


def test_the_committed_types_are_current() -> None:
    assert types_text(OPENAPI) == TYPES.read_text("utf-8"), REMEDY


@pytest.mark.parametrize("status", ["400", "401", "403", "405", "500"])
def test_every_operation_documents_the_errors_it_may_answer_with(status: str) -> None:
    from drf_spectacular.generators import SchemaGenerator

    schema = SchemaGenerator().get_schema(request=None, public=True)

    assert [] == [
        f"{method} {path}"
        for path, operations in schema["paths"].items()
        for method, operation in operations.items()
        if status not in operation["responses"]
    ]
