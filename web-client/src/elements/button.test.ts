import { expect, test, vi } from "vitest";
import { Button } from "./button";

/** The button as it is drawn, and a press on it. */
function drawn(props: Parameters<typeof Button>[0]) {
  const { type, props: of } = Button(props);
  const event = { preventDefault: vi.fn() };
  return { type, of, press: () => of.onClick(event), event };
}

test("while its act is under way it keeps the focus, says that it cannot be pressed, and passes over presses", () => {
  const onClick = vi.fn();
  const busy = drawn({ busy: true, class: "btn main", onClick });
  busy.press();
  // A disabled button loses the focus.
  expect([busy.type, busy.of.disabled, busy.of["aria-disabled"], busy.of.class]).toEqual(["button", undefined, "true", "btn main"]);
  // Neither is a form sent by it.
  expect([onClick.mock.calls.length, busy.event.preventDefault.mock.calls.length]).toEqual([0, 1]);
});

test("otherwise it is a button like any other", () => {
  const onClick = vi.fn();
  const free = drawn({ busy: false, disabled: true, type: "button", onClick });
  free.press();
  expect([free.of.disabled, free.of.type, "aria-disabled" in free.of, onClick.mock.calls.length, free.event.preventDefault.mock.calls.length]).toEqual([true, "button", false, 1, 0]);
});
