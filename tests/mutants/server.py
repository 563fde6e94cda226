"""What the server may not do without: the write path, verdicts, chain, stamps, feed, walls."""

from __future__ import annotations

from tests.mutants.guard import Guard

APPEND = "tubertrack/apps/records/services.py"
VERDICTS = "tubertrack/core/sync/verdicts.py"
CHAIN = "tubertrack/core/sync/chain.py"
STAMPS = "tubertrack/core/sync/stamps.py"
ENVELOPE = "tubertrack/core/sync/envelope.py"
FEED = "tubertrack/apps/sync/selectors.py"
PUSH = "tubertrack/apps/sync/services.py"
AUTH = "tubertrack/apps/accounts/auth.py"
LOG = "tubertrack/apps/records/log.py"
WARM = "tubertrack/apps/records/warm.py"
TRIGGERS = "tubertrack/apps/records/migrations/0002_records_are_never_changed.py"
TRANSFER = "tubertrack/apps/records/transfer.py"
RECLASSIFY = "tubertrack/apps/records/reclassify.py"

TEST_APPEND = ("tests/services/test_append.py",)
TEST_PUSH_PULL = ("tests/sync/test_push_pull.py",)
TEST_VERDICTS = ("tests/core/sync/test_verdicts.py",)
TEST_ENVELOPE = ("tests/core/sync/test_envelope.py",)
TEST_COMMITS = ("tests/sync/test_commit_order.py",)
TEST_WALLS = ("tests/api/test_walls.py",)
MACHINE = "tests/sync/test_state_machine.py"
TEST_LIVES = (f"{MACHINE}::test_no_history_of_faults_loses_or_doubles_anything",)

GUARDS: tuple[Guard, ...] = (
    # one writer, all or none, gapless
    Guard(
        "one writer of a farm at a time (PostgreSQL)",
        APPEND,
        "farm = Farm.objects.select_for_update().get(pk=farm_id)\n        raws = list(items)",
        "farm = Farm.objects.get(pk=farm_id)\n        raws = list(items)",
        TEST_COMMITS,
        postgresql=True,
    ),
    Guard(
        "one writer at a time (SQLite)",
        "tubertrack/config/settings.py",
        '"transaction_mode": "IMMEDIATE"',
        '"transaction_mode": "DEFERRED"',
        TEST_COMMITS,
    ),
    Guard(
        "numbers and rows in one transaction",
        APPEND,
        "    with transaction.atomic():\n        # One writer per farm",
        "    if True:\n        # One writer per farm",
        ("tests/sync/test_all_or_none.py",),
    ),
    Guard(
        "the farm's number moves with its records",
        APPEND,
        '    farm.save(update_fields=["last_seq", "head_chain"])\n',
        "",
        TEST_APPEND,
    ),
    Guard(
        "records are never changed",
        TRIGGERS,
        "SELECT RAISE(ABORT, 'a record is never changed')",
        "SELECT 1",
        TEST_APPEND,
    ),
    Guard(
        "records are never deleted",
        TRIGGERS,
        "SELECT RAISE(ABORT, 'a record is never deleted')",
        "SELECT 1",
        TEST_APPEND,
    ),
    Guard(
        "records are never changed or deleted (PostgreSQL)",
        TRIGGERS,
        "BEFORE UPDATE OR DELETE ON records_record",
        "BEFORE TRUNCATE ON records_record_never",
        TEST_APPEND,
        postgresql=True,
    ),
    Guard(
        "a fold kept in memory is used for its own history alone",
        WARM,
        "if warm is None or not _is_prefix(warm, farm):",
        "if warm is None:",
        TEST_APPEND,
    ),
    Guard(
        "a fold kept in memory takes in what others wrote meanwhile",
        WARM,
        "    if warm.seq < farm.last_seq:\n",
        "    if warm.seq < 0:\n",
        TEST_APPEND,
    ),
    # each once
    Guard(
        "bytes that are there are not stored again",
        APPEND,
        "            if sha in known:\n",
        "            if False:\n",
        TEST_APPEND,
    ),
    Guard(
        "bytes that come twice in one push are stored once",
        APPEND,
        "            known[sha] = record.seq, record.held\n",
        "",
        TEST_APPEND,
    ),
    Guard(
        "the key is the content, not the id",
        LOG,
        "    return hashlib.sha256(raw).hexdigest()\n\n\ndef entry_of",
        "    told = read_envelope(raw)\n"
        '    named = told.id.encode() if hasattr(told, "id") else raw\n'
        "    return hashlib.sha256(named).hexdigest()\n\n\ndef entry_of",
        (f"{MACHINE}::test_one_id_may_stand_for_two_records",),
    ),
    # nothing is refused, what is set aside is kept
    Guard(
        "what is set aside is stored",
        APPEND,
        "            record = _received(receipt, sha, raw)\n",
        "            record = _received(receipt, sha, raw)\n"
        "            if record.held:\n"
        "                farm.last_seq -= 1\n"
        "                continue\n",
        TEST_APPEND,
    ),
    Guard(
        "a kind not known today is stored",
        APPEND,
        "            record = _received(receipt, sha, raw)\n",
        '            if b"moon_phase" in raw:\n'
        '                verdicts.append(Verdict(sha, "held", 0, "unknown_kind"))\n'
        "                continue\n"
        "            record = _received(receipt, sha, raw)\n",
        TEST_LIVES,
    ),
    Guard(
        "half a character is bytes, not an error",
        PUSH,
        'record.encode("utf-8", "surrogatepass")',
        'record.encode("utf-8")',
        ("tests/sync/test_poison.py",),
    ),
    Guard(
        "nesting has a bound of its own",
        ENVELOPE,
        "    if _is_too_deep(raw):\n",
        "    if False:\n",
        TEST_ENVELOPE,
    ),
    Guard(
        "NaN is no JSON",
        ENVELOPE,
        "    raise ValueError(name)  # NaN and Infinity are no JSON",
        "    return 0.0",
        TEST_ENVELOPE,
    ),
    Guard(
        "bytes that are no UTF-8 are a value",
        ENVELOPE,
        "    except UnicodeDecodeError:\n        return Unreadable",
        "    except KeyError:\n        return Unreadable",
        TEST_ENVELOPE,
    ),
    Guard(
        "an id is an id from its first to its last character",
        ENVELOPE,
        "_UUID.fullmatch(value)",
        "_UUID.match(value)",
        TEST_ENVELOPE,
    ),
    Guard(
        "a day is a day of the calendar",
        ENVELOPE,
        "    try:\n        date.fromisoformat(value)\n    except ValueError:\n        return False\n",
        "",
        TEST_ENVELOPE,
    ),
    Guard(
        "an edit without a stamp is no envelope",
        ENVELOPE,
        'and not _is_stamp(told.get("stamp")):',
        "and False:",
        TEST_ENVELOPE,
    ),
    # verdicts
    Guard(
        "a record of another farm does not count",
        VERDICTS,
        "    if envelope.farm != farm_id:\n",
        "    if False:\n",
        TEST_VERDICTS,
    ),
    Guard(
        "64 KiB at most count",
        VERDICTS,
        "    if size > MOST_BYTES:\n",
        "    if False:\n",
        TEST_VERDICTS,
    ),
    Guard(
        "what a quarantined phone sends is set aside",
        VERDICTS,
        "    if quarantined:\n",
        "    if False:\n",
        TEST_VERDICTS,
    ),
    Guard(
        "the write path tells of the quarantine",
        APPEND,
        "quarantined=receipt.device.quarantined",
        "quarantined=False",
        TEST_APPEND,
    ),
    Guard(
        "a newer version is set aside",
        VERDICTS,
        "    if envelope.v not in versions:\n",
        "    if False:\n",
        TEST_VERDICTS,
    ),
    Guard(
        "an unknown kind is set aside",
        VERDICTS,
        "    if not versions:\n",
        "    if False:\n",
        TEST_VERDICTS,
    ),
    Guard(
        "a body that does not fit is set aside",
        VERDICTS,
        'else "bad_body"',
        'else ""',
        TEST_VERDICTS,
    ),
    Guard(
        "the table of rights is asked",
        VERDICTS,
        'else "not_permitted"',
        'else ""',
        TEST_VERDICTS,
    ),
    Guard(
        "a relayed record has the lesser rights",
        APPEND,
        "return lesser_role(author, self.device.role)",
        "return author",
        TEST_APPEND,
    ),
    Guard(
        "the author's own rights bound what another's phone brings",
        APPEND,
        "return lesser_role(author, self.device.role)",
        "return self.device.role",
        TEST_APPEND,
    ),
    Guard(
        "the weaker role is the lesser",
        VERDICTS,
        "return min(known, key=order.index)",
        "return max(known, key=order.index)",
        TEST_VERDICTS,
    ),
    Guard(
        "somebody who left has no rights",
        APPEND,
        "Member.objects.filter(farm=self.farm, active=True)",
        "Member.objects.filter(farm=self.farm)",
        TEST_APPEND,
    ),
    Guard(
        "only members of this farm have rights in it",
        APPEND,
        "Member.objects.filter(farm=self.farm, active=True)",
        "Member.objects.filter(active=True)",
        ("tests/sync/test_rights.py",),
    ),
    Guard(
        "the role is kept as it was at receipt",
        RECLASSIFY,
        "        role=record.role,\n",
        '        role="owner",\n',
        ("tests/services/test_after_an_update.py",),
    ),
    Guard(
        "what was set aside for another reason waits for a person",
        RECLASSIFY,
        'NOT_KNOWN_THEN = ("unknown_kind", "newer_version")',
        'NOT_KNOWN_THEN = ("unknown_kind", "newer_version", "not_permitted", "quarantined")',
        ("tests/services/test_after_an_update.py", "tests/sync/test_rights.py"),
    ),
    Guard(
        "who brought it is kept",
        APPEND,
        "            relayed_by=relayed_by,\n",
        "",
        TEST_APPEND,
    ),
    Guard(
        "what was no envelope stays none",
        LOG,
        "    if record.held in _NO_ENVELOPE:\n",
        "    if False:\n",
        ("tests/services/test_after_an_update.py",),
    ),
    # chain and stamps
    Guard(
        "no stamp lies after its receipt",
        STAMPS,
        "    return received_at, 0\n",
        "    return stamp\n",
        TEST_VERDICTS,
    ),
    Guard(
        "the write path bounds stamps",
        APPEND,
        "stamp = effective_stamp(envelope.stamp, now)",
        "stamp = envelope.stamp",
        TEST_APPEND,
    ),
    Guard(
        "the chain covers what the server adds, not the keys alone",
        CHAIN,
        "return hashlib.sha256(told).digest()[:16]",
        "return hashlib.sha256(before + bytes.fromhex(link.sha256)).digest()[:16]",
        (f"{MACHINE}::test_the_same_records_with_other_stamps_are_another_history",),
    ),
    Guard(
        "the chain covers the stamp that the server gave",
        CHAIN,
        'struct.pack(">BQI", int(link.stamp is not None), ms, counter),',
        "bytes(13),",
        ("tests/core/sync/test_chain.py",),
    ),
    Guard(
        "the chain covers the role",
        CHAIN,
        "            _short(link.role),\n",
        "",
        ("tests/core/sync/test_chain.py",),
    ),
    Guard(
        "the chain covers what was set aside",
        CHAIN,
        "            _short(link.held),\n",
        "",
        ("tests/core/sync/test_chain.py",),
    ),
    Guard(
        "the chain goes on from the one before",
        CHAIN,
        "            before,\n            bytes",
        "            bytes(16),\n            bytes",
        ("tests/core/sync/test_chain.py",),
    ),
    Guard(
        "no date of receipt is taken from a phone",
        APPEND,
        "received_on = recorded_on = civil_date(now, receipt.zone)",
        "received_on = recorded_on = civil_date(\n"
        '        getattr(envelope, "recorded_at", now), receipt.zone\n    )',
        ("tests/sync/test_clocks.py",),
    ),
    Guard(
        "no date of writing lies after receipt",
        APPEND,
        "civil_date(min(envelope.recorded_at, now), receipt.zone)",
        "civil_date(envelope.recorded_at, receipt.zone)",
        TEST_APPEND,
    ),
    Guard(
        "a clock beyond all dates is no error",
        LOG,
        "    except (OverflowError, ValueError, OSError):\n",
        "    except KeyError:\n",
        ("tests/sync/test_clocks.py",),
    ),
    # feed
    Guard(
        "a cursor is of this history",
        FEED,
        "    if _chain_at(farm_id, seq, head_seq, head_chain) != chain:\n",
        "    if False:\n",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a cursor is compared by its chain, not by its number alone",
        FEED,
        "    if _chain_at(farm_id, seq, head_seq, head_chain) != chain:\n",
        "    if seq > head_seq:\n",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a page is in the order of the numbers",
        FEED,
        'seq__gt=seq, seq__lte=last).order_by("seq")',
        'seq__gt=seq, seq__lte=last).order_by("-seq")',
        TEST_PUSH_PULL,
    ),
    Guard(
        "a page holds one entry at least, however large",
        FEED,
        "        if size > room and last > seq:\n",
        "        if size > room:\n",
        ("tests/sync/test_all_or_none.py",),
    ),
    Guard(
        "a page ends at 1 MiB",
        FEED,
        "        if size > room and last > seq:\n",
        "        if False:\n",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a page ends at 500 entries",
        FEED,
        "min(limit, MOST_ENTRIES)",
        "limit",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a feed is of one farm",
        FEED,
        "page = Record.objects.filter(farm_id=farm_id, seq__gt=seq",
        "page = Record.objects.filter(seq__gt=seq",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a push has a size",
        PUSH,
        "    if len(raws) > MOST_RECORDS or sum(map(len, raws)) > MOST_BYTES:\n",
        "    if False:\n",
        TEST_PUSH_PULL,
    ),
    Guard(
        "a token pushes for its own device alone",
        PUSH,
        '    if told.get("device") != str(device.pk):\n',
        "    if False:\n",
        TEST_PUSH_PULL,
    ),
    Guard(
        "another protocol is told so",
        PUSH,
        '    if told.get("protocol") != 1:\n',
        "    if False:\n",
        TEST_PUSH_PULL,
    ),
    # a farm's file
    Guard(
        "a restored log must be whole",
        TRANSFER,
        '    if bytes(record.chain).hex() != told["chain"]:\n',
        "    if False:\n",
        ("tests/services/test_transfer.py",),
    ),
    Guard(
        "what another server said is not believed",
        TRANSFER,
        "append(farm.pk, portion, device=server, now=now)\n    return verdicts",
        "append(farm.pk, [], device=server, now=now)\n    return verdicts",
        ("tests/services/test_transfer.py",),
    ),
    # walls
    Guard(
        "a device writes to its own farm",
        APPEND,
        "    if str(device.farm_id) != str(farm_id):\n",
        "    if False:\n",
        TEST_APPEND,
    ),
    Guard(
        "equal bytes on another farm are another record",
        APPEND,
        "Record.objects.filter(farm=farm, sha256__in",
        "Record.objects.filter(sha256__in",
        TEST_APPEND,
    ),
    Guard(
        "a revoked token is none",
        AUTH,
        "                revoked_at=None,\n",
        "",
        ("tests/api/test_accounts.py",),
    ),
    Guard(
        "the token of somebody who left is none",
        AUTH,
        "                member__active=True,\n",
        "",
        ("tests/api/test_accounts.py",),
    ),
    Guard(
        "the least role of an address is asked",
        AUTH,
        "        if roles().index(request.auth.role) < roles().index(least):\n",
        "        if False:\n",
        TEST_WALLS,
    ),
    Guard(
        "nobody enters without a device",
        AUTH,
        "        if not isinstance(request.auth, Device):\n            return False\n",
        "",
        TEST_WALLS,
    ),
)
