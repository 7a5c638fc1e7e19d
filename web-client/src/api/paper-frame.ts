/**
 * A paper of the server in a frame of its own, so that it is printed on its own paper and not on
 * that of the screen behind it. The frame runs no script; its sheet comes from the server.
 */

declare global {
  interface Window {
    /** Where the browser has trusted types, it takes a page from nothing else. */
    trustedTypes?: { createPolicy(name: string, rules: { createHTML(html: string): string }): { createHTML(html: string): string } };
  }
}

// Only pages that the server wrote for printing go through here; their words are escaped there.
const ours = window.trustedTypes?.createPolicy("paper", { createHTML: (html) => html });

/** The paper that is being printed: the next one takes its frame only once it is out. */
let before: Promise<void> = Promise.resolve();

/**
 * Opens the browser's print dialog for this page; goes on once it is closed, where the browser waits
 * for that. One paper after another: a frame that is taken away before it has come up prints nothing.
 */
export function printPaper(html: string): Promise<void> {
  const mine = before.then(() => show(html));
  before = mine.catch(() => {});
  return mine;
}

function show(html: string): Promise<void> {
  document.querySelector("iframe.paper-frame")?.remove();
  const frame = document.createElement("iframe");
  frame.className = "paper-frame";
  frame.setAttribute("sandbox", "allow-same-origin allow-modals");
  frame.setAttribute("aria-hidden", "true");
  frame.tabIndex = -1;
  return new Promise((resolve, reject) => {
    frame.addEventListener("load", () => {
      try {
        frame.contentWindow?.print();
        resolve();
      } catch (fault) {
        reject(fault instanceof Error ? fault : new Error(String(fault)));
      }
    }, { once: true });
    frame.srcdoc = ours === undefined ? html : ours.createHTML(html);
    document.body.append(frame);
  });
}
