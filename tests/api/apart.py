"""What tests of the farm wall are made of: rows of every table of a farm, its marks, and requests.

Everything is taken from Django's models, the resolver and the served OpenAPI file, so that a new
table, address or parameter is covered without a line here.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import uuid
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import models, transaction
from django.utils import timezone
from drf_spectacular.generators import SchemaGenerator

from tubertrack.apps.accounts.models import Device, Farm

SECRET = "Zelka Quillfeather"
"""Stands in every text of the other farm."""

SCHEMA = SchemaGenerator().get_schema(request=None, public=True)


# rows of every table


def tables_of_a_farm() -> list[type[models.Model]]:
    """Every table whose rows belong to a farm, the farm's own first."""
    found = [
        model
        for model in apps.get_models()
        if model._meta.app_config.name.startswith("tubertrack.")
        and any(field.name == "farm" and field.is_relation for field in model._meta.fields)
    ]
    return [Farm, *found]


def rows_of(farm: Farm, model: type[models.Model]) -> models.QuerySet[Any]:
    manager = model._default_manager
    return manager.filter(pk=farm.pk) if model is Farm else manager.filter(farm=farm)


def fill_empty_tables(farm: Farm, word: str) -> None:
    """A row of the farm in every table that has none, with this word in each of its texts."""
    for _ in range(2):  # a table may need a row of a later one
        for model in tables_of_a_farm():
            if not rows_of(farm, model).exists():
                row = model(**{field.name: _value(farm, field, word) for field in _to_fill(model)})
                row.save()


def _to_fill(model: type[models.Model]) -> list[Any]:
    return [
        field
        for field in model._meta.fields
        if not field.auto_created and not getattr(field, "auto_now_add", False)
    ]


def _value(farm: Farm, field: Any, word: str) -> Any:
    if field.is_relation:
        if field.related_model is Farm:
            return farm
        return rows_of(farm, field.related_model).exclude(**_server(field.related_model)).first()
    if field.primary_key and field.has_default():
        return field.get_default()
    if field.choices:
        return field.choices[0][0]
    return _plain(field, word)


def _server(model: type[models.Model]) -> dict[str, str]:
    return {"sort": "server"} if model is Device else {}


def _plain(field: Any, word: str) -> Any:
    made = {
        "UUIDField": uuid.uuid4,
        "BooleanField": lambda: False,
        "BinaryField": lambda: b"x",
        "DateTimeField": timezone.now,
        "DateField": lambda: dt.date(2024, 11, 14),
        "JSONField": dict,
    }.get(field.get_internal_type())
    if made is not None:
        return made()
    if isinstance(field, models.CharField | models.TextField):
        return word[: field.max_length]
    return 1


def write_secret_names(farm: Farm) -> None:
    """Every name of a person, a device and the farm is a secret one."""
    Farm.objects.filter(pk=farm.pk).update(name=f"{SECRET}'s farm")
    farm.members.update(name=SECRET)
    farm.devices.update(name=f"{SECRET}'s phone")
    for member in farm.members.exclude(user=None):
        type(member.user).objects.filter(pk=member.user.pk).update(username=f"{SECRET}'s sign-in")


def all_rows(farm: Farm) -> dict[str, list[dict[str, Any]]]:
    """Every row of the farm as it stands now."""
    return {
        model.__name__: list(rows_of(farm, model).order_by("pk").values())
        for model in tables_of_a_farm()
    }


# marks


def ids_of(farm: Farm) -> dict[str, set[str]]:
    """By table, the values by which its rows are named anywhere: ids, hashes, chains."""
    return {
        name: {text for row in rows for value in row.values() for text in _as_ids(value)}
        for name, rows in all_rows(farm).items()
    }


def named_by(farm: Farm) -> dict[str, list[str]]:
    """By table, what each row is called by itself: its uid, hash or id."""
    found: dict[str, list[str]] = {}
    for name, rows in all_rows(farm).items():
        for row in rows:
            own = (text for key in ("uid", "sha256", "id") for text in _as_ids(row.get(key)))
            found.setdefault(name, []).extend(list(own)[:1])
    return found


def _as_ids(value: Any) -> Iterator[str]:
    if isinstance(value, uuid.UUID):
        yield str(value)
    elif isinstance(value, memoryview | bytes):
        if len(bytes(value)) == 16 and any(bytes(value)):
            yield bytes(value).hex()
    elif isinstance(value, str) and _ID.fullmatch(value):
        yield value


_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}|[0-9a-f]{64}")


def made_up(like: str) -> str:
    """A value of the same form that nobody has."""
    return str(uuid.uuid4()) if "-" in like else (uuid.uuid4().hex * 2)[: len(like)]


# operations


@dataclass(frozen=True)
class Operation:
    method: str
    path: str
    told: dict[str, Any]

    def __str__(self) -> str:
        return f"{self.method} {self.path}"

    @property
    def in_path(self) -> list[str]:
        return re.findall(r"{(\w+)}", self.path)

    def in_query(self) -> list[str]:
        """Names of parameters that may hold an id or a word."""
        free = [
            one["name"]
            for one in self.told.get("parameters", [])
            if one["in"] == "query"
            and one["schema"].get("type") == "string"
            and one["schema"].get("format") not in ("date", "date-time")
            and "enum" not in one["schema"]
        ]
        return [name for name in free if name not in ("ordering", "after", "app")]

    def body(self, *, needed: bool = False) -> Any:
        """A body with every field, or the needed ones, as the file describes it; None without one."""
        content = self.told.get("requestBody", {}).get("content", {})
        return sample(content["application/json"]["schema"], needed=needed) if content else None

    def bodies_with(self, at: tuple[Any, ...]) -> list[Any]:
        """The body with every field, and the one with the needed fields and this one."""
        full = self.body()
        return [full, {**self.body(needed=True), at[0]: full[at[0]]}]


def operations() -> list[Operation]:
    return [
        Operation(method.upper(), path, told)
        for path, methods in SCHEMA["paths"].items()
        for method, told in methods.items()
    ]


def sample(schema: dict[str, Any], *, needed: bool = False) -> Any:
    """A value that the schema describes; with its needed fields alone where that is asked."""
    if "$ref" in schema:
        return sample(
            SCHEMA["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]], needed=needed
        )
    for key in ("allOf", "oneOf", "anyOf"):
        if key in schema:
            return sample(schema[key][0], needed=needed)
    if "enum" in schema:
        return next(one for one in schema["enum"] if one is not None)
    sort = schema.get("type", "object")
    sort = next(one for one in sort if one != "null") if isinstance(sort, list) else sort
    if sort == "object":
        fields = {
            name: part
            for name, part in schema.get("properties", {}).items()
            if not part.get("readOnly") and (not needed or name in schema.get("required", ()))
        }
        return {name: sample(part) for name, part in fields.items()}
    if sort == "array":
        return [sample(schema["items"])]
    if sort == "string":
        formats = {"uuid": str(uuid.UUID(int=1, version=4)), "date": "2024-11-14"}
        return formats.get(schema.get("format", ""), "word"[: schema.get("maxLength", 4)])
    if sort == "boolean":
        return True
    return max(1, int(schema.get("minimum", 1)))


def words_in(body: Any, at: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Where in a body a text stands that may be an id."""
    if isinstance(body, dict | list):
        for key, part in body.items() if isinstance(body, dict) else enumerate(body):
            yield from words_in(part, (*at, key))
    elif isinstance(body, str):
        yield at


def with_word(body: Any, at: tuple[Any, ...], word: str) -> Any:
    changed = json.loads(json.dumps(body))
    place = changed
    for key in at[:-1]:
        place = place[key]
    place[at[-1]] = word
    return changed


@dataclass(frozen=True)
class Answer:
    status: int
    content: bytes
    headers: str

    def about(self, word: str) -> tuple[int, bytes]:
        """Status and body, with nothing in it that differs from call to call."""
        text = self.content
        for part in (word, word[:40]):  # a refusal says back the beginning of a long word
            text = re.sub(re.escape(part).encode(), b"IT", text, flags=re.IGNORECASE)
        return self.status, _NEW_EACH_TIME.sub(b"", text)


_NEW_EACH_TIME = re.compile(rb'"server_time":\d+|"csrf":"\w+"')


def ask(client: Any, method: str, path: str, body: Any = None, query: Any = None) -> Answer:
    """The answer; whatever the request did is undone."""
    if query:
        path = f"{path}?" + "&".join(f"{name}={value}" for name, value in query.items())
    with transaction.atomic():
        told = (
            {} if body is None else {"data": json.dumps(body), "content_type": "application/json"}
        )
        answer = getattr(client, method.lower())(path, **told)
        content = b"".join(answer) if answer.streaming else answer.content
        transaction.set_rollback(True)
    return Answer(answer.status_code, content, "\n".join(map(str, answer.headers.items())))
