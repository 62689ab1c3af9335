/** The contacts of a bench on their way: which move when coils are switched, and where all of them stand. */
import type { BenchWiring } from "../fixture/bench-wiring.ts";
import type { WiredContact } from "../fixture/contact-wiring.ts";
import { EventQueue } from "../fixture/event-queue.ts";
import type { ContactMove, Relay } from "../fixture/relay.ts";

/** A contact with its moves to come, bounce and all. */
export interface Moving {
  readonly contact: WiredContact;
  readonly moves: readonly ContactMove[];
}

export class ContactWork {
  readonly queue = new EventQueue();
  /** Last movement that was scheduled. Seconds. */
  untilS = 0;
  /** Bits of the contacts that stand before rails. */
  readonly railMask: number;
  readonly #wiring: BenchWiring;
  /** Beside the contacts of the wiring, one for one. */
  readonly #relays: readonly (Relay | undefined)[];

  constructor(wiring: BenchWiring) {
    this.#wiring = wiring;
    this.#relays = wiring.contacts.map(({ name }) => wiring.relays.get(name));
    const rails = wiring.contacts.filter(({ output }) => output.drive === "relay");
    this.railMask = rails.reduce((mask, contact) => mask | bitOf(contact), 0);
  }

  /** Coils get current by this mask. @returns contacts that will move for it */
  switchCoils(mask: number, atS: number): Moving[] {
    const moving: Moving[] = [];
    for (const [index, contact] of this.#wiring.contacts.entries()) {
      const on = (mask & bitOf(contact)) !== 0;
      const moves = this.#relays[index]?.switchCoil(on, atS) ?? null;
      if (moves !== null && moves.length > 0) moving.push({ contact, moves });
    }
    return moving;
  }

  /** Let contacts move as they do; moves that are past are made at once. */
  schedule(moving: readonly Moving[], nowS: number): void {
    for (const { contact, moves } of moving) {
      this.queue.drop(contact.name);
      for (const { atS, position } of moves) {
        const happen = (): void => this.#put(contact, position);
        if (atS <= nowS) happen();
        else this.queue.add(atS, contact.name, happen);
        this.untilS = Math.max(this.untilS, atS);
      }
    }
  }

  /** Contacts that are operated, bit i for output i + 1. */
  positions(): number {
    let mask = 0;
    for (const contact of this.#wiring.contacts) {
      if (contact.position === "operated") mask |= bitOf(contact);
    }
    return mask;
  }

  /** Put every contact where this mask has it, at once. */
  place(mask: number): void {
    for (const contact of this.#wiring.contacts) {
      const position = (mask & bitOf(contact)) === 0 ? "released" : "operated";
      if (contact.position !== position) this.#put(contact, position);
    }
  }

  #put(contact: WiredContact, position: WiredContact["position"]): void {
    contact.position = position;
    this.#wiring.applyContact(contact);
  }
}

/** Where contacts that stand by a mask will stand when these have moved. */
export function targetOf(mask: number, moving: readonly Moving[]): number {
  let target = mask;
  for (const { contact, moves } of moving) {
    const bit = bitOf(contact);
    target = moves.at(-1)?.position === "operated" ? target | bit : target & ~bit;
  }
  return target;
}

/** When the last of them first touches where it goes: the second of its moves. Seconds. */
export function arrivalS(moving: readonly Moving[]): number {
  return Math.max(...moving.map(({ moves }) => (moves[1] ?? moves[0])?.atS ?? 0));
}

function bitOf({ output }: WiredContact): number {
  return 1 << (output.output - 1);
}
