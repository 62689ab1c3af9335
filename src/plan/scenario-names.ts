/** Whether what a scenario speaks of is there: sections and resistors of the circuit, rails, lines and nets of the rig. */
import type { Circuit } from "../formats/circuit.schema.ts";
import type { LoadedDocument } from "../formats/load-document.ts";
import type { FileProblem } from "../formats/problem.ts";
import type { Rig } from "../formats/rig.schema.ts";
import type { Scenario } from "../formats/scenario.schema.ts";
import type { ValuePath } from "../formats/yaml-tree.ts";
import { ProblemList } from "./problem-list.ts";

/** Every name that circuit and rig have not, at its place in the scenario. */
export function scenarioNameProblems(
  scenario: LoadedDocument<Scenario>,
  { circuit, rig }: { readonly circuit: Circuit; readonly rig: Rig },
): FileProblem[] {
  const problems = new ProblemList();
  const partsOf = (kind: string): string[] =>
    circuit.parts.filter((part) => part.kind === kind).map(({ part }) => part);
  const sections = partsOf("triode");
  const resistors = partsOf("resistor");
  const contacts = rig.outputs.map((output) =>
    output.drive === "relay" ? output.rail : output.line,
  );
  const rails: string[] = rig.outputs.flatMap((output) =>
    output.drive === "relay" ? [output.rail] : [],
  );
  const points = rig.channels.flatMap((channel) => {
    if ("rail" in channel) return [];
    return ["net" in channel ? channel.net : channel.line];
  });
  const expect = (
    path: ValuePath,
    name: string,
    { known, what, part }: { known: readonly string[]; what: string; part?: "key" },
  ): void => {
    if (known.includes(name)) return;
    problems.add(scenario, path, {
      code: "NAME_UNKNOWN",
      reason: `expected ${what}`,
      whatToDo: known.length === 0 ? "take it out" : `use one of ${known.join(", ")}`,
      known,
      ...(part === undefined ? {} : { part }),
    });
  };
  const { value } = scenario;
  const section = { known: sections, what: "a triode part of the circuit" };
  const resistor = { known: resistors, what: "a resistor of the circuit" };
  const rail = { known: rails, what: "a rail that the rig switches" };
  const contact = { known: contacts, what: "a rail or line of the rig's outputs" };
  const point = { known: points, what: "a net or line that has a channel in the rig" };
  for (const name of Object.keys(value.supplies)) {
    expect(["supplies", name], name, { ...rail, part: "key" });
  }
  for (const [at, one] of value.sections.entries()) {
    expect(["sections", at, "section"], one.section, section);
  }
  for (const [at, one] of value.joints.entries())
    expect(["joints", at, "part"], one.part, resistor);
  for (const [at, one] of value.sags.entries()) expect(["sags", at, "rail"], one.rail, rail);
  for (const [at, one] of value.contacts.entries()) {
    expect(["contacts", at, "contact"], one.contact, contact);
  }
  for (const [at, one] of value.glitches.entries()) {
    if (one.glitch === "misread") expect(["glitches", at, "channel"], one.channel, point);
    else if (one.glitch === "pull") expect(["glitches", at, "net"], one.net, point);
    else expect(["glitches", at, "contact"], one.contact, contact);
  }
  return problems.sorted();
}
