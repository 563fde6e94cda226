"""What drf-spectacular cannot know: the errors that every operation may answer with."""

from typing import Any

ERROR_SCHEMA = {
    "type": "object",
    "description": "Why the request was refused.",
    "required": ["code", "message"],
    "properties": {
        "code": {"type": "string", "description": "For programs; does not change."},
        "message": {"type": "string", "description": "For people: what is wrong, what to do."},
        "fields": {
            "type": "object",
            "description": "Sentences by the name of the field they are about.",
            "additionalProperties": {"type": "array", "items": {"type": "string"}},
        },
    },
}
_DESCRIPTIONS = {
    "400": "The input is wrong.",
    "401": "Not signed in.",
    "403": "Not permitted for this role.",
    "404": "Not on this farm.",
    "405": "Another method is meant.",
    "406": "Only JSON is served.",
    "408": "It did not arrive in time.",
    "411": "The length is missing.",
    "413": "More than the server takes at once.",
    "415": "Only JSON is taken, and that unpacked.",
    "429": "Too often; Retry-After says when again.",
    "500": "A mistake of the server's.",
    "503": "Busy, or not possible on this server.",
}
_METHODS = {"get", "put", "post", "patch", "delete"}


def document_errors(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Every operation lists the errors that the framework itself may answer with."""
    result.setdefault("components", {}).setdefault("schemas", {})["Refusal"] = ERROR_SCHEMA
    for path, operations in result.get("paths", {}).items():
        for method, operation in operations.items():
            if method in _METHODS:
                _add_errors(operation, takes_body=method in {"put", "post", "patch"}, path=path)
    return result


def _add_errors(operation: dict[str, Any], *, takes_body: bool, path: str) -> None:
    statuses = ["400", "401", "403", "405", "406", "429", "500", "503"]
    if "{" in path or any(p["in"] == "query" for p in operation.get("parameters", [])):
        statuses.append("404")  # also a page past the last
    if takes_body:
        statuses += ["408", "411", "413", "415"]
    for status in statuses:
        operation["responses"].setdefault(
            status,
            {
                "description": _DESCRIPTIONS[status],
                "content": {
                    "application/json": {"schema": {"$ref": "#/components/schemas/Refusal"}}
                },
            },
        )
