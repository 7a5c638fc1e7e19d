import { describe, expect, test } from "vitest";
import type { Shop } from "../api/shapes";
import { differencesIn, draftOf, draftOver, readDays, readShop, type ShopDraft } from "./shop-draft";

const SHOP: Shop = {
  name: "Millrace Instrument Repair", address: "Millrace 4", phone: "030 555 0100", email: "desk@millrace.example", language: "en",
  time_zone: "Europe/Berlin", currency: "EUR",
  calendar: { time_zone: "Europe/Berlin", weekly: { monday: [{ from: "09:00", to: "18:00" }] }, closed: [{ from: "2026-12-24", to: "2027-01-02" }], extra_days: [] } as object as Shop["calendar"],
  tax_classes: [{ id: "standard", percent: "19" }, { id: "reduced", percent: "7" }], prices_include_tax: true,
  labour_rate: { amount: "64.00", currency: "EUR" }, quote_days: 14, quote_reminder_days: [7, 14], pickup_reminder_days: [7, 21, 60], terms: "", test_settings: {}, care_notes: [], version: 3,
};
const read = (change: Partial<ShopDraft>) => readShop({ ...draftOf(SHOP), ...change }, SHOP);

describe("the shop’s settings", () => {
  test("send nothing where nothing was changed", () => {
    expect(read({})).toEqual({ edit: {} });
  });
  test("send only what was changed", () => {
    expect(read({ phone: " 030 555 0111 ", labour_rate: "70", quote_days: "21", terms: "Collect within a year." })).toEqual({
      edit: { phone: "030 555 0111", labour_rate: "70.00", quote_days: 21, terms: "Collect within a year." },
    });
  });
  test("reminder days are read however they are parted, and can be none", () => {
    expect(read({ quote_reminder_days: "5;10 14", pickup_reminder_days: "" })).toEqual({ edit: { quote_reminder_days: [5, 10, 14], pickup_reminder_days: [] } });
    expect(read({ quote_reminder_days: " 7 ,14 " })).toEqual({ edit: {} });
    for (const bad of ["0", "366", "7, 7", "14, 7", "7.5", "-7", "soon", "1 2 3 4 5 6 7 8 9 10 11"]) expect(readDays(bad), bad).toBeUndefined();
  });
  test("a changed day sends the whole calendar, with the closings that stay", () => {
    expect(read({ hours: { ...draftOf(SHOP).hours, monday: "9-12, 13-18", saturday: "10-14" } })).toEqual({ edit: { calendar: {
      time_zone: "Europe/Berlin",
      weekly: { monday: [{ from: "09:00", to: "12:00" }, { from: "13:00", to: "18:00" }], saturday: [{ from: "10:00", to: "14:00" }] },
      closed: [{ from: "2026-12-24", to: "2027-01-02" }], extra_days: [],
    } } });
  });
  test("say everything that is wrong", () => {
    const { hours } = draftOf(SHOP);
    expect(read({
      name: " ", labour_rate: "much", quote_days: "0", quote_reminder_days: "14, 7", pickup_reminder_days: "soon", hours: { ...hours, friday: "18-9" }, closed: [{ from: "2026-12-24", to: "2026-12-23" }],
      extra_days: [{ date: "2026-12-19", hours: "10-14" }, { date: "2026-12-19", hours: "" }],
      tax_classes: [{ id: "standard", percent: "101" }, { id: "standard", percent: "7" }],
    })).toEqual({ faults: [
      { field: "name" }, { field: "labour_rate" }, { field: "quote_days" }, { field: "quote_reminder_days" }, { field: "pickup_reminder_days" }, { field: "tax_classes", at: 0 }, { field: "tax_classes", at: 1 },
      { field: "hours", day: "friday" }, { field: "closed", at: 0 }, { field: "extra_days", at: 1 },
    ] });
  });
  test("name what somebody else changed meanwhile, and nothing else", () => {
    const theirs: Shop = { ...SHOP, version: 4, phone: "030 555 0199", terms: "Theirs", labour_rate: { amount: "66.00", currency: "EUR" } };
    expect(differencesIn({ phone: "030 555 0111", labour_rate: "66.00", quote_days: 21 }, SHOP, theirs)).toEqual([
      { field: "phone", yours: "030 555 0111", theirs: "030 555 0199" },
    ]);
  });
});

test("what is typed stays when a sheet beside it is saved; where both changed a field the save has to ask", () => {
  const typed = { ...draftOf(SHOP), name: "Millrace Brass" };
  const saved: Shop = { ...SHOP, phone: "030 555 0199", version: 4 };
  expect(draftOver(typed, SHOP, saved)).toMatchObject({ name: "Millrace Brass", phone: "030 555 0199" });
  expect(draftOver(typed, SHOP, { ...saved, name: "Millrace Winds" })).toBeUndefined();
});
