import { useEffect, useRef, useState } from "preact/hooks";
import * as calls from "../api/calls";
import { door } from "../api/line";
import { Button } from "../elements/button";
import { PasswordField, TextField } from "../elements/form";
import { RefusalNote } from "../elements/refusal-note";
import { faultAt, useAct } from "../elements/use-act";
import { words } from "../words";

/** The door: one text for a wrong e-mail and a wrong password. */
export function SignIn() {
  const act = useAct();
  const [forgot, setForgot] = useState<string>();
  const email = useRef<HTMLInputElement>(null);
  const password = useRef<HTMLInputElement>(null);
  const shopName = localStorage.getItem("shop-name");
  useEffect(() => {
    document.title = shopName === null ? words.signIn.title : words.pages.title(words.signIn.title, shopName);
    email.current?.focus();
  }, [forgot]);

  async function signIn(event: Event) {
    event.preventDefault();
    await act.run(
      () => door.signIn(email.current?.value.trim() ?? "", password.current?.value ?? ""),
      (session) => localStorage.setItem("shop-name", session.shop.name),
    );
    if (act.refusal !== undefined) password.current?.select();
  }

  if (forgot !== undefined) return <Forgotten email={forgot} shopName={shopName} onBack={() => setForgot(undefined)} />;
  const wrong = act.refusal?.kind === "problem" && act.refusal.problem.status === 401;
  return (
    <main class="door-page">
      <form class="door" onSubmit={(event) => void signIn(event)}>
        <p class="name">{shopName ?? words.product}</p>
        <h1>{words.signIn.title}</h1>
        <TextField label={words.signIn.email} fieldRef={email} type="email" name="email" autocomplete="username" required />
        <PasswordField label={words.signIn.password} fieldRef={password} name="password" autocomplete="current-password" />
        {wrong ? (
          <div class="refusal" role="alert"><b>{words.signIn.wrong}</b> {words.signIn.wrongMore}</div>
        ) : (
          <RefusalNote refusal={act.refusal} />
        )}
        <Button class="btn main" busy={act.busy}>{words.signIn.button}</Button>
        <button type="button" class="link" onClick={() => setForgot(email.current?.value.trim() ?? "")}>{words.signIn.forgot}</button>
      </form>
    </main>
  );
}

/** Asks for a link by mail. What is said is the same whether or not anybody signs in with the address. */
function Forgotten({ email, shopName, onBack }: { email: string; shopName: string | null; onBack: () => void }) {
  const act = useAct();
  const field = useRef<HTMLInputElement>(null);
  const [asked, setAsked] = useState<string>();
  useEffect(() => field.current?.focus(), []);
  async function ask(event: Event) {
    event.preventDefault();
    const typed = field.current?.value.trim() ?? "";
    await act.run(() => calls.sessions.forgotten(typed), () => setAsked(typed));
  }
  return (
    <main class="door-page">
      <form class="door" onSubmit={(event) => void ask(event)}>
        <p class="name">{shopName ?? words.product}</p>
        <h1>{words.signIn.forgotTitle}</h1>
        {asked === undefined ? (
          <>
            <p>{words.signIn.forgotLead}</p>
            <TextField label={words.signIn.email} fieldRef={field} type="email" name="email" autocomplete="username" defaultValue={email} required fault={faultAt(act.refusal, "/email")} />
            <RefusalNote refusal={act.refusal} />
            <Button class="btn main" busy={act.busy}>{words.signIn.forgotButton}</Button>
          </>
        ) : <p role="status">{words.signIn.forgotDone(asked)}</p>}
        <button type="button" class="link" onClick={onBack}>{words.signIn.forgotBack}</button>
      </form>
    </main>
  );
}
