/**
 * Which is weak, the tube or its socket: a tube that is weak in two sockets is the tube, a socket that
 * weakens two tubes is the socket (common practice: change one thing and look again). What rests on one
 * sighting says so and names the swap that would tell.
 */
import type { Stint } from "./tube-stints.ts";

/** What one section of a tube pulled its net to in the newest proof of one stint, or drifted by in a soak. */
export interface SectionSighting {
  readonly serial: string;
  readonly unit: string;
  readonly position: string;
  readonly section: string;
  readonly net: string;
  readonly run: string;
  /** Its low level, volts, and distance from the middle of its sisters; null where they, or a soak, cannot tell. */
  readonly lowV: number | null;
  readonly z: number | null;
  readonly units: number;
  /** Beyond its limit by more than the guard band. */
  readonly failed: boolean;
  readonly weak: boolean;
  /** In words, where a soak saw it drift; missing where a proof read the level. */
  readonly drift?: string | undefined;
}

export interface TubeFinding {
  readonly kind: "the tube" | "the socket" | "tube or socket";
  /** One of them for a finding on itself; both where they cannot be told apart. */
  readonly serial: string | null;
  readonly unit: string | null;
  readonly position: string | null;
  /** What it rests on. */
  readonly weakIn: readonly SectionSighting[];
  /** What speaks against it: the same tube or socket without weakness. */
  readonly goodIn: readonly SectionSighting[];
  /** What would tell more; null where nothing simple would. */
  readonly next: string | null;
}

/** Sightings of one tube in one socket: weak when any of its sections is. */
interface Seat {
  readonly serial: string;
  readonly unit: string;
  readonly position: string;
  readonly sightings: readonly SectionSighting[];
  readonly weak: boolean;
}

export function tubeFindings(sightings: readonly SectionSighting[]): TubeFinding[] {
  const seats = seatsOf(sightings);
  const tubes = grouped(seats, ({ serial }) => serial).flatMap(tubeFinding);
  const sockets = grouped(seats, socketOf).flatMap(socketFinding);
  const named = [...tubes, ...sockets].flatMap(({ weakIn }) => weakIn);
  const open = seats
    .filter(({ weak, sightings: own }) => weak && !own.some((one) => named.includes(one)))
    .map((seat) => openFinding(seat, seats));
  return [...tubes, ...sockets, ...open];
}

function seatsOf(sightings: readonly SectionSighting[]): Seat[] {
  return grouped(sightings, (one) => `${one.serial} in ${socketOf(one)}`).flatMap((own) => {
    const [first] = own;
    if (first === undefined) return [];
    const { serial, unit, position } = first;
    return [{ serial, unit, position, sightings: own, weak: own.some(({ weak }) => weak) }];
  });
}

function socketOf({ unit, position }: Pick<Stint, "unit" | "position">): string {
  return `${unit} ${position}`;
}

function tubeFinding(seats: readonly Seat[]): TubeFinding[] {
  const weak = seats.filter((seat) => seat.weak);
  const [first] = weak;
  if (first === undefined || weak.length < 2) return [];
  const { serial } = first;
  return [{ kind: "the tube", serial, unit: null, position: null, ...restOn(seats), next: null }];
}

function socketFinding(seats: readonly Seat[]): TubeFinding[] {
  const weak = seats.filter((seat) => seat.weak);
  const [first] = weak;
  if (first === undefined || weak.length < 2) return [];
  const { unit, position } = first;
  const next = `look at what is around ${position}: plate load, grid resistors, heater pins, joints`;
  return [{ kind: "the socket", serial: null, unit, position, ...restOn(seats), next }];
}

/** Weak once: what else was seen of this tube and of this socket points somewhere, and proves nothing. */
function openFinding(seat: Seat, seats: readonly Seat[]): TubeFinding {
  const { serial, unit, position } = seat;
  const elsewhere = seats.filter((one) => one.serial === serial && one !== seat);
  const others = seats.filter((one) => socketOf(one) === socketOf(seat) && one !== seat);
  // What only hours showed, only hours can show again.
  const byDrift = seat.sightings.every(({ weak, drift }) => !weak || drift !== undefined);
  const again = byDrift ? "soak" : "prove";
  const next =
    elsewhere.length === 0
      ? `put ${serial} into another socket and ${again} that unit, or another tube into ${unit} ${position}`
      : `put another tube into ${unit} ${position} and ${again} it again`;
  return {
    kind: "tube or socket",
    serial,
    unit,
    position,
    ...restOn([seat, ...elsewhere, ...others]),
    next,
  };
}

function restOn(seats: readonly Seat[]): Pick<TubeFinding, "weakIn" | "goodIn"> {
  return {
    weakIn: seats.flatMap((seat) => seat.sightings.filter(({ weak }) => weak)),
    goodIn: seats.filter(({ weak }) => !weak).flatMap(({ sightings }) => sightings),
  };
}

function grouped<Item>(items: readonly Item[], keyOf: (item: Item) => string): Item[][] {
  const groups = new Map<string, Item[]>();
  for (const item of items) {
    const group = groups.get(keyOf(item)) ?? [];
    group.push(item);
    groups.set(keyOf(item), group);
  }
  return [...groups.values()];
}
