/** IEEE 488.2 status of a modelled controller: event register, masks, error queue. */
import { errorText } from "./refusal.ts";

const QUEUE_DEPTH = 10;
const OVERFLOW = -350;
const POWER_ON = 128;
const COMPLETE = 1;

export class StatusSide {
  events = POWER_ON;
  eventMask = 0;
  requestMask = 0;
  #queue: number[] = [];
  #completeWanted = false;

  /** An error that no reply tells: it waits in the queue. */
  queue(number: number): void {
    this.note(number);
    if (this.#queue.length < QUEUE_DEPTH) {
      this.#queue.push(number);
      return;
    }
    this.#queue[QUEUE_DEPTH - 1] = OVERFLOW;
    this.note(OVERFLOW);
  }

  /** Set the event bit of an error's class. */
  note(number: number): void {
    if (number > 0) this.events |= 8;
    else if (number <= -400) this.events |= 4;
    else if (number <= -300) this.events |= 8;
    else if (number <= -200) this.events |= 16;
    else if (number < 0) this.events |= 32;
  }

  get waiting(): number {
    return this.#queue.length;
  }

  next(): string {
    return errorText(this.#queue.shift() ?? 0);
  }

  takeEvents(): number {
    const taken = this.events;
    this.events = 0;
    return taken;
  }

  clear(): void {
    this.events = 0;
    this.#queue = [];
    this.#completeWanted = false;
  }

  wantComplete(): void {
    this.#completeWanted = true;
  }

  look(orderRunning: boolean): void {
    if (!this.#completeWanted || orderRunning) return;
    this.#completeWanted = false;
    this.events |= COMPLETE;
  }

  byte(messageAvailable: boolean): number {
    const summary =
      (this.#queue.length > 0 ? 4 : 0) |
      (messageAvailable ? 16 : 0) |
      ((this.events & this.eventMask) !== 0 ? 32 : 0);
    return summary | ((summary & this.requestMask & ~64) !== 0 ? 64 : 0);
  }
}
