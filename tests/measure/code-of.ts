/** Code of an ideal converter for a node, by superposition: no code of src/measure. */
export function singleCodeOf(
  nodeV: number,
  parts: { readonly topOhm: number; readonly bottomOhm: number; readonly pullUpOhm: number | null },
  referenceV: number,
): number {
  const up = parts.pullUpOhm === null ? 0 : 1 / parts.pullUpOhm;
  const total = 1 / parts.topOhm + 1 / parts.bottomOhm + up;
  const pinV = (nodeV / parts.topOhm + referenceV * up) / total;
  return Math.floor((1024 * pinV) / referenceV);
}
