import type { Contact, WorkOrder } from "../../api/shapes";
import { PhoneLink } from "../../elements/phone-link";
import { isZero, moneyWords } from "../../shop/money";
import { partWords } from "../../store";
import { words } from "../../words";

/** What was said and seen at the counter, the people, and where the money stands. */
export function Facts({ order }: { order: WorkOrder }) {
  const marks = order.counter_marks.map((mark) => words.checkIn.marked(partWords(order.instrument.family, mark.part), [words.marks[mark.kind].toLowerCase()]));
  return (
    <dl>
      <dt>{words.order.complaint}</dt>
      <dd><blockquote>{order.complaint}</blockquote></dd>
      {order.keep_as_is && <><dt>{words.order.keep}</dt><dd><b>{order.keep_as_is}</b></dd></>}
      {(marks.length > 0 || order.condition_note) && (
        <><dt>{words.order.marksSeen}</dt><dd>{words.common.list([...marks, ...(order.condition_note ? [order.condition_note] : [])])}</dd></>
      )}
      <dt>{words.order.cameWith}</dt>
      <dd>{order.accessories.length === 0 ? words.common.none : words.common.list(order.accessories.map((one) => one.name))}</dd>
      {order.promise_reason && <><dt>{words.order.promiseReason}</dt><dd>{order.promise_reason}</dd></>}
      {order.place && <><dt>{words.order.place}</dt><dd>{order.place}</dd></>}
      {order.loaner_number && <><dt>{words.putRight.loaner}</dt><dd>{order.loaner_number}{order.loaner_back_at ? ` · ${words.putRight.loanerBack}` : ""}</dd></>}
      {order.old_parts_back && <><dt>{words.putRight.oldPartsShort}</dt><dd>{words.common.yes}</dd></>}
      <dt>{words.order.authorised}</dt>
      <dd><b>{isZero(order.authorised) ? words.order.askFirst : moneyWords(order.authorised)}</b></dd>
      {order.examination_fee && !isZero(order.examination_fee) && <><dt>{words.order.examinationFee}</dt><dd>{moneyWords(order.examination_fee)}</dd></>}
      <dt>{words.order.total}</dt>
      <dd>{moneyWords(order.money.total)}</dd>
      {!isZero(order.money.paid) && <><dt>{words.order.paid}</dt><dd>{moneyWords(order.money.paid)}</dd></>}
      <dt>{words.order.due}</dt>
      <dd>{moneyWords(order.money.due)}</dd>
      <dt>{order.owner.id === order.customer.id ? words.order.owner : words.order.customer}</dt>
      <dd><ContactWords contact={order.customer} /></dd>
      {order.owner.id !== order.customer.id && <><dt>{words.order.owner}</dt><dd><ContactWords contact={order.owner} /></dd></>}
      {order.instrument.serial_number && <><dt>{words.checkIn.serial}</dt><dd>{order.instrument.serial_number}</dd></>}
    </dl>
  );
}

function ContactWords({ contact }: { contact: Contact }) {
  return (
    <>
      {contact.name}
      {contact.phone && <><br /><PhoneLink phone={contact.phone} /></>}
      {contact.email && <><br /><a href={`mailto:${contact.email}`}>{contact.email}</a></>}
      <br /><span class="quiet">{words.mailWanted[contact.mail_wanted]}</span>
    </>
  );
}
