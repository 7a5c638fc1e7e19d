import { Fragment } from "preact";
import { words } from "../words";

/** What to be careful of, each with its subject in bold, and whose rules come first. Nothing where there is none. */
export function Cautions({ slugs, of = [] }: {
  slugs: readonly string[];
  /** The server's words, for a caution that this client does not know. */
  of?: readonly { slug: string; words: string }[];
}) {
  if (slugs.length === 0) return null;
  const said = slugs.map((slug) => words.cautions[slug] ?? of.find((one) => one.slug === slug)?.words ?? slug);
  return <p class="heed">{said.map((one) => <Fragment key={one}>{withSubject(one)} · </Fragment>)}<span class="quiet">{words.order.cautionEnd}</span></p>;
}

function withSubject(said: string) {
  const [about, ...rest] = said.replace(/\.$/, "").split(":");
  return rest.length === 0 ? about : <><b>{about}:</b>{rest.join(":")}</>;
}
