/** What a fault of a rig looks like in words, and what to do next about it. */
import type { Plan } from "../events/plan.ts";
import type {
  ChannelQuiet,
  RigFacts,
  RigFault,
  RigFaultKind,
  RigFinding,
} from "../events/rig-check.ts";
import { voltsText } from "../measure/volts-text.ts";
import type { ModelFault } from "./rig-model.ts";

/** A fault of the model by the names a person knows: relays by rail or line, leads by channel. */
export function faultOf(fault: ModelFault): RigFault {
  switch (fault.kind) {
    case "contact":
      return {
        kind: fault.stays === "operated" ? "welded contact" : "open contact",
        where: `relay ${fault.name}`,
        other: null,
      };
    case "leak":
      return { kind: "leaky contact", where: `relay ${fault.name}`, other: null };
    case "swap":
      return { kind: "swapped leads", where: fault.one, other: fault.other };
    case "open lead":
      return { kind: "open lead", where: fault.channel, other: null };
    case "stuck":
      return { kind: "stuck channel", where: fault.channel, other: fault.to };
    case "crosstalk":
      return { kind: "crosstalk", where: fault.channel, other: fault.from };
    case "gain":
      return { kind: "off its level", where: fault.channel, other: null };
    case "reference":
      return { kind: "reference off", where: "reference", other: null };
    case "no supply":
      return { kind: "off its level", where: `supply ${fault.rail}`, other: null };
  }
}

const DO_NEXT: Readonly<Record<RigFaultKind, string>> = {
  "welded contact":
    "Switch the supply off at its own switch, let what is stored bleed off, and replace the relay.",
  "open contact": "Listen for the coil; measure its driver, then the contact. Replace the relay.",
  "leaky contact":
    "Clean around the relay and its socket; replace the relay if it still leaks when dry.",
  bounce: "Replace the relay, or give the line a driver that does not bounce.",
  "swapped leads": "Exchange the two leads, then walk all of them with holdfast walk.",
  "open lead": "Follow the lead from clip to divider, its joint in the loop-back plug too.",
  "stuck channel":
    "Look at the multiplexer's address lines and at its sockets; then for two leads on one point.",
  "floating input":
    "Look for a lead that hangs in the air and for a divider whose bottom resistor is open.",
  crosstalk:
    "Part the two leads, look for a bridge of solder or dirt between their pins, and for a missing capacitor.",
  "reference off":
    "Measure the converter's reference with a meter; correct referenceV, or feed it from a better source. Calibrate again.",
  "pick-up":
    "Move leads away from mains wiring and transformers, twist them with common, ground the screen; name the mains in the rig file.",
  noise:
    "Look for a dry joint or a switching supply near this lead; check the capacitor at its pin.",
  "off its level":
    "Measure there with a meter: supply, divider, source and load against the rig file.",
  "ground shift": "Shorten and thicken the board's lead to common; take coil current off it.",
  "dead-man":
    "Flash the firmware again; do not energise a board with this controller until it passes.",
};

/** A finding with the words that go with its kind. */
export function finding(
  fault: RigFault,
  seen: string,
  more: {
    readonly severity?: RigFinding["severity"];
    readonly orElse?: readonly RigFault[];
  } = {},
): RigFinding {
  const { severity = "unfit", orElse = [] } = more;
  return { ...fault, severity, seen, whatToDo: DO_NEXT[fault.kind], orElse };
}

/** One line for a person: what, where, what was seen, what to do. */
export function findingText({ kind, where, other, seen, whatToDo, orElse }: RigFinding): string {
  const elsewhere = orElse.length === 0 ? "" : ` (or ${orElse.map(faultText).join(", or ")})`;
  return `${faultText({ kind, where, other })}${elsewhere}: ${seen}. ${whatToDo}`;
}

/** `rig fit, quick check: 4 channels listened to, most hum 0.11 V on Q` */
export function rigCheckedText(checked: {
  readonly facts: RigFacts;
  readonly findings: readonly RigFinding[];
  readonly fit: boolean;
}): string {
  const { facts, findings, fit } = checked;
  const most = facts.quiet.reduce<ChannelQuiet | null>(
    (far, one) => (far === null || one.humV > far.humV ? one : far),
    null,
  );
  const hum = most === null ? "" : `, most hum ${voltsText(most.humV)} on ${most.channel}`;
  const said = findings.length === 0 ? "nothing to say" : `${findings.length} to say, worst first`;
  return `rig ${fit ? "fit" : "UNFIT"}, ${facts.depth} check: ${said}${hum}`;
}

function faultText({ kind, where, other }: RigFault): string {
  if (other === null) return `${kind}: ${where}`;
  if (kind === "swapped leads") return `${kind}: ${where} and ${other}`;
  if (kind === "stuck channel") return `${kind}: ${where} reads what ${other} reads`;
  return `${kind}: ${where} from ${other}`;
}

/** What one state of the relays is called. */
export function stateText(
  { rails, operated }: { readonly rails: readonly string[]; readonly operated: readonly string[] },
  plan: Plan,
): string {
  const on = rails.length === 0 ? "every relay released" : `${rails.join(", ")} on`;
  const isAll = rails.length === plan.rails.length && rails.length > 0;
  const moved = operated.length === 0 ? "" : `, ${operated.join(" and ")} operated`;
  return `${isAll ? "all rails on" : on}${moved}`;
}
