/** What a rig file means, in words. */
import type { Rig, RigChannel, RigOutput } from "../../formats/rig.schema.ts";
import { rigOwnChannels } from "../../pictures/rig-channels.ts";
import { readableRange, volts } from "../../plan/divider-range.ts";
import { channelName } from "../../plan/proof-documents.ts";
import { ohms, smallVolts } from "../../plan/quantity-words.ts";

export function describeRig(rig: Rig): string[] {
  const bench =
    rig.bench.kind === "emulated"
      ? `emulated bench, circuit ${rig.bench.circuit}`
      : `controller on ${rig.bench.port}`;
  const channels = [...rig.channels].sort((a, b) => a.channel - b.channel);
  return [
    `Rig ${rig.rig}: ${bench}; reference ${volts(rig.referenceV)}, ${rig.samples} conversions a reading; never more than ${volts(rig.contactDcV)} across a contact`,
    "Supplies and lines:",
    ...rig.outputs.map((output) => `  ${outputWords(output, channels)}`),
    ...(rig.outputs.some(({ drive }) => drive === "changeover" || drive === "load")
      ? ["  by hand and while frozen, these lines and loads are yours to move"]
      : []),
    "Channels:",
    ...channels.map((channel) => {
      const { lowV, highV, stepV } = readableRange(channel, rig.referenceV);
      return `  ${channel.channel} reads ${channelName(channel)}: ${volts(lowV)} to ${volts(highV)}, ${smallVolts(stepV)} a code`;
    }),
    ...(rig.shunts ?? []).map(
      ({ channel, rail, ohm }) => `  ${channel} reads the current of ${rail}, shunt ${ohms(ohm)}`,
    ),
    ...rigOwnChannels(rig).map(({ channel, words }) => `  ${channel} reads ${words}`),
    ...accuracyWords(rig),
  ];
}

function accuracyWords({ accuracy }: Rig): string[] {
  if (accuracy === undefined) return [];
  const { resistorPercent, referencePercent } = accuracy;
  return [
    `Parts: divider resistors within ${resistorPercent} %, the converter's reference within ${referencePercent} %; holdfast budget says what comes of it`,
  ];
}

function outputWords(output: RigOutput, channels: readonly RigChannel[]): string {
  if (output.drive === "relay") {
    return `${output.rail}: output ${output.output}, ${volts(output.sourceV)} through ${ohms(output.sourceOhm)}`;
  }
  const head = `${output.line}: output ${output.output}`;
  if (output.drive === "trigger") {
    return `${head}, triggers an oscilloscope at each turn while frozen`;
  }
  if (output.drive === "load") {
    return `${head}, connects ${ohms(output.loadOhm)} from ${output.net} to ${output.to}`;
  }
  const position = (name: "released" | "operated") => {
    const { level, from, sourceV, sourceOhm } = output[name];
    const origin = from === undefined ? "" : ` taken from ${from}`;
    return `${name} ${level}, ${volts(sourceV)}${origin} through ${ohms(sourceOhm)}`;
  };
  const reader = channels.find((channel) => channelName(channel) === output.line);
  const readBack = reader === undefined ? "" : `; read back on channel ${reader.channel}`;
  return `${head}, ${position("released")}; ${position("operated")}${readBack}`;
}
