/** What a soak's drift says of sections, as the index of runs keeps it: a row for each that it may lie with. */
import type { DriftRow } from "../store/run-index/tables.ts";
import type { DriftFinding, DriftReport } from "../verdict/drift/report.ts";

export function driftRows(run: string, report: DriftReport): DriftRow[] {
  const { findings, positions, levels, hours } = report;
  return findings.flatMap((finding) => {
    const { net, kind } = finding;
    const suspects = [...finding.sections, ...finding.behind].flatMap((section) => {
      const position = positions[section];
      return position === undefined ? [] : [{ section, position }];
    });
    const level = levels.find(
      (one) => one.net === net && one.class === (kind === "high level falls" ? "high" : "low"),
    );
    return suspects.map(({ section, position }) => ({
      run,
      position,
      section,
      net,
      kind,
      orElse: suspects
        .filter((other) => other.position !== position)
        .map((other) => other.section)
        .join(", "),
      movedV: movedOf(finding),
      levelV: level?.levelV ?? null,
      ownSd: "sd" in finding ? finding.sd : Math.abs(finding.ownSd),
      hours,
    }));
  });
}

function movedOf(finding: DriftFinding): number {
  switch (finding.kind) {
    case "loses emission":
    case "high level falls":
      return finding.driftV;
    case "level step":
      return finding.stepV;
    case "slow to conduct":
      return finding.firstV;
    case "weak when cooler":
      return finding.riseV;
  }
}
