// A stand-in for the server while somebody works on the client: keeps the invented shop of
// sample.mjs in memory and knows only as much of the rules as the screens need. It also serves
// dist/ with the product's content policy. Not shipped.
import { createServer } from "node:http";
import { readFile } from "node:fs/promises";
import { extname, join, normalize } from "node:path";
import * as S from "./sample.mjs";

const PORT = Number(process.env.PORT ?? 8787);
const EMPTY = process.env.EMPTY === "1";
const DIST = new URL("../dist/", import.meta.url).pathname;
const POLICY = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'";
if (EMPTY) S.orders.length = 0;

let signedIn = true;
let eventId = 0;
const listeners = new Set();
const me = () => S.ref(S.people[0]);
const now = () => new Date().toISOString();
const session = () => ({ access_token: `token-${Date.now()}`, expires_at: new Date(Date.now() + 600000).toISOString(), person: S.people[0], shop: S.shop });
const problem = (status, type, title, more = {}) => ({ status, body: { type, title, status, request_id: "mock", ...more } });

function tell(order, kind, words) {
  eventId += 1;
  const data = { kind, work_order_id: order.id, claim_number: order.claim_number, version: order.version, stage: order.stage, words, at: now() };
  for (const response of listeners) response.write(`id: ${eventId}\nevent: change\ndata: ${JSON.stringify(data)}\n\n`);
}
function touch(order, kind, words) {
  order.version += 1;
  tell(order, kind, words);
}

const instrumentWords = (instrument) => [instrument.family, instrument.maker, instrument.age_text].filter(Boolean).join(", ");
const lateDays = (one) => (one.stage === "pickup" ? 0 : S.orders.indexOf(one) % 9 === 4 ? 1 + (S.orders.indexOf(one) % 5) : 0);
const twenty = (from) => [0, 1, 1, 1, 2, 2, 2, 2, 2, 3, 3, 3, 3, 5, 5, 5, 5, 7, 7, 10].map((after) => S.openDays[from + after]);
const basis = { kind: "typical", closed_orders_count: 12, open_orders_count: 49, people_count: 3, answers_count: 9, tests_count: 11, steps_count: 40, typical: ["answers"], draws_count: 10000 };
const forecastOf = (one, at) => ({ work_order_id: one.id, claim_number: one.claim_number, stage: one.stage, promised_on: one.promised_on, ready_p50: S.openDays[2 + at], ready_p85: S.openDays[4 + at], ready_p95: S.openDays[7 + at], twenty: twenty(2), promise: null, likely_days_late: lateDays(one), largest_causes: [] });
const forecast = () => ({
  as_of: now(), number: 1, basis, nobody_can: [],
  orders: S.orders.filter((one) => one.stage !== "closed" && one.stage !== "pickup").map(forecastOf),
  likely_late: S.orders.filter((one) => lateDays(one) > 0).map((one, at) => ({
    order: forecastOf(one, at), customer_name: one.customer.name, instrument_words: one.instrument.family, waits_for: one.waits_for, claimed_by: one.claimed_by,
    help: { kind: "ring", why: "the owner has not answered for 9 days", helps: "Ring the owner." }, ring: at % 2 === 0 ? { id: one.customer.id, name: one.customer.name } : null, ring_phone: at % 2 === 0 ? one.customer.phone : null,
  })),
});
const board = () => ({
  as_of: now(), last_event: eventId, today: S.today, open_days: S.openDays, people: S.people.map(S.ref),
  stages: ["intake", "diagnosis", "approval", "bench", "leak_test", "pickup"].map((stage, at) => ({ stage, reach_days: [17, 14, 11, 6, 2, null][at] })),
  orders: S.orders.filter((one) => one.stage !== "closed").map((one) => ({
    id: one.id, claim_number: one.claim_number, version: one.version, stage: one.stage, stage_since: one.stage_since, promised_on: one.promised_on,
    working_days_left: S.openDays.indexOf(one.promised_on), waits_for: one.waits_for, since: one.stage_since, held: one.holds.some((hold) => !hold.lifted_at),
    held_until: one.holds.find((hold) => !hold.lifted_at)?.look_again_on ?? null, claimed_by: one.claimed_by, place: one.place, customer_name: one.customer.name, customer_phone: one.customer.phone,
    instrument_words: instrumentWords(one.instrument), family: one.instrument.family, waiting_words: one.waiting_words, likely_days_late: lateDays(one), ready_p50: S.openDays[6], ready_p85: S.openDays[9], ready_p95: S.openDays[12],
  })),
});

const MOVES = {
  intake: [["diagnosis", "examination_begins", "examination begins"], ["closed", "entered_by_mistake", "entered by mistake"]],
  diagnosis: [["approval", "quote_sent", "quote sent", "send_quote"], ["bench", "covered_beforehand", "covered by what was authorised at the counter"], ["pickup", "nothing_to_do", "nothing to repair"]],
  approval: [["bench", "accepted", "accepted", "decide"], ["bench", "recalled", "the extra is taken back"]],
  bench: [["leak_test", "bench_done", "bench work done"], ["approval", "extra_work", "extra work found", "send_quote"], ["pickup", "withdrawn", "withdrawn by the customer", "end"]],
  leak_test: [["pickup", "tests_passed", "passed", "record_test"], ["bench", "test_failed", "failed", "record_test"], ["pickup", "overridden", "let go on the proprietor’s word"]],
  pickup: [["closed", "collected", "collected", "hand_over"], ["bench", "sent_back", "sent back at the counter"]],
  closed: [],
};
function whole(order) {
  const moves = MOVES[order.stage].map(([to, because, words, act]) => {
    const open = order.operations.filter((one) => !["done", "struck"].includes(one.state)).length;
    const undecided = order.findings.filter((one) => one.disposition === "undecided" && !one.struck_reason);
    const why_not = because === "bench_done" && open > 0 ? `${open} steps are not done yet.`
      : because === "examination_begins" && !order.claimed_by ? "Claim it first."
      : ["covered_beforehand", "quote_sent"].includes(because) && undecided.length > 0 ? `Finding ${undecided[0].number} has no decision yet.` : null;
    return { to, because, words, may: why_not === null, why_not, act: act ?? null, needs_reason: ["nothing_to_do", "overridden", "recalled", "sent_back", "entered_by_mistake"].includes(because) };
  });
  return { ...order, moves };
}
const byNumber = (number) => S.orders.find((one) => one.id === number || one.claim_number.replaceAll("-", "") === number.replaceAll(/\D/g, ""));
const ownerOf = (list, id) => S.orders.find((order) => order[list].some((one) => one.id === id));
const seen = (request) => Number(request.headers["if-match"]?.replaceAll('"', ""));
const stale = (thing, fields) => problem(412, "stale", "Somebody changed it meanwhile", { current_version: thing.version, changed_by: "Ines Calder", changed_at: now(), differences: fields, current: thing });

function totals(lines) {
  const sum = lines.filter((one) => !one.optional).reduce((cents, one) => cents + Math.round(Number(one.unit_price) * Number(one.quantity) * 100 * (1 - Number(one.discount_percent ?? 0) / 100)), 0) / 100;
  const net = sum / 1.19;
  const each = (one) => S.eur((Number(one.unit_price) * Number(one.quantity) * (1 - Number(one.discount_percent ?? 0) / 100)).toFixed(2));
  return { lines: lines.filter((one) => !one.optional).map((one) => ({ amount: each(one), after_discount: each(one) })), tax_classes: [{ id: "standard", net: S.eur(net.toFixed(2)), tax: S.eur((sum - net).toFixed(2)), gross: S.eur(sum.toFixed(2)) }], net: S.eur(net.toFixed(2)), tax: S.eur((sum - net).toFixed(2)), total: S.eur(sum.toFixed(2)) };
}
function quoteFrom(order, wanted, old) {
  const lines = wanted.lines.map((one) => ({ discount_percent: null, is_new: false, irreversible: false, ...one, id: one.id ?? S.id() }));
  return {
    version: (old?.version ?? 0) + 1, id: old?.id ?? S.id(), number: old?.number ?? order.quotes.length + 1, state: "draft", is_extra: order.quotes.some((one) => one.decision?.answer === "accepted"),
    message: wanted.message ?? null, lines, discount: wanted.discount ?? null, totals: totals(lines), total_with_optional: totals(lines.map((one) => ({ ...one, optional: false }))).total,
    limit: wanted.limit ?? totals(lines.map((one) => ({ ...one, optional: false }))).total, expires_on: wanted.expires_on ?? S.plus(S.today, 14), content_hash: `h${Date.now()}`, sent_at: null, sent_by: null, seen_at: null, struck_reason: null, decision: null,
  };
}
function moveTo(order, to, because, words, reason = null) {
  order.stage_changes.push({ id: S.id(), from: order.stage, to, because, words, reason, at: now(), by: me().name });
  order.stage = to;
  order.stage_since = now();
  order.waits_for = ["approval", "pickup"].includes(to) ? "customer" : "shop";
  touch(order, "stage_changed", words);
}

const routes = [
  ["POST", "/sessions", ({ body }) => body.password === "wrong" ? problem(401, "does-not-fit", "That did not fit: e-mail or password is wrong.") : ((signedIn = true), { body: session() })],
  ["POST", "/sessions/refresh", () => signedIn ? { body: session() } : problem(401, "not-signed-in", "Sign in")],
  ["GET", "/sessions", () => ({ body: { items: [{ id: "a", begun_at: S.ago(2), last_used_at: now(), device: "Firefox on Linux", current: true }, { id: "b", begun_at: S.ago(9), last_used_at: S.ago(1), device: "Bench tablet", current: false }], next: null } })],
  ["DELETE", "/sessions/current", () => ((signedIn = false), { status: 204 })],
  ["DELETE", "/sessions/:id", () => ({ status: 204 })],
  ["GET", "/people", () => ({ body: { items: S.people, next: null } })],
  ["POST", "/people", ({ body }) => { const { password, ...person } = body; S.people.push({ ...person, id: S.id(), version: 1 }); return { status: 201, body: S.people.at(-1) }; }],
  ["GET", "/shop", () => ({ body: S.shop, etag: S.shop.version })],
  ["PATCH", "/people/:id", ({ id, body }) => { const person = S.people.find((one) => one.id === id); Object.assign(person, body); person.version += 1; return { body: person, etag: person.version }; }],
  ["PATCH", "/shop", ({ body }) => { const { labour_rate, ...rest } = body; Object.assign(S.shop, rest, labour_rate === undefined ? {} : { labour_rate: S.eur(labour_rate) }); S.shop.version += 1; return { body: S.shop, etag: S.shop.version }; }],
  ["GET", "/families", () => ({ body: { items: S.families, next: null } })],
  ["GET", "/methods", () => ({ body: { items: S.methods.map((one) => ({ version: 1, is_offered: true, listed_minutes: one.minutes, needs_apart: [], ...one })), standard: [], next: null } })],
  ["GET", "/places", () => ({ body: { items: S.places, next: null } })],
  ["GET", "/customers", ({ query }) => {
    const q = (query.get("q") ?? "").toLowerCase();
    const digits = q.replaceAll(/\D/g, "");
    const items = S.customers.filter((one) => q === "" || one.name.toLowerCase().includes(q) || (digits.length >= 3 && one.phone.replaceAll(/\D/g, "").includes(digits)));
    return { body: { items: items.slice(0, Number(query.get("limit") ?? 20)).map((one) => ({ ...one, matched: q === "" ? null : one.name.toLowerCase().includes(q) ? "name" : "phone" })), next: null } };
  }],
  ["GET", "/instruments", ({ query }) => ({ body: { items: S.instruments.filter((one) => one.owner.id === query.get("owner")), next: null } })],
  ["GET", "/instruments/:id/history", ({ id }) => ({ body: S.instruments.find((one) => one.id === id)?.last_here_on ? {
    watch: [{ claim_number: "1401-0", found_on: "2024-10-07", words: "Old patch on the bottom bow.", note: "No leak in Oct 2024. Left on purpose; look every visit." }, { claim_number: "1401-0", found_on: "2024-10-07", words: "Red rot, leadpipe, 3 spots.", note: null }],
    visits: [{ work_order_id: "x", claim_number: "1401-0", checked_in_on: "2024-10-01", closed_on: "2024-10-07", complaint: "valves slow", words: ["valves aligned", "2 corks"] }, { work_order_id: "y", claim_number: "1200-1", checked_in_on: "2021-05-03", closed_on: "2021-05-10", complaint: "stuck", words: ["tuning slide freed"] }],
  } : { watch: [], visits: [] } })],
  ["POST", "/work-orders", ({ body }) => {
    if (!body.complaint?.trim()) return problem(422, "invalid-input", "Something is missing", { errors: [{ pointer: "/complaint", message: "The complaint is empty." }] });
    let owner = S.customers.find((one) => one.id === body.customer_id);
    if (!owner) S.customers.push((owner = { id: S.id(), version: 1, visits_count: 0, note: null, email: null, phone: null, ...body.customer }));
    let instrument = S.instruments.find((one) => one.id === body.instrument_id);
    if (!instrument) S.instruments.push((instrument = { id: S.id(), version: 1, owner: { id: owner.id, name: owner.name }, last_here_on: null, ...body.instrument }));
    const payer = S.customers.find((one) => one.id === body.owner_id) ?? (body.owner ? { id: S.id(), email: null, phone: null, ...body.owner } : owner);
    const order = S.makeOrder(1790 + S.orders.length, { stage: "intake", owner, payer, instrument, promised: body.promised_on, complaint: body.complaint, may_cost: body.may_cost, authorised: body.may_cost ?? S.eur("0.00"), counter_marks: body.counter_marks, accessories: body.accessories.map((name) => ({ name, returned: false })), place: body.place ?? null });
    S.orders.push(order);
    tell(order, "checked_in", "checked in");
    return { status: 201, body: whole(order), etag: order.version };
  }],
  ["GET", "/work-orders", ({ query }) => {
    const q = (query.get("q") ?? "").toLowerCase();
    const from = Number(query.get("cursor") ?? 0);
    const limit = Number(query.get("limit") ?? 30);
    const items = S.orders.filter((one) => (!query.get("stage") || one.stage === query.get("stage")) && (q === "" || [one.claim_number, one.customer.name, one.customer.phone, one.instrument.serial_number, one.instrument.maker].join(" ").toLowerCase().includes(q))).toReversed();
    return { body: { items: items.slice(from, from + limit).map((one) => ({ id: one.id, claim_number: one.claim_number, version: one.version, stage: one.stage, customer_name: one.customer.name, instrument_words: instrumentWords(one.instrument), promised_on: one.promised_on, checked_in_at: one.checked_in_at })), next: from + limit < items.length ? String(from + limit) : null } };
  }],
  ["GET", "/work-orders/:id", ({ order }) => ({ body: whole(order), etag: order.version })],
  ["PUT", "/work-orders/:id/claim", ({ order }) => {
    if (order.claimed_by) return problem(409, "already-claimed", "Already claimed", { detail: `${order.claimed_by.name} took ${order.claim_number} at 10:31.` });
    order.claimed_by = me(); order.claimed_at = now(); touch(order, "claimed", "claimed by Mara Voss");
    return { body: whole(order), etag: order.version };
  }],
  ["DELETE", "/work-orders/:id/claim", ({ order }) => { order.claimed_by = null; touch(order, "order_changed", "given back"); return { body: whole(order) }; }],
  ["POST", "/work-orders/:id/stage-changes", ({ order, body, request }) => {
    if (seen(request) !== order.version) return stale(order, []);
    moveTo(order, body.to, body.because, body.because.replaceAll("_", " "), body.reason);
    return { status: 201, body: order.stage_changes.at(-1) };
  }],
  ["POST", "/work-orders/:id/ending", ({ order, body }) => { order.ending = { ...body, by: me().name, at: now(), awaits_confirmation: true }; touch(order, "order_changed", "is to end early"); return { body: whole(order) }; }],
  ["DELETE", "/work-orders/:id/ending", ({ order }) => { order.ending = null; touch(order, "order_changed", "goes on"); return { body: whole(order) }; }],
  ["POST", "/work-orders/:id/ending/confirmation", ({ order }) => { order.ending.awaits_confirmation = false; moveTo(order, "pickup", order.ending.because, "ended early"); return { body: whole(order) }; }],
  ["POST", "/work-orders/:id/findings", ({ order, body }) => {
    const finding = { id: S.id(), number: order.findings.length + 1, version: 1, side: null, position_mm: null, size_mm: null, note: null, shared: false, struck_reason: null, disposition: "undecided", disposition_reason: null, found_by: me(), found_at: now(), suggestion: { disposition: body.leaks === "yes" ? "repair" : "leave_and_watch", reason: body.leaks === "yes" ? "It leaks." : "It does not leak." }, ...body };
    order.findings.push(finding); touch(order, "order_changed", "has a new finding");
    return { status: 201, body: finding, etag: 1 };
  }],
  ["PATCH", "/findings/:id", ({ id, body, request }) => {
    const order = ownerOf("findings", id); const finding = order.findings.find((one) => one.id === id);
    if (process.env.STALE === "1" && seen(request) === 1) {
      Object.assign(finding, { version: 2, size_mm: "24" });
      return stale(finding, [{ field: "size_mm", yours: body.size_mm ?? "22", theirs: "24" }, { field: "disposition", yours: body.disposition ?? "repair", theirs: "leave_and_watch" }, { field: "disposition_reason", yours: body.disposition_reason ?? "it leaks, and the patch carries load", theirs: null }]);
    }
    if (seen(request) !== finding.version) return stale(finding, Object.keys(body).map((field) => ({ field, yours: body[field], theirs: finding[field] })));
    Object.assign(finding, body); finding.version += 1; touch(order, "order_changed", `finding ${finding.number} changed`);
    return { body: finding, etag: finding.version };
  }],
  ["POST", "/work-orders/:id/operations", ({ order, body }) => {
    const operation = { id: S.id(), number: order.operations.length + 1, version: 1, method_id: null, state: "planned", may_start: order.stage === "bench", why_not: order.stage === "bench" ? null : "The order is not on the bench yet.", actual_minutes: 0, running: null, claimed_by: null, rework_count: 0, waits_for_answer: false, to_check: false, struck_reason: null, ...body };
    order.operations.push(operation); touch(order, "order_changed", "has a new step");
    return { status: 201, body: operation };
  }],
  ["PATCH", "/operations/:id", ({ id, body }) => { const order = ownerOf("operations", id); const operation = order.operations.find((one) => one.id === id); Object.assign(operation, body); if (body.struck_reason) operation.state = "struck"; operation.version += 1; touch(order, "order_changed", "step changed"); return { body: operation }; }],
  ["GET", "/operations/:id", ({ id }) => ({ body: ownerOf("operations", id).operations.find((one) => one.id === id) })],
  ["PUT", "/operations/:id/claim", ({ id }) => { const order = ownerOf("operations", id); const operation = order.operations.find((one) => one.id === id); operation.claimed_by = me(); touch(order, "order_changed", "step claimed"); return { body: operation }; }],
  ["DELETE", "/operations/:id/claim", ({ id }) => { const order = ownerOf("operations", id); const operation = order.operations.find((one) => one.id === id); operation.claimed_by = null; touch(order, "order_changed", "step given back"); return { body: operation }; }],
  ["POST", "/operations/:id/time", ({ id, body }) => {
    const order = ownerOf("operations", id); const operation = order.operations.find((one) => one.id === id);
    const other = S.orders.flatMap((one) => one.operations).find((one) => one.running && one.id !== id);
    if (body.action === "start") {
      if (other && !body.stop_other) return problem(409, "clock-running", "Your clock is running", { detail: `Step ${other.number}, ${other.title}, is running.` });
      if (other) { other.running = null; other.state = "paused"; }
      operation.running = { by: me(), since: now() }; operation.state = "running";
    } else {
      if (operation.running) operation.actual_minutes += Math.round((Date.now() - Date.parse(operation.running.since)) / 60000);
      operation.running = null; operation.state = body.action === "done" ? "done" : "paused";
    }
    touch(order, "order_changed", `step ${operation.number} ${operation.state}`);
    return { body: operation };
  }],
  ["POST", "/work-orders/:id/quotes", ({ order, body }) => { const quote = quoteFrom(order, body); order.quotes.push(quote); touch(order, "order_changed", "has a draft quote"); return { status: 201, body: quote, etag: quote.version }; }],
  ["PUT", "/quotes/:id", ({ id, body }) => { const order = ownerOf("quotes", id); const at = order.quotes.findIndex((one) => one.id === id); order.quotes[at] = quoteFrom(order, body, order.quotes[at]); touch(order, "order_changed", "draft quote changed"); return { body: order.quotes[at], etag: order.quotes[at].version }; }],
  ["DELETE", "/quotes/:id", ({ id }) => { const order = ownerOf("quotes", id); order.quotes = order.quotes.filter((one) => one.id !== id); touch(order, "order_changed", "draft dropped"); return { status: 204 }; }],
  ["POST", "/quotes/:id/send", ({ id }) => {
    const order = ownerOf("quotes", id); const quote = order.quotes.find((one) => one.id === id);
    for (const one of order.quotes) if (one.state === "sent") one.state = "superseded";
    Object.assign(quote, { state: "sent", sent_at: now(), sent_by: me() });
    if (order.stage !== "approval") moveTo(order, "approval", quote.is_extra ? "extra_work" : "quote_sent", quote.is_extra ? "extra work asked for" : "quote sent"); else touch(order, "order_changed", "a newer quote went out");
    return { body: quote };
  }],
  ["POST", "/quotes/:id/decisions", ({ id, body }) => {
    const order = ownerOf("quotes", id); const quote = order.quotes.find((one) => one.id === id);
    if (quote.state !== "sent") return problem(409, "superseded", "A newer quote has gone out", { detail: "The owner answered the earlier one; both stay on the order." });
    quote.decision = { id: S.id(), quote_number: quote.number, recorded_by: me(), decided_at: now(), disputed_at: null, question: null, ...body };
    if (body.answer === "accepted" && order.stage === "approval") moveTo(order, "bench", "accepted", "accepted by the owner"); else touch(order, "order_changed", "the owner answered");
    return { status: 201, body: quote.decision };
  }],
  ["POST", "/decisions/:id/dispute", () => ({ body: {} })],
  ["POST", "/work-orders/:id/tests", ({ order, body }) => {
    const test = { id: S.id(), method: null, scope: null, where_words: null, finding_id: null, apart_from: [], note: null, by: me(), at: now(), ...body };
    order.tests.push(test);
    const needed = order.required_tests.find((one) => one.kind === body.kind);
    if (needed) needed.passed = body.verdict === "passed";
    if (order.stage === "leak_test" && body.verdict === "failed") moveTo(order, "bench", "test_failed", "failed");
    else if (order.stage === "leak_test" && order.required_tests.every((one) => one.passed)) moveTo(order, "pickup", "tests_passed", "passed");
    else touch(order, "order_changed", "has a test");
    return { status: 201, body: test };
  }],
  ["POST", "/work-orders/:id/handover", ({ order, body }) => { for (const one of order.accessories) one.returned = body.accessories_returned.includes(one.name); moveTo(order, "closed", body.how, body.how); return { body: whole(order) }; }],
  ["POST", "/work-orders/:id/done-at-counter", ({ order, body }) => {
    const total = body.operations.reduce((sum, one) => sum + Number(one.price.amount), 0);
    const allowed = Math.max(Number(order.authorised.amount), Number(body.handover.payment?.amount.amount ?? 0));
    if (total > allowed) return problem(409, "not-authorised", "Not authorised", { detail: `This costs ${total.toFixed(2)} and ${allowed.toFixed(2)} is allowed.` });
    for (const one of order.accessories) one.returned = body.handover.accessories_returned.includes(one.name);
    moveTo(order, "closed", body.handover.how, body.handover.how);
    return { body: whole(order) };
  }],
  ["PATCH", "/work-orders/:id", ({ order, body }) => { const { accessories, moved_because, ...rest } = body; Object.assign(order, rest, accessories === undefined ? {} : { accessories: accessories.map((name) => ({ name, returned: false })) }); touch(order, "order_amended", "put right"); return { body: whole(order) }; }],
  ["POST", "/work-orders/:id/payments", ({ order, body }) => { order.payments.push({ id: S.id(), note: null, at: now(), by: me(), ...body }); touch(order, "order_changed", "payment"); return { status: 201, body: order.payments.at(-1) }; }],
  ["POST", "/work-orders/:id/notes", ({ order, body }) => { order.notes.push({ id: S.id(), text: body.text, by: me(), at: now() }); touch(order, "order_changed", "has a note"); return { status: 201, body: order.notes.at(-1) }; }],
  ["POST", "/work-orders/:id/holds", ({ order, body }) => { order.holds.push({ id: S.id(), waits_for: "supplier", look_again_on: null, note: null, set_at: now(), lifted_at: null, ...body }); order.waits_for = "supplier"; touch(order, "order_changed", "held"); return { status: 201, body: order.holds.at(-1) }; }],
  ["DELETE", "/holds/:id", ({ id }) => { const order = ownerOf("holds", id); order.holds.find((one) => one.id === id).lifted_at = now(); order.waits_for = "shop"; touch(order, "order_changed", "hold lifted"); return { body: {} }; }],
  ["POST", "/work-orders/:id/links", ({ order, body }) => { order.links.push({ id: S.id(), purpose: body.purpose, issued_at: now(), withdrawn_at: null, expires_at: null }); touch(order, "order_changed", "link issued"); return { status: 201, body: { ...order.links.at(-1), url: "https://desk.millrace.example/status/8fKq2" } }; }],
  ["DELETE", "/links/:id", ({ id }) => { const order = ownerOf("links", id); order.links.find((one) => one.id === id).withdrawn_at = now(); touch(order, "order_changed", "link withdrawn"); return { status: 204 }; }],
  ["GET", "/letters/:id", ({ id }) => { const letter = ownerOf("letters", id).letters.find((one) => one.id === id); return { body: { letter, text: `Dear ${letter.to_name},\n\n${letter.subject}. We write again as soon as there is news.\n\nYou can follow it here:\nhttps://desk.millrace.example/status/8fKq2\n\nKind regards\nMillrace Instrument Repair\n`, html: "" } }; }],
  ["POST", "/letters/:id/send-again", ({ id }) => { const order = ownerOf("letters", id); Object.assign(order.letters.find((one) => one.id === id), { state: "waiting", state_reason: null }); touch(order, "order_changed", "letter goes out again"); return { body: {} }; }],
  ["GET", "/forecast", () => ({ body: forecast() })],
  ["POST", "/forecast", ({ body }) => ({ body: { as_of: now(), orders_before_count: 49, basis, orders: body.orders.map((one) => ({ family: one.family, ready_p50: twenty(3)[9], ready_p85: twenty(3)[16], ready_p95: twenty(3)[18], twenty: twenty(3), promise: null, largest_causes: [], dates: [], similar_cost: { count: 14, low: S.eur("180.00"), middle: S.eur("265.00"), high: S.eur("420.00") } })) } })],
  ["GET", "/board", () => ({ body: board(), etag: eventId })],
];

async function api(request, response, path, query) {
  const text = await new Promise((done) => { let all = ""; request.on("data", (piece) => (all += piece)).on("end", () => done(all)); });
  const body = text === "" ? {} : JSON.parse(text);
  for (const [method, pattern, work] of routes) {
    if (method !== request.method) continue;
    const match = new RegExp(`^${pattern.replaceAll(":id", "([^/]+)")}$`).exec(path);
    if (!match) continue;
    const id = match[1] === undefined ? undefined : decodeURIComponent(match[1]);
    const order = pattern.startsWith("/work-orders/:id") ? byNumber(id) : undefined;
    const answer = pattern.startsWith("/work-orders/:id") && !order ? problem(404, "absent", "There is no such work order") : work({ id, order, body, query, request });
    response.writeHead(answer.status ?? 200, { "Content-Type": "application/json", ...(answer.etag === undefined ? {} : { ETag: `"${answer.etag}"` }) });
    response.end(answer.body === undefined ? "" : JSON.stringify(answer.body));
    return;
  }
  response.writeHead(404, { "Content-Type": "application/problem+json" });
  response.end(JSON.stringify({ type: "absent", title: "There is nothing here", status: 404 }));
}

const TYPES = { ".html": "text/html; charset=utf-8", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml" };
async function file(response, path) {
  const wanted = normalize(path).replace(/^(\.\.[/\\])+/, "");
  const name = extname(wanted) === "" ? "index.html" : wanted;
  try {
    const bytes = await readFile(join(DIST, name));
    response.writeHead(200, { "Content-Type": TYPES[extname(name)] ?? "application/octet-stream", "Content-Security-Policy": POLICY });
    response.end(bytes);
  } catch {
    response.writeHead(404).end();
  }
}

createServer((request, response) => {
  const url = new URL(request.url, "http://localhost");
  if (url.pathname === "/api/v1/events") {
    response.writeHead(200, { "Content-Type": "text/event-stream", "Cache-Control": "no-store" });
    response.write(": hello\n\n");
    listeners.add(response);
    const beat = setInterval(() => response.write(": beat\n\n"), 15000);
    response.on("close", () => { listeners.delete(response); clearInterval(beat); });
  } else if (url.pathname.startsWith("/api/v1")) {
    void api(request, response, url.pathname.slice(7), url.searchParams);
  } else {
    void file(response, url.pathname);
  }
}).listen(PORT, "127.0.0.1", () => console.log(`mock on http://127.0.0.1:${PORT}, sign in with anything`));
