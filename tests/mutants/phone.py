"""What the phone may not do without: its store, the round of the sync, the transport, the forms."""

from __future__ import annotations

from tests.mutants.guard import Guard

STORE = "frontend/src/store/farm-store.ts"
CONNECTION = "frontend/src/store/connection.ts"
ROUND = "frontend/src/sync/round.ts"
PAGE = "frontend/src/sync/page.ts"
BATCH = "frontend/src/sync/batch.ts"
TRANSPORT = "frontend/src/sync/transport.ts"
HTTP = "frontend/src/sync/http-transport.ts"
SESSION = "frontend/src/sync/farm-session.ts"
DRAFTING = "frontend/src/sync/drafting.ts"
LOCK = "frontend/src/sync/lock.ts"
LOOP = "frontend/src/sync/loop.ts"
CHAIN = "frontend/src/core/sync/chain.ts"
STAMP = "frontend/src/core/sync/stamp.ts"

TEST_ROUND = ("frontend/src/sync/round.test.ts",)
TEST_STORE = ("frontend/src/store/farm-store.test.ts",)
TEST_CRASH = ("frontend/src/sync/crash.test.ts",)
TEST_FAULTS = ("frontend/src/sync/any-faults.test.ts",)
TEST_SESSION = ("frontend/src/sync/session.test.ts",)
TEST_LOOP = ("frontend/src/sync/loop.test.ts",)
TEST_CLOCKS = ("frontend/src/sync/clocks.test.ts",)
TEST_HOSTILE = ("frontend/src/sync/hostile-server.test.ts",)
TEST_HTTP = ("frontend/src/sync/http-transport.test.ts",)

GUARDS: tuple[Guard, ...] = (
    # the store
    Guard(
        "the cursor never moves before the rows",
        STORE,
        "  applyPage(from: Cursor, entries: readonly FeedRow[]): Promise<boolean> {\n",
        "  async applyPage(from: Cursor, entries: readonly FeedRow[]): Promise<boolean> {\n"
        "    const end = entries[entries.length - 1];\n"
        '    if (end) await this.set("cursor", { seq: end.seq, chain: end.chain });\n'
        "    from = await this.cursor();\n",
        TEST_CRASH,
    ),
    Guard(
        "the cursor moves with the rows",
        STORE,
        '        await this.set("cursor", { seq: last.seq, chain: last.chain });\n',
        "",
        TEST_ROUND,
    ),
    Guard(
        "a page is written at the cursor it was asked for alone",
        STORE,
        "        if (cursor.seq !== from.seq || cursor.chain !== from.chain) return false;\n",
        "",
        TEST_STORE,
    ),
    Guard(
        "a verdict settles nothing",
        STORE,
        '      row.due = "sent";\n',
        "      delete row.due;\n",
        TEST_FAULTS,
    ),
    Guard(
        "what did not come back is sent again",
        STORE,
        "    if (sent.length > 0) await this.mark(sent.map((row) => row.sha), backToSaved);\n"
        "    return sent.length;\n",
        "    return 0 * sent.length;\n",
        TEST_FAULTS,
    ),
    Guard(
        "another history is offered all that this phone holds",
        STORE,
        'seq: null, due: "saved" as const,',
        "seq: null,",
        TEST_FAULTS,
    ),
    Guard(
        "another history is read from its start",
        STORE,
        '        await this.set("cursor", START);\n',
        "",
        TEST_FAULTS,
    ),
    Guard(
        "numbers of another history are forgotten",
        STORE,
        "({ ...row, seq: null, due:",
        "({ ...row, due:",
        TEST_STORE,
    ),
    Guard(
        "the fold hears that the history began anew",
        STORE,
        '        await this.set("epoch", ((await this.get<number>("epoch")) ?? 0) + 1);\n',
        "",
        TEST_STORE,
    ),
    Guard(
        "numbers are given inside the transaction that keeps the record",
        STORE,
        "    let rows: RecordRow[] = [];\n"
        "    return this.connection.run(\n"
        "      () =>\n"
        "        this.writing(async (touched) => {\n"
        "          let device_seq = (await this.get<number>(`device_seq:${device}`)) ?? 0;\n",
        "    let rows: RecordRow[] = [];\n"
        "    const early = (await this.read<number>(`device_seq:${device}`)) ?? 0;\n"
        "    return this.connection.run(\n"
        "      () =>\n"
        "        this.writing(async (touched) => {\n"
        "          let device_seq = early;\n",
        TEST_STORE,
    ),
    Guard(
        "a number is given once",
        STORE,
        "          await this.set(`device_seq:${device}`, device_seq);\n",
        "",
        TEST_STORE,
    ),
    Guard(
        "a save that went through is not made again",
        STORE,
        "      () => this.allThere(rows),\n",
        "      () => Promise.resolve(undefined),\n",
        TEST_STORE,
    ),
    Guard(
        "the clock for edits moves on",
        STORE,
        'device_seq);\n          await this.set("clock", clock);\n',
        "device_seq);\n",
        TEST_CLOCKS,
    ),
    Guard(
        "the clock for edits follows what was seen",
        STORE,
        "if (stamp_eff) clock = afterSeeing(clock, stamp_eff);",
        "void stamp_eff;",
        TEST_STORE,
    ),
    Guard(
        "a later edit has a later stamp, whatever the clock says",
        STAMP,
        "  return wallMs > last[0] ? [wallMs, 0] : [last[0], last[1] + 1];\n",
        "  return [wallMs, last[1]];\n",
        ("frontend/src/core/sync/stamp.test.ts",),
    ),
    Guard(
        "what was set aside is tried again by another build or after a day",
        STORE,
        "row.stuck === undefined || row.stuck.app !== app || row.stuck.at <= before",
        "row.stuck === undefined",
        TEST_ROUND,
    ),
    Guard(
        "disk before words",
        CONNECTION,
        'chromeTransactionDurability: "strict"',
        'chromeTransactionDurability: "relaxed"',
        TEST_STORE,
    ),
    Guard(
        "a dropped connection is opened again",
        CONNECTION,
        "      if (!isLost(error) || this.gone) throw this.told(error);\n",
        "      throw this.told(error);\n",
        TEST_STORE,
    ),
    Guard(
        "old code gives way to new",
        CONNECTION,
        "      this.close();\n      this.onGone();\n",
        "",
        TEST_STORE,
    ),
    # the round
    Guard(
        "the queue is kept until the feed has it",
        ROUND,
        "    const answer = await this.send(rows);\n    if (!answer.refused)",
        "    await this.parts.store.markSent(rows.map((one) => one.sha));\n"
        "    const answer = await this.send(rows);\n    if (!answer.refused)",
        TEST_ROUND,
    ),
    Guard(
        "at the head, what was sent and did not come back is sent again",
        ROUND,
        "      if ((await store.resendSent()) > 0) resent += 1;\n      else if",
        "      if",
        TEST_FAULTS,
    ),
    Guard(
        "one entry that the server cannot take does not stop the others",
        ROUND,
        "    if (rows.length > 1) {\n",
        "    if (rows.length < 0) {\n",
        TEST_ROUND,
    ),
    Guard(
        "a batch that is refused is not set aside whole",
        ROUND,
        "      const half = Math.ceil(rows.length / 2);\n"
        "      await this.batch(rows.slice(0, half));\n"
        "      return this.batch(rows.slice(half));\n",
        "      for (const one of rows) await this.setAside(one, code);\n      return;\n",
        TEST_ROUND,
    ),
    Guard(
        "an ill server blames no entry",
        ROUND,
        "    if (status >= 500) await this.standsAtAll();\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "signed out is not refused",
        ROUND,
        "  if (status === 401 || status === 403) throw new SignedOut(code || String(status));\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "a server that asks for time gets it",
        ROUND,
        "  if (status === 429 || status === 503) throw"
        " new TryLater(code || String(status), retryAfterMs);\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "another history is noticed",
        ROUND,
        "      if (answer.status === 409) return false;\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "another history is taken up",
        ROUND,
        "      await store.startAnew();\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "a history that keeps changing ends the round",
        ROUND,
        '      if (renewed) throw new TryLater("history_changed");\n',
        "",
        TEST_ROUND,
    ),
    Guard(
        "at the head the link is the server's",
        ROUND,
        "return taken.seq === head.seq && taken.chain === head.chain;",
        "return true;",
        TEST_HOSTILE,
    ),
    Guard(
        "an answer without a verdict teaches nothing and ends the round",
        ROUND,
        '    if (sent.length === 0) throw new TryLater("no_verdict");\n',
        "",
        TEST_HOSTILE,
    ),
    Guard(
        "a verdict counts for what was sent alone",
        ROUND,
        "told.filter((sha) => ours.has(sha))",
        "told.filter((sha) => sha !== undefined || ours.has(sha))",
        TEST_HOSTILE,
    ),
    Guard(
        "an empty page before the head ends the round",
        ROUND,
        '    if (entries.length === 0) throw new TryLater("empty_page");\n',
        "",
        TEST_HOSTILE,
    ),
    Guard(
        "bytes that no request can carry do not stop the others",
        ROUND,
        'if (textOf(row.raw) === null) await this.setAside(row, "unreadable");\n      else fit',
        "fit",
        TEST_HOSTILE,
    ),
    Guard(
        "a round that is not settled says so",
        ROUND,
        '  throw new TryLater("not_settled");\n',
        "",
        TEST_HOSTILE,
    ),
    # pages
    Guard(
        "a page has no hole",
        PAGE,
        "  if (told.seq !== seq) throw new BrokenPage("
        "`the feed jumps to ${String(told.seq)}`, seq);\n",
        "",
        TEST_HOSTILE,
        more=(
            (
                (
                    "  if (linkOf(after.chain, row) !== row.chain) throw"
                    ' new BrokenPage("the chain does not hold", seq);\n'
                ),
                "",
            ),
        ),
    ),
    Guard(
        "each link is worked out anew",
        PAGE,
        "  if (linkOf(after.chain, row) !== row.chain) throw"
        ' new BrokenPage("the chain does not hold", seq);\n',
        "",
        TEST_ROUND,
    ),
    Guard(
        "the link covers the stamp that the server gave",
        CHAIN,
        "  putU64(link.stamp_eff?.[0] ?? 0);\n",
        "  putU64(0);\n",
        ("frontend/src/core/sync/chain.test.ts",),
    ),
    Guard(
        "the link covers role and held code",
        CHAIN,
        "  for (const text of [held, role]) {\n",
        "  for (const text of [held, held]) {\n",
        ("frontend/src/core/sync/chain.test.ts",),
    ),
    Guard(
        "a push has a size",
        BATCH,
        "    if (left < 0 && fit.length > 0) break;\n",
        "",
        TEST_ROUND,
    ),
    Guard(
        "one entry at least is sent, however large",
        BATCH,
        "    if (left < 0 && fit.length > 0) break;\n",
        "    if (left < 0) break;\n",
        ("frontend/src/sync/batch.test.ts",),
    ),
    Guard(
        "half a character travels as it came",
        BATCH,
        "    const char = length === 3 ? surrogate(part) : null;\n",
        "    const char = null;\n",
        TEST_ROUND,
    ),
    # the transport
    Guard(
        "a page of a gateway is a refusal with its status",
        HTTP,
        "      if (response.ok) throw error;\n      return null;\n",
        "      throw error;\n",
        TEST_HTTP,
    ),
    Guard(
        "a refusal is no verdict",
        HTTP,
        "  if (response.ok) return { refused: false, body: read(value) };\n",
        "  return { refused: false, body: read(value) };\n",
        TEST_HTTP,
    ),
    Guard(
        "an answer without verdicts is no answer",
        TRANSPORT,
        '  if (!Array.isArray(verdicts)) throw new NoAnswer("the verdicts are not readable");\n',
        "  if (!Array.isArray(verdicts)) return { verdicts: [] };\n",
        ("frontend/src/sync/transport.test.ts",),
    ),
    Guard(
        "an answer without entries is no answer",
        TRANSPORT,
        '  if (!Array.isArray(entries)) throw new NoAnswer("the entries are not readable");\n'
        "  return { entries,",
        "  return { entries: [],",
        ("frontend/src/sync/transport.test.ts",),
    ),
    Guard(
        "a head is a number and a link",
        TRANSPORT,
        "HEX_LINK.test(chain)",
        "true",
        ("frontend/src/sync/transport.test.ts",),
    ),
    # windows and forms
    Guard(
        "one window syncs at a time, where the browser has no locks",
        STORE,
        "        if (taken) return false;\n",
        "",
        TEST_STORE,
    ),
    Guard(
        "a lease of a wild clock ends",
        STORE,
        " && lease.until <= now + 2 * ms;",
        ";",
        TEST_STORE,
    ),
    Guard(
        "a form refuses what the role may not write",
        DRAFTING,
        "  if (!mayWrite(draft.kind, role)) throw",
        "  if (false) throw",
        ("frontend/src/sync/rights.test.ts",),
    ),
    Guard(
        "who borrows a phone has no more rights than its owner",
        DRAFTING,
        "lesserRole(desk.author.role, desk.member.role)",
        "desk.author.role",
        ("frontend/src/sync/rights.test.ts",),
    ),
    Guard(
        "a form refuses what does not fit, before the word saved",
        DRAFTING,
        "  if (first) {\n",
        "  if (!first && wrong.length > 0) {\n",
        TEST_SESSION,
    ),
    Guard(
        "a form refuses what is longer than 64 KiB",
        "frontend/src/core/sync/envelope.ts",
        "  if (bytes > ENVELOPE_LIMIT_BYTES) throw new TooLarge(bytes);\n",
        "",
        ("frontend/src/core/sync/envelope.test.ts",),
    ),
    Guard(
        "what fails after it is on disk does not make it unsaved",
        SESSION,
        "    await this.refresh().catch(() => undefined);\n    this.neighbours.tell();\n"
        "    this.loop.nudge();\n",
        "    await this.refresh();\n    this.neighbours.tell();\n    this.loop.nudge();\n",
        ("frontend/src/sync/saved.test.ts",),
    ),
)
