/** `holdfast-circuit`: the parts of a simulated board, electrical only. A plan never reads it. */
import { z } from "zod";
import tubes from "../../shared/tubes.json" with { type: "json" };
import { type LoadResult, loadDocument } from "./load-document.ts";
import { nameField, ohmField, textField, titleNameField } from "./schema-parts.ts";

const node = (about: string) =>
  nameField(`${about} A rail, common, a line, a net or an inner node.`);
const partName = nameField("Name of the part, such as R3; faults are put on it by this name.");

const triodeSchema = z
  .strictObject({
    part: partName,
    kind: z.literal("triode").describe("One section of a tube."),
    tube: nameField("Tube type with published constants, such as ECC82."),
    plate: node("Node of the plate."),
    grid: node("Node of the grid."),
    cathode: node("Node of the cathode."),
    heater: nameField("Heater part that heats this section."),
  })
  .describe("A triode section.");

const heaterSchema = z
  .strictObject({
    part: partName,
    kind: z.literal("heater").describe("Heater of one tube section."),
    from: node("One end."),
    to: node("Other end."),
    hotOhm: ohmField("Resistance at the rated current."),
    ratedW: z.number().positive().max(100).describe("Power at the rated current. Watts."),
  })
  .describe("A heater; cold it has a fifth of its resistance.");

const resistorSchema = z
  .strictObject({
    part: partName,
    kind: z.literal("resistor").describe("A resistor."),
    from: node("One end."),
    to: node("Other end."),
    ohm: ohmField("Resistance."),
    use: z
      .enum(["plate load", "coupling", "grid return", "bleeder"])
      .describe("What the resistor is there for.")
      .optional(),
  })
  .describe("A resistor.");

const capacitorSchema = z
  .strictObject({
    part: partName,
    kind: z.literal("capacitor").describe("A capacitor."),
    from: node("One end."),
    to: node("Other end."),
    farad: z.number().positive().max(1).describe("Capacitance. Farads."),
  })
  .describe("A capacitor.");

const diodeSchema = z
  .strictObject({
    part: partName,
    kind: z.literal("diode").describe("A small silicon diode."),
    anode: node("Node of the anode."),
    cathode: node("Node of the cathode."),
    use: z.enum(["input", "feedback"]).describe("What the diode is there for.").optional(),
  })
  .describe("A diode.");

const tubeTypes = Object.entries(tubes.types).flatMap(([name, { alike }]) => [name, ...alike]);

interface NamedPart {
  readonly part: string;
  readonly kind: string;
  readonly heater?: string;
  readonly tube?: string;
}

/** Names used once, every section with a heater of its own, every tube type known. */
function checkReferences(parts: readonly NamedPart[], context: z.RefinementCtx): void {
  const seen = new Set<string>();
  const heaters = new Set(parts.filter(({ kind }) => kind === "heater").map(({ part }) => part));
  const refuse = (path: readonly (string | number)[], message: string): void =>
    context.addIssue({ code: "custom", path: [...path], message });
  parts.forEach(({ part, heater, tube }, index) => {
    if (seen.has(part)) refuse([index, "part"], "expected a name no other part has");
    seen.add(part);
    if (tube !== undefined && !tubeTypes.includes(tube)) {
      refuse([index, "tube"], `expected a type of shared/tubes.json (${tubeTypes.join(", ")})`);
    }
    if (heater === undefined) return;
    if (heaters.delete(heater)) return;
    refuse([index, "heater"], "expected a heater part of this file that no other section has");
  });
}

export const circuitSchema = z
  .strictObject({
    format: z.literal("holdfast-circuit").describe("Name of this format."),
    version: z.literal(1).describe("Version of this format."),
    circuit: titleNameField("Name of the circuit."),
    parts: z
      .array(
        z.discriminatedUnion("kind", [
          triodeSchema,
          heaterSchema,
          resistorSchema,
          capacitorSchema,
          diodeSchema,
        ]),
      )
      .min(1)
      .max(500)
      .superRefine(checkReferences)
      .describe("Parts of the board and of the reservoirs on its side of the rail relays."),
    notes: textField("What is modelled and what is not.").optional(),
  })
  .describe("A simulated board.");

export type Circuit = z.infer<typeof circuitSchema>;
export type CircuitPart = Circuit["parts"][number];
export type PartOf<K extends CircuitPart["kind"]> = Extract<CircuitPart, { kind: K }>;

/** Circuit file text to a circuit, or every problem in it. */
export function loadCircuit(text: string, fileName: string): LoadResult<Circuit> {
  return loadDocument(text, fileName, circuitSchema);
}
