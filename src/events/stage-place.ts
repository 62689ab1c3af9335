/** Where on a board a stage is: its socket and section, such as V1a. */

/**
 * @returns socket and section; null for a gate without a tube, which has neither
 */
export function stagePlace(stage: {
  readonly position?: string | undefined;
  readonly section?: string | undefined;
}): string | null {
  return stage.position === undefined ? null : `${stage.position}${stage.section ?? ""}`;
}

/** ` in V1a`, or nothing for a gate without a tube. */
export function inPlace(stage: Parameters<typeof stagePlace>[0]): string {
  const place = stagePlace(stage);
  return place === null ? "" : ` in ${place}`;
}
