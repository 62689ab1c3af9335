/** A run whose rig knows how well it reads, under the guarded rule: one net comes too near its limit. */
import type { JudgedReading, RunEvent } from "../../src/events/events.ts";
import type { LevelClass } from "../../src/events/levels.ts";
import type { Plan } from "../../src/events/plan.ts";
import { ruleText } from "../../src/verdict/decision-rule.ts";
import { judgeReading } from "../../src/verdict/judge.ts";
import { healthyEvents, latchPlan, opened, reading } from "./latch-run.ts";

const guardedPlan: Plan = {
  ...latchPlan,
  rule: { name: "guarded", evaluated: true, remarks: ["ground shift not measured and not in U"] },
  accuracy: {
    resistorPart: 0.01,
    referencePart: 0.05,
    linearitySteps: 2,
    perK: 0.0001,
    spanK: 10,
  },
  calibration: {
    date: "2026-03-01T09:00:00.000+00:00",
    expires: "2027-03-01",
    id: "0123456789ab",
    meter: "hand meter, checked 2026-02-01",
    celsius: 21,
  },
  channels: latchPlan.channels.map((channel) =>
    channel.name === "Q"
      ? {
          ...channel,
          source: { lowOhm: 9000, highOhm: 42_000, part: 0.15 },
          humV: 0.05,
          calibration: {
            gain: 1.01,
            offsetV: -0.02,
            fit: { gainU: 0.001, offsetU: 0.02, covariance: -0.00001, dof: null },
            meter: { part: 0.005, volts: 0.02 },
            lowV: 5,
            highV: 50,
            residualV: 0.01,
          },
        }
      : channel,
  ),
};

/** @param volts of Q low; its limit VOL is 14 V and its U 0.4 V */
function guardedNets(expect: Readonly<Record<string, LevelClass>>, volts: number): JudgedReading[] {
  return Object.entries(expect).map(([net, expected]) =>
    judgeReading(
      { ...reading(net, expected === "low" ? volts : 44.8), expandedV: 0.4 },
      expected,
      guardedPlan,
    ),
  );
}

/** The healthy run, with Q low at these volts in its pattern and its hold. */
export function guardedEvents(lowV: number, verdict: "pass" | "conditional pass"): RunEvent[] {
  return healthyEvents.flatMap((event): RunEvent[] => {
    switch (event.kind) {
      case "run-opened":
        return [
          {
            ...opened,
            ...event,
            version: 3,
            mode: "proof",
            run: "2026-05-02-guarded",
            rule: ruleText(guardedPlan.rule),
            plan: guardedPlan,
          },
        ];
      case "reading": {
        const nets = event.readings.some(({ channel }) => channel === "Q");
        if (!nets) return [event];
        const expect = Object.fromEntries(
          event.readings.map(({ channel, expected }) => [channel, expected]),
        );
        const readings = guardedNets(expect, lowV);
        return event.part === "pattern"
          ? [
              { kind: "budget", budget: budgetOfQ(lowV) },
              { ...event, readings },
            ]
          : [{ ...event, readings }];
      }
      case "hold-progress":
        return [{ ...event, worst: withU(event.worst, lowV) }];
      case "step-ended":
        return [{ ...event, result: lowV > 13.6 ? "conditional pass" : "pass" }];
      case "run-closed":
        return [{ ...event, verdict }];
      default:
        return [event];
    }
  });
}

function withU(
  worst: Extract<RunEvent, { kind: "hold-progress" }>["worst"],
  lowV: number,
): Extract<RunEvent, { kind: "hold-progress" }>["worst"] {
  return Object.fromEntries(
    Object.entries(worst).map(([net, one]) => [
      net,
      one.highV < 20 ? { lowV, highV: lowV, expandedV: 0.4 } : { ...one, expandedV: 0.9 },
    ]),
  );
}

function budgetOfQ(volts: number): Extract<RunEvent, { kind: "budget" }>["budget"] {
  return {
    channel: "Q",
    class: "low",
    volts,
    terms: [
      {
        name: "noise",
        shape: "normal",
        halfV: null,
        u: 0.05,
        dof: 11.3,
        basis: "range of 16 samples",
      },
      {
        name: "converter",
        shape: "rectangular",
        halfV: 0.346,
        u: 0.2,
        dof: null,
        basis: "straight to 2 steps",
      },
    ],
    u: 0.206,
    dof: null,
    k: 1.94,
    expandedV: 0.4,
  };
}
