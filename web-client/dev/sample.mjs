// An invented shop with some sixty orders, for looking at the client without a server. All people,
// makers and places are made up.

const DAMM = [
  [0, 3, 1, 7, 5, 9, 8, 6, 4, 2], [7, 0, 9, 2, 1, 5, 4, 8, 6, 3], [4, 2, 0, 6, 8, 7, 1, 3, 5, 9],
  [1, 7, 5, 0, 9, 8, 3, 4, 2, 6], [6, 1, 2, 3, 0, 4, 5, 9, 7, 8], [3, 6, 7, 4, 2, 0, 9, 5, 8, 1],
  [5, 8, 6, 9, 7, 2, 0, 1, 3, 4], [8, 9, 4, 5, 3, 6, 2, 0, 1, 7], [9, 4, 3, 8, 6, 1, 7, 2, 0, 5],
  [2, 5, 8, 1, 4, 3, 6, 7, 9, 0],
];
export const claimNumber = (n) => `${n}-${[...String(n)].reduce((at, digit) => DAMM[at][Number(digit)], 0)}`;

let counter = 0;
export const id = () => `00000000-0000-7000-8000-${String(++counter).padStart(12, "0")}`;

const day = (date) => date.toISOString().slice(0, 10);
export const plus = (date, days) => day(new Date(Date.parse(`${date}T12:00:00Z`) + days * 86400000));
export const today = day(new Date());
const weekday = (date) => new Date(`${date}T12:00:00Z`).getUTCDay();
export const isOpen = (date) => weekday(date) % 6 !== 0;
export const openDays = (() => {
  const days = [];
  for (let d = today; days.length < 60; d = plus(d, 1)) if (isOpen(d)) days.push(d);
  return days;
})();
const workingDay = (n) => {
  if (n >= 0) return openDays[n];
  let d = today;
  for (let left = -n; left > 0;) { d = plus(d, -1); if (isOpen(d)) left -= 1; }
  return d;
};
export const ago = (days, hours = 0) => new Date(Date.now() - days * 86400000 - hours * 3600000).toISOString();
export const eur = (amount) => ({ amount, currency: "EUR" });

export const shop = {
  name: "Millrace Instrument Repair", version: 3, time_zone: "Europe/Berlin", currency: "EUR", phone: "030 555 0100",
  email: "desk@millrace.example", address: "Millrace 4, 10115 Berlin", language: "en",
  tax_classes: [{ id: "standard", percent: "19" }, { id: "reduced", percent: "7" }], prices_include_tax: true,
  labour_rate: eur("64.00"), calendar: { time_zone: "Europe/Berlin", weekly: Object.fromEntries(["monday", "tuesday", "wednesday", "thursday", "friday"].map((one) => [one, [{ from: "09:00", to: "12:30" }, { from: "13:30", to: "18:00" }]])), closed: [], extra_days: [] }, quote_days: 14, terms: "",
};
export const people = [
  { id: id(), name: "Mara Voss", initials: "MV", email: "mara@millrace.example", roles: ["proprietor", "technician", "front_desk"], is_active: true, version: 1 },
  { id: id(), name: "Tomas Iyer", initials: "TI", email: "tomas@millrace.example", roles: ["technician"], is_active: true, version: 1 },
  { id: id(), name: "Ines Calder", initials: "IC", email: "ines@millrace.example", roles: ["technician", "front_desk"], is_active: true, version: 1 },
];
export const ref = ({ id, name, initials }) => ({ id, name, initials });

const PARTS = {
  brass: ["bell", "bell bow", "bell brace", "bottom bow", "upper branch", "lower branch", "valve casings", "first valve slide", "second valve slide", "third valve slide", "tuning slide", "leadpipe", "mouthpiece receiver", "water key", "valves"],
  wood: ["barrel", "upper joint", "lower joint", "bell", "centre tenon", "tenon corks", "pads", "keys", "springs", "rods and posts", "tone holes"],
};
export const families = ["trumpet", "cornet", "flugelhorn", "horn", "trombone", "baritone", "tuba", "flute", "clarinet", "oboe", "bassoon", "saxophone", "other"]
  .map((family, at) => ({ family, parts: PARTS[at < 7 ? "brass" : "wood"].map((label) => ({ name: label.replaceAll(" ", "_"), label })) }));

export const methods = [
  { id: id(), name: "Braze a crack", heat: "braze", irreversible: false, minutes: { low: 35, typical: 45, high: 60 }, price: eur("85.00"), cautions: ["torch", "flux-fume"] },
  { id: id(), name: "Soft-solder a joint", heat: "solder", irreversible: false, minutes: { low: 10, typical: 15, high: 25 }, price: eur("28.00"), cautions: [] },
  { id: id(), name: "Unsolder a brace", heat: "solder", irreversible: false, minutes: { low: 10, typical: 14, high: 20 }, price: eur("22.00"), cautions: ["lead"] },
  { id: id(), name: "Free a stuck slide", heat: "none", irreversible: false, minutes: { low: 10, typical: 20, high: 60 }, price: eur("30.00"), cautions: [] },
  { id: id(), name: "Remove dents", heat: "none", irreversible: false, minutes: { low: 15, typical: 30, high: 60 }, price: eur("32.00"), cautions: [] },
  { id: id(), name: "Strip and relacquer", heat: "none", irreversible: true, minutes: { low: 120, typical: 180, high: 300 }, price: eur("240.00"), cautions: [] },
  { id: id(), name: "Replace a pad", heat: "none", irreversible: false, minutes: { low: 10, typical: 15, high: 20 }, price: eur("18.00"), cautions: [] },
];
export const places = ["rack A", "rack B", "shelf by the door", "tray 4", "tray 7", "bench 1"].map((name) => ({ id: id(), name }));

const customer = (name, kind, phone, visits) => ({
  id: id(), version: 1, kind, name, email: phone.endsWith("7") ? null : `${name.split(" ").at(-1).toLowerCase().normalize("NFD").replaceAll(/[^a-z]/g, "")}@post.example`,
  phone, language: "en", mail_wanted: kind === "school" ? "only_when_asked" : "every_change", note: null, visits_count: visits,
});
export const customers = [
  customer("Jonas Lund", "person", "555 0142", 3), customer("Hollin Bridge School", "school", "555 0148", 31),
  customer("Petra Novotná", "person", "555 0151", 1), customer("Rui Ferreira", "person", "555 0163", 6),
  customer("Ida Wrobel", "person", "555 0177", 2), customer("Ola Brandvold", "person", "555 0182", 4),
  customer("St. Alban Band", "school", "555 0190", 12), customer("Lena Imhof", "person", "555 0204", 1),
  customer("Ama Mbeki", "person", "555 0219", 2), customer("Dora Szabó", "person", "555 0223", 5),
  customer("Luc Delacroix", "person", "555 0238", 1), customer("Kati Tamm", "person", "555 0246", 2),
  customer("Sami Haddad", "person", "555 0255", 3), customer("Nora Larkin", "person", "555 0261", 1),
  customer("Ana Ruiz-Ortega", "person", "555 0274", 8), customer("Bea Thistle", "person", "555 0280", 2),
  customer("Finn O’Dowd", "person", "555 0297", 1), customer("Eli Vance", "person", "555 0302", 2),
  customer("Ida Gammelgaard", "person", "555 0318", 1), customer("Corner Horns", "dealer", "555 0325", 22),
];
const makers = ["Halvane", "Corrick", "Osterholt", "Dunmere", "Bellacq", "Tresk"];
export const instruments = [];
export const orders = [];

const STAGES = ["intake", "diagnosis", "approval", "bench", "leak_test", "pickup"];
const COUNTS = [6, 9, 13, 18, 3, 11];
const FAMILIES = ["trumpet", "tuba", "trombone", "cornet", "bassoon", "horn", "flute", "oboe", "baritone", "saxophone", "clarinet", "flugelhorn"];
const COMPLAINTS = ["Third valve sticks, and it hisses near the bottom.", "Fell off a chair, bell is bent.", "Low notes do not speak.", "Yearly look, please.", "Slide has not moved since winter."];
const WAITING = {
  shop: "Waits for a free hand at the bench", customer: "Owner has not answered the quote since Tuesday", supplier: "Away at the plater’s, back on Friday",
};

let random = 7;
const pick = (n) => (random = (random * 16807) % 2147483647) % n;

STAGES.forEach((stage, at) => {
  for (let i = 0; i < COUNTS[at]; i += 1) {
    const owner = customers[pick(customers.length)];
    const family = FAMILIES[pick(FAMILIES.length)];
    const maker = makers[pick(makers.length)];
    const instrument = {
      id: id(), version: 1, owner: { id: owner.id, name: owner.name }, family, maker, model: null, serial_number: String(2000 + pick(30000)),
      age_text: pick(3) === 0 ? `about ${1920 + pick(60)}` : null, finish: pick(2) ? "lacquered brass" : "silver plate", owners_number: null, last_here_on: pick(2) ? "2024-10-07" : null,
    };
    instruments.push(instrument);
    const reach = [[7, 30], [4, 26], [-1, 24], [-1, 11], [0, 5], [-3, 3]][at];
    const promised = workingDay(reach[0] + pick(reach[1] - reach[0]));
    const held = stage === "bench" && i % 4 === 3;
    const waits_for = held ? "supplier" : stage === "approval" || stage === "pickup" ? "customer" : "shop";
    const claimed = (stage === "bench" || stage === "leak_test" || stage === "diagnosis") && pick(5) > 0 ? people[pick(3)] : null;
    orders.push(makeOrder(1790 + orders.length, { stage, owner, instrument, promised, waits_for, held, claimed, since: ago(pick(stage === "pickup" ? 20 : 9), pick(8)) }));
  }
});

export function makeOrder(n, { stage, owner, instrument, promised, waits_for = "shop", held = false, claimed = null, since = new Date().toISOString(), payer = owner, ...rest }) {
  const contact = ({ id, name, kind, email, phone, mail_wanted, language }) => ({ id, name, kind, email, phone, mail_wanted, language });
  return {
    id: id(), claim_number: claimNumber(n), version: 4, stage, stage_since: since, waits_for, waiting_words: WAITING[waits_for], promised_on: promised,
    complaint: COMPLAINTS[pick(COMPLAINTS.length)], condition_note: null, keep_as_is: null,
    accessories: [{ name: "case", returned: false }, { name: "mouthpiece", returned: false }], counter_marks: [{ id: id(), part: "bell", kind: "dent" }],
    may_cost: pick(2) ? eur("150.00") : null, examination_fee: eur("25.00"), authorised: eur("150.00"), place: places[pick(places.length)].name,
    checked_in_at: ago(9), checked_in_by: ref(people[2]), customer: contact(owner), owner: contact(payer), instrument,
    claimed_by: claimed && ref(claimed), claimed_at: claimed && since, ending: null, open_question: null,
    holds: held ? [{ id: id(), reason: "outside_work", waits_for: "supplier", look_again_on: workingDay(3), note: "plater, order 114", set_at: ago(2), lifted_at: null }] : [],
    findings: [], photos: [], operations: [], quotes: [], tests: [], required_tests: [{ kind: "leak_test", passed: false }, { kind: "play_test", passed: false }],
    stage_changes: [{ id: id(), from: null, to: "intake", because: "checked_in", words: "checked in", reason: null, at: ago(9), by: people[2].name }],
    changes: [], loaner_number: null, loaner_back_at: null, old_parts_back: false,
    letters: [], links: [], notes: [], payments: [], money: { total: eur("0.00"), paid: eur("0.00"), due: eur("0.00") }, moves: [],
    ...rest,
  };
}

// One order with everything on it.
{
  const owner = customers[0];
  const instrument = { id: id(), version: 1, owner: { id: owner.id, name: owner.name }, family: "baritone", maker: "Halvane", model: null, serial_number: "4417", age_text: "about 1925", finish: "lacquered brass", owners_number: null, last_here_on: "2024-10-07" };
  const second = { ...instrument, id: id(), family: "cornet", maker: "Corrick", serial_number: "20883", age_text: null, last_here_on: null };
  instruments.push(instrument, second);
  const finding = (number, kind, part, more) => ({
    id: id(), number, version: 1, kind, part, side: null, position_mm: null, size_mm: null, leaks: "not_tested", likely_to_spread: false, found_when: "first_examination",
    disposition: "repair", disposition_reason: null, note: null, shared: true, struck_reason: null, found_by: ref(people[0]), found_at: ago(2), suggestion: { disposition: "repair", reason: "It leaks." }, ...more,
  });
  const findings = [
    finding(1, "crack", "upper_branch", { size_mm: "14", leaks: "yes", position_mm: "120", note: "34 mm from the bell brace" }),
    finding(2, "earlier_repair", "bottom_bow", { leaks: "no", disposition: "leave_and_watch", note: "patch; look again at every visit", suggestion: { disposition: "leave_and_watch", reason: "Does not leak, carries no load." } }),
    finding(3, "open_joint", "bell_brace", { side: "upper foot" }),
    finding(4, "dent", "bottom_bow", { size_mm: "6", disposition: "another_visit", disposition_reason: "The owner wishes it" }),
    finding(5, "slide", "tuning_slide", { note: "freed yesterday" }),
    finding(6, "lacquer_loss", "bell", { disposition: "declined", disposition_reason: "patina is to stay" }),
    finding(7, "crack", "bottom_bow", { size_mm: "22", leaks: "yes", likely_to_spread: true, found_when: "on_the_bench", disposition: "undecided", found_at: ago(0, 2), note: "under the old patch", suggestion: { disposition: "repair", reason: "Leaks; the patch carries load." } }),
  ];
  const operation = (number, title, more) => ({
    id: id(), number, version: 1, title, kind: "work", method_id: null, tax_class: "standard", accepted: true, heat: "none", irreversible: false, finding_ids: [], after: [], minutes: { low: 10, typical: 15, high: 20 }, price: eur("22.00"),
    state: "planned", may_start: true, why_not: null, actual_minutes: 0, running: null, claimed_by: null, rework_count: 0, waits_for_answer: false, to_check: false, struck_reason: null, ...more,
  });
  const unsolder = operation(1, "Unsolder the bell brace", { kind: "take_apart", heat: "solder", finding_ids: [findings[2].id], state: "done", actual_minutes: 18 });
  const braze = operation(2, "Braze crack 1, upper branch", { method_id: methods[0].id, heat: "braze", finding_ids: [findings[0].id], after: [unsolder.id], minutes: { low: 35, typical: 45, high: 60 }, price: eur("85.00"), state: "running", actual_minutes: 12, claimed_by: ref(people[0]), running: { by: ref(people[0]), since: new Date(Date.now() - 1421000).toISOString() } });
  const patch = operation(3, "Braze crack under the patch", { heat: "braze", finding_ids: [findings[6].id], minutes: { low: 30, typical: 45, high: 70 }, price: eur("95.00"), may_start: false, why_not: "Waits for the owner since yesterday.", waits_for_answer: true });
  const back = operation(4, "Solder the bell brace back", { kind: "put_together", heat: "solder", finding_ids: [findings[2].id], after: [braze.id, patch.id], minutes: { low: 15, typical: 20, high: 25 }, price: eur("28.00"), may_start: false, why_not: "After steps 2 and 3." });
  const slide = operation(5, "Free the tuning slide", { finding_ids: [findings[4].id], price: eur("30.00"), state: "done", actual_minutes: 25, rework_count: 1 });
  const line = (operation, more) => ({ id: id(), kind: "labour", text: operation.title, quantity: "1", unit_price: operation.price.amount, tax_class: "standard", discount_percent: null, optional: false, operation_id: operation.id, irreversible: false, is_new: false, ...more });
  const totals = (lines) => {
    const sum = (lines.filter((one) => !one.optional).reduce((cents, one) => cents + Math.round(Number(one.unit_price) * Number(one.quantity) * 100), 0) / 100).toFixed(2);
    const net = (Number(sum) / 1.19).toFixed(2);
    return { lines: lines.filter((one) => !one.optional).map((one) => ({ amount: eur(one.unit_price), after_discount: eur(one.unit_price) })), tax_classes: [{ id: "standard", net: eur(net), tax: eur((Number(sum) - Number(net)).toFixed(2)), gross: eur(sum) }], net: eur(net), tax: eur((Number(sum) - Number(net)).toFixed(2)), total: eur(sum) };
  };
  const first = [line(unsolder), line(braze), line(back), line(slide), { ...line(slide), id: id(), text: "Polish the bell, by hand", operation_id: null, unit_price: "40.00", optional: true, irreversible: true }];
  const extra = [...first, line(patch, { is_new: true })];
  const quotes = [
    { id: id(), version: 2, number: 1, state: "superseded", is_extra: false, message: "The slide is free again. The crack in the upper branch leaks.", lines: first, discount: null, totals: totals(first), total_with_optional: eur("205.00"), limit: eur("240.00"), expires_on: workingDay(8), content_hash: "a1", sent_at: ago(6), sent_by: ref(people[0]), seen_at: ago(5), struck_reason: null,
      decision: { id: id(), quote_number: 1, answer: "accepted", how: "link", typed_name: "Jonas Lund", recorded_by: null, decided_at: ago(5), chosen_lines: [], accepted_by_name: [], question: null, disputed_at: null } },
    { id: id(), version: 2, number: 2, state: "sent", is_extra: true, message: "Under the old patch there is a second crack.", lines: extra, discount: null, totals: totals(extra), total_with_optional: eur("300.00"), limit: eur("340.00"), expires_on: workingDay(8), content_hash: "b2", sent_at: ago(1), sent_by: ref(people[0]), seen_at: ago(0, 20), struck_reason: null, decision: null },
  ];
  const wanted = orders.find((one) => one.claim_number === claimNumber(1843));
  Object.assign(wanted, makeOrder(1843, { stage: "bench", owner, instrument, promised: workingDay(3), claimed: people[0], since: ago(3) }), {
    id: wanted.id, complaint: "Hard to blow since the spring, hisses near the bottom. Was my grandfather’s, please keep the marks.", keep_as_is: "engraving on the bell, patina",
    accessories: [{ name: "case, brown", returned: false }, { name: "mouthpiece", returned: false }, { name: "oil", returned: false }],
    counter_marks: [{ id: id(), part: "bell", kind: "dent" }, { id: id(), part: "bell", kind: "lacquer_gone" }, { id: id(), part: "tuning_slide", kind: "stuck" }],
    may_cost: eur("150.00"), authorised: eur("240.00"), findings, operations: [unsolder, braze, patch, back, slide], quotes,
    waiting_words: "Mara Voss is at step 2; step 3 waits for the owner",
    tests: [{ id: id(), kind: "leak_test", method: "finger_and_blow", scope: "whole instrument", verdict: "failed", where_words: "third valve slide", finding_id: findings[6].id, apart_from: [], note: null, by: ref(people[2]), at: ago(1, 3) }],
    stage_changes: [["pickup", null, "intake", "checked_in", "checked in", 9, 2], ["", "intake", "diagnosis", "examination_begins", "examination begins", 8, 0], ["", "diagnosis", "approval", "quote_sent", "quote sent", 6, 0], ["", "approval", "bench", "accepted", "accepted", 5, null]]
      .map(([, from, to, because, words, days, by]) => ({ id: id(), from, to, because, words, reason: null, at: ago(days), by: by === null ? owner.name : people[by].name })),
    letters: [
      { id: id(), kind: "receipt", subject: "Your baritone is with us: 1843-8", to_name: owner.name, to_email: owner.email, state: "sent", state_reason: null, queued_at: ago(9), sent_at: ago(9), attempts: 1, next_try_at: null },
      { id: id(), kind: "quote", subject: "What we found on your baritone", to_name: owner.name, to_email: owner.email, state: "sent", state_reason: null, queued_at: ago(6), sent_at: ago(6), attempts: 1, next_try_at: null },
      { id: id(), kind: "extra_work", subject: "A second crack in your baritone", to_name: owner.name, to_email: owner.email, state: "bounced", state_reason: "the mailbox is full", queued_at: ago(1), sent_at: null, attempts: 3, next_try_at: null },
    ],
    links: [{ id: id(), purpose: "status", issued_at: ago(9), withdrawn_at: null, expires_at: null }, { id: id(), purpose: "answer", issued_at: ago(1), withdrawn_at: null, expires_at: null }],
    notes: [{ id: id(), text: "Owner plays on the 20th, would like it back before.", by: ref(people[2]), at: ago(4) }],
    payments: [{ id: id(), amount: eur("50.00"), kind: "deposit", how: "card", note: null, at: ago(5), by: ref(people[2]) }],
    money: { total: eur("165.00"), paid: eur("50.00"), due: eur("115.00") },
  });
}
