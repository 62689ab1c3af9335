/** What happens at moments of a night, by its scenario: joints, contacts and glitches. */
import type { Scenario } from "../../formats/scenario.schema.ts";
import type { PartChange } from "../fixture.ts";
import { RareMoments } from "./wander.ts";

const HOUR_S = 3600;

/** What a night can do to a bench. */
export interface NightHands {
  /**
   * Change parts now; none when only what moves slowly has jumped.
   *
   * @param value tells this circumstance from others of its name; null: it is over
   */
  change(changes: readonly PartChange[], circumstance: string, value: number | null): void;
  /** From its next conversion on a channel reads so much more, for a while. */
  misread(channel: string, addV: number, forMs: number): void;
  /** A relay does not operate the next time that it should. */
  missContact(contact: string): void;
}

/** Let something happen at a moment, seconds. */
export type Appoint = (atS: number, happen: (atS: number) => void) => void;

/**
 * Appoint everything that a scenario has for moments.
 *
 * @param jointOhm receives what dry joints add, by resistor
 */
export function appointNight(
  scenario: Scenario,
  jointOhm: Map<string, number>,
  { appoint, hands }: { readonly appoint: Appoint; readonly hands: NightHands },
): void {
  const { seed, joints, contacts, glitches } = scenario;
  for (const [index, { part, ohm, fromHours, comesAndGoes }] of joints.entries()) {
    const moments = new RareMoments(seed, `joint ${index}`);
    const turn = (isBad: boolean, atS: number): void => {
      jointOhm.set(part, isBad ? ohm : 0);
      hands.change([], `joint ${part}`, isBad ? ohm : null);
      if (comesAndGoes === undefined) return;
      const meanS = isBad ? comesAndGoes.badS : comesAndGoes.goodS;
      appoint(atS + moments.nextAfterS(meanS), (nextS) => turn(!isBad, nextS));
    };
    appoint(fromHours * HOUR_S, (atS) => turn(true, atS));
  }
  for (const { contact, leakOhm, fromHours } of contacts) {
    const change = { part: `relay.${contact}`, parameter: "leakOhm", value: leakOhm, atMs: null };
    appoint(fromHours * HOUR_S, () => hands.change([change], `leak ${contact}`, leakOhm));
  }
  for (const [index, glitch] of glitches.entries()) {
    const happen = (atS: number): void => {
      if (glitch.glitch === "misread") hands.misread(glitch.channel, glitch.addV, glitch.forMs);
      else if (glitch.glitch === "missed contact") hands.missContact(glitch.contact);
      else pull(glitch, atS, { appoint, hands });
    };
    appointWhen(glitch, new RareMoments(seed, `glitch ${index}`), { appoint, happen });
  }
}

/** Appoint what happens once, or again and again at moments of chance. */
export function appointWhen(
  when: { readonly atHours?: number | undefined; readonly timesPerHour?: number | undefined },
  moments: RareMoments,
  { appoint, happen }: { readonly appoint: Appoint; readonly happen: (atS: number) => void },
): void {
  if (when.atHours !== undefined) appoint(when.atHours * HOUR_S, happen);
  if (when.timesPerHour === undefined) return;
  const meanS = HOUR_S / when.timesPerHour;
  const again = (atS: number): void => {
    happen(atS);
    appoint(atS + moments.nextAfterS(meanS), again);
  };
  appoint(moments.nextAfterS(meanS), again);
}

function pull(
  { net, volts, forMs }: { readonly net: string; readonly volts: number; readonly forMs: number },
  atS: number,
  { appoint, hands }: { readonly appoint: Appoint; readonly hands: NightHands },
): void {
  const part = `touch.${net}`;
  hands.change([{ part, parameter: "volts", value: volts, atMs: null }], part, volts);
  appoint(atS + forMs / 1000, () =>
    hands.change([{ part, parameter: "on", value: 0, atMs: null }], part, null),
  );
}
