import { render } from "preact";
import { App } from "./app";
import { door, session } from "./api/line";

const place = document.getElementById("shop");
if (place !== null) render(<App />, place);

/** A page that was closed comes back signed in, as long as the cookie is good. */
async function comeBack(): Promise<void> {
  const answer = await door.renew();
  if (answer.kind === "away") setTimeout(() => void comeBack(), 3000);
  else if (answer.kind !== "ok") session.value = undefined;
}
void comeBack();
