"""Addresses about the farm of a device and its people."""

from __future__ import annotations

from typing import Any, ClassVar

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from tubertrack.apps.accounts import clock, erasure, people, selectors, serializers
from tubertrack.apps.accounts.api.answers import told
from tubertrack.apps.accounts.auth import FarmView
from tubertrack.apps.accounts.may import least_role
from tubertrack.apps.accounts.models import Member


class FarmAnswerView(FarmView):
    """The farm of this device."""

    least_role: ClassVar[dict[str, str]] = least_role("farm")

    @extend_schema(responses=serializers.FarmAnswerSerializer)
    def get(self, request: Request) -> Response:
        return Response(serializers.FarmAnswerSerializer(selectors.farm_answer(self.device)).data)


class MembersView(FarmView):
    """The people of the farm."""

    least_role: ClassVar[dict[str, str]] = least_role("members")

    @extend_schema(responses=serializers.MemberSerializer(many=True))
    def get(self, request: Request) -> Response:
        members = Member.objects.filter(farm=self.farm).order_by("name", "id")
        return Response(serializers.MemberSerializer(members, many=True).data)

    @extend_schema(
        request=serializers.NewMemberSerializer, responses={201: serializers.MemberSerializer}
    )
    def post(self, request: Request) -> Response:
        form = told(serializers.NewMemberSerializer, request)
        member = people.add_member(self.farm, **form)
        return Response(serializers.MemberSerializer(member).data, status=201)


class MemberView(FarmView):
    """One person of the farm."""

    least_role: ClassVar[dict[str, str]] = least_role("member")

    @extend_schema(
        request=serializers.MemberChangeSerializer,
        responses={200: serializers.MemberSerializer, 409: serializers.RefusalSerializer},
    )
    def patch(self, request: Request, member_id: Any) -> Response:
        form = told(serializers.MemberChangeSerializer, request)
        member = people.change_member(self.farm, member_id, **form)
        return Response(serializers.MemberSerializer(member).data)


class MemberEraseView(FarmView):
    """The name of a person, gone for good."""

    least_role: ClassVar[dict[str, str]] = least_role("member-erase")

    @extend_schema(
        request=None,
        responses={200: serializers.MemberSerializer, 409: serializers.RefusalSerializer},
    )
    def post(self, request: Request, member_id: Any) -> Response:
        """Their devices are signed out; their entries stay, by nobody's name.

        What it cannot reach: printed pages, backups, phones that were not online since, and names
        typed into notes.
        """
        member = erasure.erase_member(self.farm, member_id, now=clock.now())
        return Response(serializers.MemberSerializer(member).data)
