/** Walks every state of one machine that events can lead to, without running any of its work. */
import {
  type AnyStateMachine,
  type AnyStateNode,
  initialTransition,
  type SnapshotFrom,
  transition,
} from "xstate";

interface WalkEvent {
  /** How the event is called in messages. */
  readonly name: string;
  readonly event: { readonly type: string };
}

/** Any snapshot of any machine, as far as a walk looks into it. */
export interface WalkSnapshot {
  readonly value: unknown;
  readonly status: string;
  readonly output: unknown;
  readonly context: Record<string, unknown>;
}

export interface WalkEdge {
  readonly from: WalkSnapshot;
  readonly by: string;
  readonly to: WalkSnapshot;
}

export interface WalkOptions {
  readonly input: unknown;
  /** Events from outside the machine. */
  readonly events: readonly WalkEvent[];
  /** Outputs each actor may come back with, by its name. */
  readonly outputs: Readonly<Record<string, readonly unknown[]>>;
}

/** Distinct states beyond this mean that the walk's key is too fine, not that a machine is large. */
const STATES_MAX = 2000;

export function walk(machine: AnyStateMachine, options: WalkOptions): WalkEdge[] {
  const [first] = initialTransition(machine, options.input as never);
  const waiting: SnapshotFrom<AnyStateMachine>[] = [first];
  const known = new Set([keyOf(first)]);
  const edges: WalkEdge[] = [];
  for (let from = waiting.shift(); from !== undefined; from = waiting.shift()) {
    for (const { name, event } of candidates(from, options)) {
      const [to] = transition(machine, from, event as never);
      edges.push({ from: from as WalkSnapshot, by: name, to: to as WalkSnapshot });
      if (known.has(keyOf(to))) continue;
      known.add(keyOf(to));
      if (known.size > STATES_MAX) throw new Error(`Expected at most ${STATES_MAX} states.`);
      if (to.status === "active") waiting.push(to);
    }
  }
  return edges;
}

function keyOf(snapshot: SnapshotFrom<AnyStateMachine>): string {
  const { plan: _, step: __, ...context } = snapshot.context as Record<string, unknown>;
  return JSON.stringify([snapshot.value, snapshot.status, context]);
}

function candidates(snapshot: SnapshotFrom<AnyStateMachine>, options: WalkOptions): WalkEvent[] {
  const nodes = snapshot._nodes as AnyStateNode[];
  const fromActors = nodes.flatMap(({ invoke }) =>
    invoke.flatMap(({ id, src }) => {
      const outputs = options.outputs[String(src)] ?? [];
      return [
        ...outputs.map((output) => ({
          name: `done ${String(src)}`,
          event: { type: `xstate.done.actor.${id}`, output, actorId: id },
        })),
        {
          name: `failed ${String(src)}`,
          event: { type: `xstate.error.actor.${id}`, error: new Error("seeded"), actorId: id },
        },
      ];
    }),
  );
  const timed = nodes.flatMap(({ after }) =>
    after.map(({ eventType }) => ({ name: `after ${eventType}`, event: { type: eventType } })),
  );
  return [...options.events, ...fromActors, ...timed];
}
