"""Names and passwords of those who sign in at a screen: owners."""

from __future__ import annotations

import unicodedata
from datetime import datetime, timedelta

from django.contrib.auth import authenticate, password_validation
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import HttpRequest
from rest_framework.exceptions import APIException

from tubertrack.apps.accounts import tries
from tubertrack.apps.accounts.models import StartLink, User
from tubertrack.apps.accounts.whereabouts import place_of

LINK_STANDS_FOR_PASSWORD = timedelta(hours=1)
"""So long after a start link was used it proves as much as the old password."""

LONGEST_NAME = 150
LONGEST_PASSWORD = 1024
"""Hashing takes time by length; nobody types more."""


class WrongNameOrPassword(APIException):
    """One sentence for both: who has an account here is nobody's business."""

    status_code = 403
    default_code = "wrong_name_or_password"
    default_detail = (
        "This name and password do not fit. Names are the same in capitals or not; passwords are"
        " not. Forgotten: whoever runs the farm's computer prints a new sign-in link."
    )


class WrongPassword(APIException):
    """The password it is to replace was typed wrong."""

    status_code = 403
    default_code = "wrong_password"
    default_detail = "The old password does not fit. Nothing was changed."

    def __init__(self) -> None:
        super().__init__()
        self.fields = {"old_password": ["This is not the password so far."]}


class NameTaken(APIException):
    """A sign-in name is one person's on the whole server."""

    status_code = 409
    default_code = "name_taken"
    default_detail = "Somebody signs in by this name already. Choose another one."


class BadPassword(APIException):
    """What Django's validators say."""

    status_code = 400
    default_code = "bad_password"

    def __init__(self, sentences: list[str]) -> None:
        super().__init__(sentences[0])
        self.fields = {"new_password": sentences}


def sign_in_name(typed: str) -> str:
    """The name as it is kept: however a phone's keyboard writes capitals, accents and spaces.

    NFKC and case folding as for names in RFC 8265, section 3.3 (UsernameCaseMapped), but with
    spaces inside.
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", typed).casefold())
    return " ".join(folded.split())[:LONGEST_NAME]


def sign_in(request: HttpRequest, *, name: str, password: str, now: datetime) -> User:
    """The user whom this name and password fit.

    WrongNameOrPassword otherwise; TooManyTries after too many from this place or for this name.
    A name that nobody has is hashed all the same, and takes as long (Django's ModelBackend).
    """
    asked = tries_of(request, name)
    tries.begin(asked, now=now)
    user = authenticate(request, username=_kept_name(name), password=password)
    if not isinstance(user, User):
        raise WrongNameOrPassword
    tries.right(asked, forgiven=tries.BY_NAME, now=now)
    return user


def tries_of(request: HttpRequest, name: str) -> tries.Asked:
    """Whose tries count when somebody gives this name: the place's and the name's."""
    return [(tries.BY_PLACE, place_of(request)), (tries.BY_NAME, sign_in_name(name))]


def _kept_name(typed: str) -> str:
    """As it is kept; users made by the command line may have capitals."""
    folded = sign_in_name(typed)
    kept = set(User.objects.filter(username__in=[typed, folded]).values_list("username", flat=True))
    return typed if typed in kept else folded


def choose_password(
    user: User,
    *,
    new_password: str,
    old_password: str,
    name: str,
    proved_by_link: bool,
    now: datetime,
) -> User:
    """The user with this password, and this name where one is told.

    The old password is asked for where there is one, unless a start link has just proved who it
    is. Every other session ends by itself (its hash covers the password), and so do start links.
    Raises WrongPassword, TooManyTries, NameTaken, BadPassword; nothing is changed then.
    """
    if user.has_password and not proved_by_link:
        _must_know(user, old_password, now)
    try:
        with transaction.atomic():
            kept = User.objects.select_for_update().get(pk=user.pk)
            if name:
                kept.username = sign_in_name(name)
            try:
                password_validation.validate_password(new_password, kept)
            except ValidationError as refused:
                raise BadPassword(list(refused.messages)) from refused
            kept.set_password(new_password)
            kept.save(update_fields=["username", "password"])
            StartLink.objects.filter(member__user=kept, used_at=None).delete()
    except IntegrityError as refused:
        raise NameTaken from refused
    tries.forget(tries.BY_NAME, user.username)
    return kept


def _must_know(user: User, old_password: str, now: datetime) -> None:
    asked = [(tries.BY_NAME, sign_in_name(user.username))]
    tries.begin(asked, now=now)
    if not user.check_password(old_password):
        raise WrongPassword
    tries.right(asked, forgiven=tries.BY_NAME, now=now)
