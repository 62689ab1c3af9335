/** `holdfast budget`: what the readings of a proof will be uncertain by, and what that costs, from its files. */
import type { LevelClass } from "../events/levels.ts";
import type { Plan, PlannedChannel } from "../events/plan.ts";
import { type Budget, budgetForJson } from "../measure/uncertainty/budget.ts";
import { plannedBudget } from "../measure/uncertainty/planned-budget.ts";
import { limitText, uncertaintyText } from "../measure/volts-text.ts";
import { ruleText } from "../verdict/decision-rule.ts";
import { resultProbabilities } from "../verdict/risk.ts";
import type { CheckIo } from "./check.ts";
import { EXIT, type ExitStatus } from "./exit-status.ts";
import { proofOrProblems } from "./proof-problems.ts";
import { UsageError } from "./usage-error.ts";

export interface AskedBudget {
  readonly channel?: string;
  readonly json?: boolean;
}

interface Told {
  readonly channel: string;
  readonly class: LevelClass;
  readonly limitV: number;
  readonly budget: Budget;
}

/** @throws UsageError, NoSuchFolder */
export async function budgetCommand(
  folder: string,
  asked: AskedBudget,
  io: CheckIo,
): Promise<ExitStatus> {
  const proof = await proofOrProblems(folder);
  if (proof === null) return EXIT.wrongUsage;
  const { plan } = proof;
  if (plan.rule?.evaluated !== true) {
    io.error(`${plan.rule?.remarks[0] ?? "uncertainty not evaluated"}.`);
    io.error(
      "Next: add accuracy: { resistorPercent: 1, referencePercent: 5 } to the rig file, with what yours are.",
    );
    return EXIT.notPass;
  }
  const told = chosen(plan, asked).flatMap((channel) => bothLimits(channel, plan));
  if (asked.json === true) {
    for (const one of told) io.out(JSON.stringify({ ...one, budget: budgetForJson(one.budget) }));
    return EXIT.pass;
  }
  io.out(`Rule: ${ruleText(plan.rule)}.`);
  for (const one of told) for (const line of table(one, plan)) io.out(line);
  for (const remark of plan.rule.remarks) io.out(`Note: ${remark}.`);
  io.out("A reading's own noise comes on top; the record says what it was.");
  return EXIT.pass;
}

function chosen(plan: Plan, { channel }: AskedBudget): PlannedChannel[] {
  const nets = plan.channels.filter(({ reads }) => reads.kind === "net");
  if (channel === undefined) return nets;
  const found = nets.filter(({ name }) => name === channel);
  if (found.length > 0) return found;
  throw new UsageError(
    `Expected --channel as one of ${nets.map(({ name }) => name).join(", ")}, got "${channel}".`,
  );
}

function bothLimits(channel: PlannedChannel, plan: Plan): Told[] {
  const { volV, vohV } = plan.contract;
  const limits = [
    ["low", volV],
    ["high", vohV],
  ] as const;
  return limits.flatMap(([found, limitV]) => {
    const budget = plannedBudget(channel, limitV, found, plan);
    return budget === null ? [] : [{ channel: channel.name, class: found, limitV, budget }];
  });
}

const NAME_COLUMNS = 14;
const SHAPE_COLUMNS = 12;
const NUMBER_COLUMNS = 10;

function table({ channel, class: found, limitV, budget }: Told, { rule }: Plan): string[] {
  const { u, expandedV, k, terms } = budget;
  const head = [
    "term".padEnd(NAME_COLUMNS),
    "taken as".padEnd(SHAPE_COLUMNS),
    "within V".padStart(NUMBER_COLUMNS),
    "u V".padStart(NUMBER_COLUMNS),
    "share".padStart(NUMBER_COLUMNS),
    "  rests on",
  ].join("");
  const rows = terms.map((term) =>
    [
      term.name.padEnd(NAME_COLUMNS),
      term.shape.padEnd(SHAPE_COLUMNS),
      (term.halfV === null ? "" : uncertaintyText(term.halfV)).padStart(NUMBER_COLUMNS),
      uncertaintyText(term.u).padStart(NUMBER_COLUMNS),
      `${Math.round((100 * term.u ** 2) / (u ** 2 || 1))} %`.padStart(NUMBER_COLUMNS),
      `  ${term.basis}`,
    ].join(""),
  );
  return [
    "",
    `${channel} ${found}, at its limit of ${limitText(limitV)} V`,
    head,
    ...rows,
    `u ${uncertaintyText(u)} V, U ${uncertaintyText(expandedV)} V for 95 % (k ${k.toFixed(2)})`,
    ...(rule?.name === "guarded" ? guardLines(found, limitV, budget) : []),
  ];
}

/** What the guard band asks of a board, and how often a board that is there passes. */
function guardLines(found: LevelClass, limitV: number, { expandedV }: Budget): string[] {
  const side = found === "low" ? -1 : 1;
  const bound = limitV + side * expandedV;
  const passes = (insideU: number) =>
    `${Number((100 * resultProbabilities(insideU * expandedV, expandedV).pass).toPrecision(3))} %`;
  return [
    `passes when it reads ${limitText(bound)} V or ${found === "low" ? "less" : "more"}; conditional up to the limit`,
    `a net at the limit passes ${passes(0)} of the time, one U inside it ${passes(1)}, two U inside it ${passes(2)}`,
  ];
}
