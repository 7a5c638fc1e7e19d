import { useEffect, useRef } from "preact/hooks";
import { door } from "../api/line";
import { Button } from "../elements/button";
import { TextField } from "../elements/form";
import { RefusalNote } from "../elements/refusal-note";
import { useAct } from "../elements/use-act";
import { words } from "../words";

/** The door: one text for a wrong e-mail and a wrong password. */
export function SignIn() {
  const act = useAct();
  const email = useRef<HTMLInputElement>(null);
  const password = useRef<HTMLInputElement>(null);
  const shopName = localStorage.getItem("shop-name");
  useEffect(() => {
    document.title = shopName === null ? words.signIn.title : words.pages.title(words.signIn.title, shopName);
    email.current?.focus();
  }, []);

  async function signIn(event: Event) {
    event.preventDefault();
    await act.run(
      () => door.signIn(email.current?.value.trim() ?? "", password.current?.value ?? ""),
      (session) => localStorage.setItem("shop-name", session.shop.name),
    );
    if (act.refusal !== undefined) password.current?.select();
  }

  const wrong = act.refusal?.kind === "problem" && act.refusal.problem.status === 401;
  return (
    <main class="door-page">
      <form class="door" onSubmit={(event) => void signIn(event)}>
        <p class="name">{shopName ?? words.product}</p>
        <h1>{words.signIn.title}</h1>
        <TextField label={words.signIn.email} fieldRef={email} type="email" name="email" autocomplete="username" required />
        <TextField label={words.signIn.password} fieldRef={password} type="password" name="password" autocomplete="current-password" required />
        {wrong ? (
          <div class="refusal" role="alert"><b>{words.signIn.wrong}</b> {words.signIn.wrongMore}</div>
        ) : (
          <RefusalNote refusal={act.refusal} />
        )}
        <Button class="btn main" busy={act.busy}>{words.signIn.button}</Button>
      </form>
    </main>
  );
}
