/** A browser as Debian has it, without a window and without a network. */
import { existsSync } from "node:fs";
import { type Browser, chromium } from "playwright-core";

const PLACES = ["/usr/bin/chromium", "/usr/bin/chromium-browser"];

/** Nothing is sent anywhere and nothing is kept. */
const FLAGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
];

export function openBrowser(): Promise<Browser> {
  const executablePath = PLACES.find((place) => existsSync(place));
  if (executablePath === undefined) {
    throw new Error(`Expected a browser at ${PLACES.join(" or ")}: apt-get install chromium.`);
  }
  return chromium.launch({ executablePath, args: FLAGS });
}
