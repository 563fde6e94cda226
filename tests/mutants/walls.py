"""Each place where a query is kept to the farm that asks."""

from __future__ import annotations

from tests.mutants.guard import Guard

ACCOUNTS = "tubertrack/apps/accounts"
APART = "tests/api/test_apart.py"
SHOWN = (f"{APART}::test_nothing_of_another_farm_stands_in_any_answer",)
BY_ADDRESS = (
    f"{APART}::test_an_id_of_another_farm_in_an_address_is_answered_like_one_that_nobody_has",
)
IN_BODY = (f"{APART}::test_an_id_of_another_farm_in_a_body_is_answered_like_one_that_nobody_has",)


def _gone(
    name: str, file: str, text: str, instead: str, caught_by: tuple[str, ...] = SHOWN
) -> Guard:
    return Guard(name, file, text, instead, caught_by)


GUARDS: tuple[Guard, ...] = (
    _gone(
        "rows worked out from records",
        "tubertrack/apps/records/api.py",
        "return super().get_queryset().filter(farm=self.farm)",
        "return super().get_queryset()",
    ),
    _gone(
        "rows worked out from records, by id",
        "tubertrack/apps/records/api.py",
        "return super().get_queryset().filter(farm=self.farm)",
        "return super().get_queryset()",
        BY_ADDRESS,
    ),
    _gone(
        "the list of devices",
        f"{ACCOUNTS}/selectors.py",
        "devices = Device.objects.filter(farm=farm)",
        "devices = Device.objects.filter()",
    ),
    _gone(
        "a device by id",
        f"{ACCOUNTS}/services.py",
        "Device.objects.filter(farm=farm, pk=device_id)",
        "Device.objects.filter(pk=device_id)",
        BY_ADDRESS,
    ),
    _gone(
        "the list of people",
        f"{ACCOUNTS}/api/people.py",
        "Member.objects.filter(farm=self.farm)",
        "Member.objects.filter()",
    ),
    _gone(
        "a person by id",
        f"{ACCOUNTS}/people.py",
        ".filter(farm=farm, pk=member_id)",
        ".filter(pk=member_id)",
        BY_ADDRESS,
    ),
    _gone(
        "the person whom a code lets in",
        f"{ACCOUNTS}/pairing.py",
        "Member.objects.filter(farm=farm, pk=member_id, active=True)",
        "Member.objects.filter(pk=member_id, active=True)",
        IN_BODY,
    ),
    _gone(
        "the list of buyers",
        f"{ACCOUNTS}/api/trade.py",
        "Buyer.objects.filter(farm=self.farm)",
        "Buyer.objects.filter()",
    ),
    _gone(
        "a buyer by id",
        f"{ACCOUNTS}/trade.py",
        "_one(Buyer.objects.filter(farm=farm, pk=buyer_id))",
        "_one(Buyer.objects.filter(pk=buyer_id))",
        BY_ADDRESS,
    ),
    _gone(
        "the buyer of a sale",
        f"{ACCOUNTS}/trade.py",
        "found = Buyer.objects.filter(farm=farm, pk=buyer_id)",
        "found = Buyer.objects.filter(pk=buyer_id)",
        IN_BODY,
    ),
    _gone(
        "the list of sales",
        f"{ACCOUNTS}/api/trade.py",
        "Sale.objects.filter(farm=self.farm)",
        "Sale.objects.filter()",
    ),
    _gone(
        "a sale by id",
        f"{ACCOUNTS}/trade.py",
        "_one(Sale.objects.filter(farm=farm, uid=uid))",
        "_one(Sale.objects.filter(uid=uid))",
        BY_ADDRESS,
    ),
    _gone(
        "the price list",
        f"{ACCOUNTS}/api/trade.py",
        "Price.objects.filter(farm=self.farm)",
        "Price.objects.filter()",
    ),
    _gone(
        "a price by id",
        f"{ACCOUNTS}/trade.py",
        "_one(Price.objects.filter(farm=farm, pk=price_id))",
        "_one(Price.objects.filter(pk=price_id))",
        BY_ADDRESS,
    ),
    _gone(
        "names of people and devices beside entries",
        "tubertrack/apps/records/selectors.py",
        "Member.objects.filter(farm=farm)",
        "Member.objects.filter()",
        (f"{APART}::test_the_same_push_on_two_farms_is_told_nothing_of_the_other",),
    ),
)
