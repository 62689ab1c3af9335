/** A calibration as the text of its file: one line for each point, so that a person can read it. */
import { Document, isMap, isSeq, type Node } from "yaml";
import type { Calibration } from "./calibration.schema.ts";

/** Keys whose values stand in one line. */
const IN_ONE_LINE = ["meter", "reference", "wired", "fit"];

export function calibrationText(calibration: Calibration): string {
  const document = new Document(calibration);
  const flow = (node: unknown): void => {
    if (isMap(node)) node.flow = true;
  };
  const top = document.contents;
  for (const key of IN_ONE_LINE) flow(document.get(key));
  const channels: unknown = isMap(top) ? top.get("channels") : null;
  for (const pair of isMap(channels) ? channels.items : []) {
    const channel = pair.value as Node;
    if (!isMap(channel)) continue;
    for (const key of IN_ONE_LINE) flow(channel.get(key));
    const points: unknown = channel.get("points");
    if (isSeq(points)) points.items.forEach(flow);
  }
  // A point is longer than a line of text, and stays one line.
  return document.toString({ lineWidth: 0 });
}
