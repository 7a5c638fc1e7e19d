const BROWSERS: [RegExp, string][] = [
  [/Firefox\//, "Firefox"], [/FxiOS\//, "Firefox"], [/Edg(e|A|iOS)?\//, "Edge"], [/OPR\//, "Opera"], [/(Chrome|CriOS|Chromium)\//, "Chrome"], [/Safari\//, "Safari"],
];
const SYSTEMS: [RegExp, string][] = [
  [/iPad/, "iPad"], [/iPhone/, "iPhone"], [/Android/, "Android"], [/CrOS/, "ChromeOS"], [/Windows/, "Windows"], [/Mac OS X|Macintosh/, "Mac"], [/Linux/, "Linux"],
];

/**
 * Browser and system of a `User-Agent`, for people who want to know where they are signed in;
 * `undefined` when it names none of the common ones. The order matters: every browser of today
 * calls itself by the names of others as well.
 */
export function deviceOf(agent: string): { browser: string; system: string } | undefined {
  const browser = BROWSERS.find(([mark]) => mark.test(agent))?.[1];
  const system = SYSTEMS.find(([mark]) => mark.test(agent))?.[1];
  return browser === undefined || system === undefined ? undefined : { browser, system };
}
