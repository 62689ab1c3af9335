/** Which ports may be the one that a controller was on, from the surest to the least sure. */
import { isPortId } from "./find-port.ts";
import type { PortFacts } from "./list-ports.ts";

/** A port as it was when its controller was connected. */
export interface KnownPort {
  /** What a person named: a path, a link or an id. */
  readonly name: string;
  /** The device behind it then. */
  readonly path: string;
  /** Name that outlasts renaming, null where the board and the system know none. */
  readonly id: string | null;
  readonly idOf: PortFacts["idOf"];
  /** Maker and kind, as the system told them. */
  readonly about: string | null;
}

/** @param path the device behind the name, as the list of ports calls it */
export function knownPort(name: string, path: string, ports: readonly PortFacts[]): KnownPort {
  const listed = ports.find((port) => port.path === path);
  const { id = null, idOf = null, about = null } = listed ?? {};
  return { name, path, id, idOf, about };
}

export interface Candidate {
  readonly path: string;
  /** The lasting name it has now; null where it has none. */
  readonly id: string | null;
}

/**
 * Ports worth opening, in the order to try them. Opening restarts most boards, so a port that plainly
 * is another board's stays shut: with a number of its own only that number counts, without one the same
 * name or socket does, and boards of the same kind only where the controller itself tells them apart.
 */
export function portCandidates(
  known: KnownPort,
  ports: readonly PortFacts[],
  tellsItself: boolean,
): Candidate[] {
  const byId = ports.filter(({ id }) => id !== null && id === known.id);
  const named = isPortId(known.name) ? [] : [namedCandidate(known, ports)];
  const ofKind = ports.filter(
    ({ about, idOf }) => tellsItself && idOf !== "board" && about !== null && about === known.about,
  );
  const all: Candidate[] =
    known.idOf === "board"
      ? [...byId, ...named.filter(({ id }) => id === null || id === known.id)]
      : [...named.filter(({ path }) => !isNumbered(path, ports)), ...byId, ...ofKind];
  const seen = new Set<string>();
  return all.filter(({ path }) => !seen.has(path) && seen.add(path));
}

function namedCandidate({ name }: KnownPort, ports: readonly PortFacts[]): Candidate {
  return { path: name, id: ports.find(({ path }) => path === name)?.id ?? null };
}

/** A board that has a number now is not the one that had none. */
function isNumbered(path: string, ports: readonly PortFacts[]): boolean {
  return ports.some((port) => port.path === path && port.idOf === "board");
}
