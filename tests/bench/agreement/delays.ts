/**
 * A board in time: each gate and each wire has a delay of its own, and lines do not move at quite the same
 * moment. Written for this comparison alone; takes a netlist and nothing else from the logic model.
 */
import type { GateType, Netlist } from "../../../src/logic/netlist/netlist.ts";

/** Longest delays, in units of no meaning. */
export const GATE_DELAY_MAX = 8;
export const WIRE_DELAY_MAX = 6;
export const SKEW_MAX = 10;

/** Events of one step after which a board is left: pulses that pass a loop of exclusive ors breed. */
const EVENTS_MAX = 5_000;

/** A net or a wire: what it follows, how late, and what it is about to do. */
interface Follower {
  readonly type: GateType;
  readonly sources: readonly number[];
  readonly delay: number;
}

export function levelOf(type: GateType, pins: readonly boolean[]): boolean {
  const high = pins.filter(Boolean).length;
  const table: Readonly<Record<GateType, boolean>> = {
    and: high === pins.length,
    nand: high < pins.length,
    or: high > 0,
    nor: high === 0,
    xor: high % 2 === 1,
    xnor: high % 2 === 0,
    not: high === 0,
    buf: high > 0,
  };
  return table[type];
}

/** Places: inputs, then gates, then one for each pin. */
export function followersOf(netlist: Netlist, delayOf: (kind: "gate" | "wire") => number) {
  const { inputs, gates } = netlist;
  const names = [...inputs, ...gates.map(({ output }) => output)];
  const placeOf = new Map(names.map((name, place) => [name, place]));
  const followers = new Map<number, Follower>();
  let wire = names.length;
  for (const [index, gate] of gates.entries()) {
    const sources = gate.inputs.map((net) => {
      const place = wire++;
      followers.set(place, {
        type: "buf",
        sources: [placeOf.get(net) ?? -1],
        delay: delayOf("wire"),
      });
      return place;
    });
    followers.set(inputs.length + index, { type: gate.type, sources, delay: delayOf("gate") });
  }
  return { names, followers, placeCount: wire };
}

interface Event {
  readonly time: number;
  readonly place: number;
  readonly level: boolean;
  readonly ticket: number;
}

export class DelayedBoard {
  readonly names: readonly string[];
  /** Levels of inputs, gates and wires, by place. */
  readonly levels: boolean[];
  /** Places that have changed since the last `step`. */
  readonly moved = new Set<number>();
  readonly #followers: ReadonlyMap<number, Follower>;
  readonly #takers: readonly (readonly number[])[];
  readonly #inertial: boolean;
  readonly #heap: Event[] = [];
  /** Of each place, what it is to be once all has arrived, and the ticket of the event that counts. */
  readonly #toBe: boolean[];
  readonly #ticket: number[];
  #time = 0;
  #tickets = 0;

  /**
   * @param inertial whether a pulse shorter than the delay is swallowed, or all pulses pass later
   * @param levels of inputs and gates, as the board was left; wires have followed
   */
  constructor(
    netlist: Netlist,
    options: { chance: () => number; inertial: boolean; levels: readonly boolean[] },
  ) {
    const { chance, inertial, levels } = options;
    const most = { gate: GATE_DELAY_MAX, wire: WIRE_DELAY_MAX };
    // Evenly by their logarithm, so that very unlike delays meet.
    const drawn = followersOf(netlist, (kind) => most[kind] * 100 ** -chance());
    this.names = drawn.names;
    this.#followers = drawn.followers;
    this.#inertial = inertial;
    const takers: number[][] = Array.from({ length: drawn.placeCount }, () => []);
    for (const [place, { sources }] of drawn.followers)
      for (const one of sources) takers[one]?.push(place);
    this.#takers = takers;
    this.levels = [...levels];
    for (let place = levels.length; place < drawn.placeCount; place++)
      this.levels.push(levels[drawn.followers.get(place)?.sources[0] ?? -1] ?? false);
    this.#toBe = [...this.levels];
    this.#ticket = this.levels.map(() => 0);
    for (const place of drawn.followers.keys()) this.#follow(place);
  }

  /**
   * Move lines at the given times after now and let time pass.
   *
   * @returns false when so much happened that the time was not reached
   */
  step(lines: readonly boolean[], skews: readonly number[], duration: number): boolean {
    this.moved.clear();
    for (const [place, level] of lines.entries())
      if (level !== this.levels[place])
        this.#push({ time: this.#time + (skews[place] ?? 0), place, level });
    const end = this.#time + duration;
    let events = 0;
    for (let event = this.#heap[0]; event && event.time <= end; event = this.#heap[0]) {
      events += 1;
      if (events > EVENTS_MAX) return false;
      this.#pop();
      this.#time = event.time;
      if (this.#inertial && event.ticket !== this.#ticket[event.place]) continue;
      if (this.levels[event.place] === event.level) continue;
      this.levels[event.place] = event.level;
      this.moved.add(event.place);
      for (const taker of this.#takers[event.place] ?? []) this.#follow(taker);
    }
    this.#time = end;
    return true;
  }

  #follow(place: number): void {
    const follower = this.#followers.get(place);
    if (!follower) return;
    const pins = follower.sources.map((one) => this.levels[one] ?? false);
    const level = levelOf(follower.type, pins);
    if (level === this.#toBe[place]) return;
    this.#toBe[place] = level;
    this.#push({ time: this.#time + follower.delay, place, level });
  }

  #push(event: Omit<Event, "ticket">): void {
    this.#tickets += 1;
    // An event that takes a place back to where it is stands for the pulse that is swallowed.
    this.#ticket[event.place] = this.#tickets;
    const heap = this.#heap;
    const added = { ...event, ticket: this.#tickets };
    let at = heap.length;
    heap.push(added);
    while (at > 0) {
      const above = (at - 1) >> 1;
      const parent = heap[above] as Event;
      if (!earlier(added, parent)) break;
      heap[at] = parent;
      at = above;
    }
    heap[at] = added;
  }

  #pop(): void {
    const heap = this.#heap;
    const last = heap.pop();
    if (last === undefined || heap.length === 0) return;
    let at = 0;
    for (;;) {
      let child = 2 * at + 1;
      if (child >= heap.length) break;
      if (child + 1 < heap.length && earlier(heap[child + 1] as Event, heap[child] as Event))
        child += 1;
      if (!earlier(heap[child] as Event, last)) break;
      heap[at] = heap[child] as Event;
      at = child;
    }
    heap[at] = last;
  }
}

const earlier = (one: Event, other: Event) =>
  one.time < other.time || (one.time === other.time && one.ticket < other.ticket);
