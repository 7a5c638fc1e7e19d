import type { NewWorkOrder, Quote, WorkOrder } from "../../../web-client/src/api/shapes";
import type { Desk } from "./desk";
import { picture } from "./drawn";
import type { OpenShop } from "./fixtures";
import { workingDay } from "./hours";
import { INES, RUI, TOMAS } from "./people";

type NewCustomer = NonNullable<NewWorkOrder["customer"]>;
type NewInstrument = NonNullable<NewWorkOrder["instrument"]>;
type Scene = { id: string; number: string };

type Family = NewInstrument["family"];

/** Where a crack is likely to be; the others are woodwinds, which have pads. */
const CRACKS: Partial<Record<Family, string>> = {
  trumpet: "bell bow", cornet: "bell bow", flugelhorn: "bell bow", trombone: "bell bow", horn: "bell throat", baritone: "upper branch", tuba: "upper branch",
};

/** One order in every state that a screen or a page looks different in. */
export type Scenes = {
  intake: Scene;
  diagnosis: Scene;
  undecided: Scene;
  draft: Scene;
  quoted: Scene & { answer: string };
  question: Scene & { answer: string };
  superseded: Scene & { answer: string };
  accepted: Scene & { answer: string; status: string };
  bench: Scene & { status: string };
  extra: Scene & { answer: string; status: string };
  held: Scene;
  /** Withdrawn while a slide is off: it has to be put together first. */
  apart: Scene;
  /** At the counter; somebody else is about to claim it. */
  contested: Scene;
  leakTest: Scene;
  pickup: Scene & { status: string };
  declined: Scene & { status: string };
  closed: Scene & { status: string };
  withdrawn: { status: string };
};

const eur = (amount: string) => ({ amount, currency: "EUR" });

/** Sets up the shop in the middle of a week: what each of its people would have done at their screens. */
export async function setScenes(shop: OpenShop): Promise<Scenes> {
  const [rui, ines, tomas] = await Promise.all([shop.desk(RUI), shop.desk(INES), shop.desk(TOMAS)]);
  const { marta } = shop;
  let brought = 0;
  await marta.amendShop({ test_settings: { leak_limits: [{ family: "bassoon", limit_pa_m3_s: 0.01 }], volumes: [{ family: "bassoon", volume_m3: 0.0026 }] } });

  async function checkIn(customer: NewCustomer, instrument: NewInstrument, complaint: string, more: Partial<NewWorkOrder> = {}): Promise<WorkOrder> {
    brought += 1;
    return rui.checkIn({
      customer: { phone: `0555 28${String(brought).padStart(2, "0")} 904`, ...customer },
      instrument,
      complaint,
      promised_on: workingDay(shop.moved, 1 + ((brought * 3) % 13)),
      accessories: ["case", "mouthpiece"],
      ...more,
    });
  }
  async function examined(by: Desk, order: WorkOrder): Promise<void> {
    await by.claim(order.id);
    await by.move(order.id, "diagnosis", "examination_begins");
  }
  /** Something that leaks and is to be repaired, with a step for it, and something that is left. */
  async function planned(by: Desk, order: WorkOrder): Promise<void> {
    await examined(by, order);
    const crack = CRACKS[order.instrument.family];
    const leak = await by.find(order.id, crack === undefined
      ? { kind: "leaking_pad", part: "pads", side: "G sharp", leaks: "yes" }
      : { kind: "crack", part: crack, side: "outer side", size_mm: "14", leaks: "yes", likely_to_spread: true });
    await by.amendFinding(leak.id, { disposition: "repair" }, leak.version);
    const kept = await by.find(order.id, { kind: "dent", part: crack === undefined ? "keys" : "bell", size_mm: "22", leaks: "no", note: "Old, does not change the sound" });
    await by.amendFinding(kept.id, { disposition: "leave_and_watch", disposition_reason: "The owner wishes it" }, kept.version);
    await by.plan(order.id, crack === undefined
      ? { title: "Replace the pads and regulate", heat: "none", finding_ids: [leak.id], minutes: { low: 35, typical: 50, high: 90 }, price: eur("62.00") }
      : { title: `Braze the crack, ${crack}`, heat: "braze", finding_ids: [leak.id], minutes: { low: 35, typical: 50, high: 90 }, price: eur("62.00") });
    await by.plan(order.id, { title: "Chemical clean and oil", heat: "none", finding_ids: [], minutes: { low: 40, typical: 60, high: 90 }, price: eur("68.00") });
  }
  async function drafted(by: Desk, order: WorkOrder): Promise<Quote> {
    const { operations } = await by.order(order.id);
    return by.draft(order.id, {
      message: "It leaks, and it will get worse. Repaired, it holds for good.",
      lines: [
        ...operations.map((step) => ({ kind: "labour" as const, text: step.title, quantity: "1", unit_price: step.price.amount, tax_class: "standard", operation_id: step.id })),
        { kind: "labour", text: "Polish the bell by hand", quantity: "1", unit_price: "40.00", tax_class: "standard", optional: true },
      ],
      limit: eur("210.00"),
    });
  }
  async function quoted(by: Desk, order: WorkOrder): Promise<Quote> {
    await planned(by, order);
    const draft = await drafted(by, order);
    await by.send(order.id, draft.id);
    return (await by.order(order.id)).quotes.find((one) => one.id === draft.id) ?? draft;
  }
  async function accepted(by: Desk, order: WorkOrder): Promise<void> {
    await rui.answer(await quoted(by, order), "accepted", order.customer.name);
  }
  async function allDone(by: Desk, order: WorkOrder): Promise<void> {
    for (const step of (await by.order(order.id)).operations.filter((one) => one.state !== "done")) {
      await by.clock(step.id, "start");
      await by.clock(step.id, "done");
    }
  }
  async function tested(by: Desk, order: WorkOrder): Promise<void> {
    await allDone(by, order);
    await by.move(order.id, "leak_test", "bench_done");
    for (const { kind } of (await by.order(order.id)).required_tests) {
      await by.test(order.id, { kind, method: kind === "leak_test" ? "bubbles" : "played", verdict: "passed" });
    }
  }
  const scene = (order: WorkOrder) => ({ id: order.id, number: order.claim_number });
  const link = async (order: WorkOrder, purpose: "answer" | "status") => (await rui.link(order.id, purpose)).url ?? "";

  const intake = await checkIn({ name: "Ada Lund", email: "ada@lund.example" }, { family: "trumpet", maker: "Corvane", model: "Lyra 2", serial_number: "20411", finish: "lacquered" }, "Third slide is stuck since the summer", {
    counter_marks: [{ part: "bell", kind: "dent" }, { part: "leadpipe", kind: "scratch" }],
    condition_note: "Lacquer worn at the left hand",
    keep_as_is: "The engraving",
    may_cost: eur("60.00"),
  });
  const diagnosis = await checkIn({ name: "Bo Kerr", email: "bo@kerr.example" }, { family: "clarinet", maker: "Ostrel", serial_number: "5520" }, "Low notes do not speak");
  await examined(ines, diagnosis);
  await marta.note(diagnosis.id, "He needs it for the concert on the 19th");

  const undecided = await checkIn({ name: "Cleo Amaral", email: "cleo@amaral.example" }, { family: "baritone", maker: "Corvane", age_text: "about 1925" }, "Hisses on low notes");
  await examined(ines, undecided);
  await ines.find(undecided.id, { kind: "crack", part: "upper branch", side: "outer side", size_mm: "14", leaks: "yes", likely_to_spread: true });
  await ines.find(undecided.id, { kind: "open_joint", part: "bell brace", side: "upper foot", leaks: "no", note: "Loose, rattles" });
  const dent = await ines.find(undecided.id, { kind: "dent", part: "bell", size_mm: "22", leaks: "no", note: "Old; does not change the sound" });
  await ines.amendFinding(dent.id, { disposition: "another_visit", disposition_reason: "The owner wishes it" }, dent.version);

  const draft = await checkIn({ name: "Dora Nilsen", email: "dora@nilsen.example" }, { family: "cornet", maker: "Tamsel" }, "Leaks somewhere");
  await planned(tomas, draft);
  await drafted(tomas, draft);

  const inQuote = await checkIn({ name: "Edda Brandt", email: "edda@brandt.example" }, { family: "tuba", maker: "Harrow", model: "Nº 4" }, "Fell down the stairs, case and all");
  await quoted(tomas, inQuote);
  const asking = await checkIn({ name: "Fay Okoro", email: "fay@okoro.example" }, { family: "horn", maker: "Ostrel" }, "Rattles in the wrap");
  await rui.answer(await quoted(ines, asking), "questions", "Fay Okoro", "Will the lacquer look different where it was brazed?");
  const renewed = await checkIn({ name: "Gil Santos", email: "gil@santos.example" }, { family: "flugelhorn", maker: "Tamsel" }, "Valves are slow");
  await quoted(ines, renewed);
  const oldLink = await link(renewed, "answer");
  const newer = await drafted(ines, renewed);
  await ines.send(renewed.id, newer.id);
  const inAccepted = await checkIn({ name: "Hana Weiss", email: "hana@weiss.example" }, { family: "trombone", maker: "Harrow" }, "Slide scrapes");
  await accepted(tomas, inAccepted);
  const inBench = await checkIn({ name: "Ida Maro", email: "ida@maro.example" }, { family: "baritone", maker: "Corvane", serial_number: "88-104" }, "Hisses, and the water key drips");
  await accepted(ines, inBench);
  const [first, second] = (await ines.order(inBench.id)).operations;
  if (first !== undefined && second !== undefined) {
    await ines.clock(first.id, "start");
    await ines.clock(first.id, "done");
  }
  const inExtra = await checkIn({ name: "Jon Vik", email: "jon@vik.example" }, { family: "baritone", maker: "Corvane" }, "Leaks at the bow");
  await accepted(tomas, inExtra);
  const crack = await tomas.find(inExtra.id, { kind: "crack", part: "bottom bow", size_mm: "9", leaks: "yes" });
  await tomas.amendFinding(crack.id, { disposition: "repair" }, crack.version);
  await tomas.photo(inExtra.id, { finding_id: crack.id, caption: "under the old solder", shared: true }, picture(800, 600));
  await tomas.photo(inExtra.id, { caption: "the case as it came" }, picture(300, 400));
  const patch = await tomas.plan(inExtra.id, { title: "Patch the crack on the bottom bow", heat: "braze", finding_ids: [crack.id], minutes: { low: 40, typical: 60, high: 110 }, price: eur("120.00") });
  const before = (await tomas.order(inExtra.id)).quotes.find((one) => one.state !== "draft");
  const more = await tomas.draft(inExtra.id, {
    message: "It was hidden under old solder.",
    lines: [
      ...(before?.lines ?? []).map(({ is_new: _, irreversible: _i, ...line }) => line),
      { kind: "labour", text: patch.title, quantity: "1", unit_price: "120.00", tax_class: "standard", operation_id: patch.id },
    ],
    limit: eur("330.00"),
  });
  await tomas.send(inExtra.id, more.id);
  const held = await checkIn({ name: "Kit Moran", email: "kit@moran.example" }, { family: "oboe", maker: "Ostrel" }, "A key is broken");
  await accepted(tomas, held);
  await tomas.hold(held.id, { reason: "parts", look_again_on: workingDay(shop.moved, 4), supplier: "Ostrel", order_number: "5512", note: "Key" });
  const apart = await checkIn({ name: "Una Brook", email: "una@brook.example" }, { family: "flugelhorn", maker: "Harrow" }, "A slide is frozen");
  await examined(ines, apart);
  const stuck = await ines.find(apart.id, { kind: "slide", part: "tuning slide", leaks: "no" });
  await ines.amendFinding(stuck.id, { disposition: "repair" }, stuck.version);
  const off = await ines.plan(apart.id, { title: "Take the valves and slides out", kind: "take_apart", heat: "none", finding_ids: [stuck.id], minutes: { low: 10, typical: 15, high: 25 }, price: eur("20.00") });
  await ines.plan(apart.id, { title: "Free the slide", heat: "none", finding_ids: [stuck.id], minutes: { low: 20, typical: 30, high: 60 }, price: eur("38.00") });
  await ines.plan(apart.id, { title: "Put it together", kind: "put_together", heat: "none", finding_ids: [stuck.id], minutes: { low: 10, typical: 15, high: 25 }, price: eur("0.00") });
  const ofApart = await drafted(ines, apart);
  await ines.send(apart.id, ofApart.id);
  const sentApart = (await ines.order(apart.id)).quotes.find((one) => one.id === ofApart.id);
  if (sentApart !== undefined) await rui.answer(sentApart, "accepted", "Una Brook");
  await ines.clock(off.id, "start");
  await ines.clock(off.id, "done");
  await rui.end(apart.id, "withdrawn", "She has found another instrument");
  const contested = await checkIn({ name: "Vera Holt", email: "vera@holt.example" }, { family: "clarinet", maker: "Tamsel" }, "The G sharp key sticks");
  const inTest = await checkIn({ name: "Lea Boyd" }, { family: "bassoon", maker: "Tamsel" }, "Leaks at the boot");
  await accepted(ines, inTest);
  await allDone(ines, inTest);
  await ines.move(inTest.id, "leak_test", "bench_done");
  const pinned = (await ines.order(inTest.id)).findings[0];
  await ines.test(inTest.id, { kind: "leak_test", method: "bubbles", verdict: "failed", where_words: "Still a bubble at its lower end", ...(pinned === undefined ? {} : { finding_id: pinned.id }) });
  await allDone(ines, inTest);
  await ines.move(inTest.id, "leak_test", "bench_done");
  const ready = await checkIn({ name: "Mia Castell", email: "mia@castell.example" }, { family: "saxophone", maker: "Harrow", serial_number: "M 7702" }, "Sticky G sharp", { accessories: ["case", "mouthpiece", "strap"] });
  await accepted(tomas, ready);
  await tested(tomas, ready);
  const refused = await checkIn({ name: "Noa Field", email: "noa@field.example" }, { family: "flute", maker: "Tamsel" }, "Pads are old", { examination_fee: eur("25.00") });
  await rui.answer(await quoted(ines, refused), "declined", "Noa Field");
  const gone = await checkIn({ name: "Ora Lindqvist", email: "ora@lindqvist.example" }, { family: "trumpet", maker: "Harrow" }, "Dented bell");
  await accepted(ines, gone);
  await tested(ines, gone);
  const { due } = (await rui.order(gone.id)).money;
  await rui.handOver(gone.id, { how: "collected", collected_by: "Ora Lindqvist", accessories_returned: ["case", "mouthpiece"], payment: { amount: due, how: "card" } });
  await checkIn({ kind: "school", name: "Harbour School", email: "office@harbour-school.example" }, { family: "horn", owners_number: "7" }, "Spring inspection");
  // Somebody has one running clock, so this one is started when all other work of hers is done.
  if (second !== undefined) await ines.clock(second.id, "start");
  const gave = await rui.link(intake.id, "status");
  await rui.withdraw(gave);

  return {
    intake: scene(intake),
    diagnosis: scene(diagnosis),
    undecided: scene(undecided),
    draft: scene(draft),
    quoted: { ...scene(inQuote), answer: await link(inQuote, "answer") },
    question: { ...scene(asking), answer: await link(asking, "answer") },
    superseded: { ...scene(renewed), answer: oldLink },
    accepted: { ...scene(inAccepted), answer: "", status: await link(inAccepted, "status") },
    bench: { ...scene(inBench), status: await link(inBench, "status") },
    extra: { ...scene(inExtra), answer: await link(inExtra, "answer"), status: await link(inExtra, "status") },
    held: scene(held),
    apart: scene(apart),
    contested: scene(contested),
    leakTest: scene(inTest),
    pickup: { ...scene(ready), status: await link(ready, "status") },
    declined: { ...scene(refused), status: await link(refused, "status") },
    closed: { ...scene(gone), status: await link(gone, "status") },
    withdrawn: { status: gave.url ?? "" },
  };
}
