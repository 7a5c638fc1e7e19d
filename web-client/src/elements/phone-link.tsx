import type { ComponentChildren } from "preact";
import { dialled } from "../shop/dialled";

/** A number that is rung by a tap; it reads as it was written unless something is said in its place. */
export function PhoneLink({ phone, class: kind, children = phone }: { phone: string; class?: string; children?: ComponentChildren }) {
  return <a href={`tel:${dialled(phone)}`} {...(kind === undefined ? {} : { class: kind })}>{children}</a>;
}
