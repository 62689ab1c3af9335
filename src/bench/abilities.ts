/** What a controller knows beyond the first draft of the wire. */
import { BenchError } from "./bench-error.ts";
import type { ControllerLink } from "./controller-link.ts";
import { isUnknownHeader, query } from "./setting.ts";

export class Abilities {
  readonly #link: ControllerLink;
  readonly #firmware: string;
  #known: ReadonlySet<string> | null = null;

  constructor(link: ControllerLink, firmware: string) {
    this.#link = link;
    this.#firmware = firmware;
  }

  /** Asked once; the oldest controllers know none. */
  async known(): Promise<ReadonlySet<string>> {
    if (this.#known !== null) return this.#known;
    try {
      const answer = await query(this.#link, "SYST:CAP:LIST?", "work");
      this.#known = new Set(answer.split(","));
    } catch (error) {
      if (!isUnknownHeader(error)) throw error;
      this.#known = new Set();
    }
    return this.#known;
  }

  /** @throws BenchError firmware-too-old, naming what is missing */
  async need(abilities: readonly string[]): Promise<void> {
    const known = await this.known();
    const missing = abilities.filter((ability) => !known.has(ability));
    if (missing.length === 0) return;
    throw new BenchError("firmware-too-old", {
      firmware: this.#firmware,
      needs: missing.join(", "),
    });
  }
}
