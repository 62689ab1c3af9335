/** Scenarios for tests, each with nothing in it but what is asked for. */

import { documentOf } from "../../../src/formats/load-document.ts";
import { loadScenario, type Scenario } from "../../../src/formats/scenario.schema.ts";

/** @param lines YAML beside the head, such as `sections: [{ section: V1a, lossPercentPerHour: 5 }]` */
export function scenarioWith(lines: string, seed = 1): Scenario {
  const head = `format: holdfast-scenario\nversion: 1\nscenario: test\nseed: ${seed}\n`;
  return documentOf(loadScenario(head + lines, "night.yaml")).value;
}
