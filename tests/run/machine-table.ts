/** A machine as text: one line for each state, event and guard, with what follows. */
import type { AnyStateMachine, AnyStateNode, AnyTransitionDefinition } from "xstate";

/** All states of a machine, outermost first. */
export function statesOf(machine: AnyStateMachine): AnyStateNode[] {
  const below = (node: AnyStateNode): AnyStateNode[] => [
    node,
    ...Object.values(node.states).flatMap(below),
  ];
  return below(machine.root);
}

/** `done look`, `failed look`, `after 100 ms heartbeatMs`, `always` or the event's own name. */
function eventName(transition: AnyTransitionDefinition, node: AnyStateNode): string {
  const { eventType } = transition;
  const invoked = /^xstate\.(done|error)\.actor\.(.+)$/.exec(eventType);
  if (invoked !== null) {
    const actor = node.invoke.find(({ id }) => id === invoked[2]);
    return `${invoked[1] === "done" ? "done" : "failed"} ${String(actor?.src ?? invoked[2])}`;
  }
  const timed = /^xstate\.after\.(.+?)\.[A-Za-z]+(\.|$)/.exec(eventType);
  if (timed !== null) return `after ${timed[1]}`;
  return eventType === "" ? "always" : eventType;
}

function named(part: unknown): string {
  if (typeof part === "string") return part;
  if (typeof part === "object" && part !== null && "type" in part) return String(part.type);
  throw new Error("Expected a name in a machine, found an inline function.");
}

function pathOf(node: AnyStateNode): string {
  return node.path.length === 0 ? "(any)" : node.path.join(".");
}

function rowsOf(node: AnyStateNode): string[][] {
  const transitions = [...node.transitions.values()].flat();
  const rows = [...transitions, ...(node.always ?? [])].map((transition) => [
    pathOf(node),
    eventName(transition, node),
    transition.guard === undefined ? "-" : named(transition.guard),
    transition.target === undefined ? "(stays)" : transition.target.map(pathOf).join(" "),
    transition.actions.map(named).join(" ") || "-",
  ]);
  return node.type === "final" ? [[pathOf(node), "(final)", "-", "-", "-"]] : rows;
}

export function tableOf(machine: AnyStateMachine): string {
  const header = ["state", "event", "guard", "next", "actions"];
  const rows = [header, ...statesOf(machine).flatMap(rowsOf)];
  const widths = header.map((_, column) =>
    Math.max(...rows.map((row) => row[column]?.length ?? 0)),
  );
  return rows
    .map((row) =>
      row
        .map((cell, column) => cell.padEnd(widths[column] ?? 0))
        .join("  ")
        .trimEnd(),
    )
    .join("\n")
    .concat("\n");
}
