/** From checked files to the plan: only shapes change here, every check is done. */

import type { RailName } from "../events/levels.ts";
import type {
  PatternStep,
  Plan,
  PlannedChannel,
  PlannedLine,
  PlannedRail,
  PlannedStep,
  PlanSource,
} from "../events/plan.ts";
import type { Board } from "../formats/board.schema.ts";
import type { Rig, RigOutput } from "../formats/rig.schema.ts";
import { filterUs } from "../measure/divider.ts";
import { applyCalibration, type Calibrated } from "./apply-calibration.ts";
import { cautionsOf } from "./cautions.ts";
import { claimsOf } from "./claims.ts";
import { decideRule, plannedAccuracy } from "./decide-rule.ts";
import { estimatePassMs, readingMs } from "./estimate.ts";
import { FIXED_RAIL_WIRING } from "./fixed-wiring.ts";
import { plannedMains } from "./mains.ts";
import { plannedSoak } from "./planned-soak.ts";
import { type BoardRail, boardRails, channelName, type ProofDocuments } from "./proof-documents.ts";

/** What goes into a plan besides its three files. */
export interface PlanFacts {
  readonly sources: readonly PlanSource[];
  /** The newest calibration of the rig, and the day of the plan, on which it may count no more. */
  readonly calibrated: Calibrated | null;
}

/** The plan of files that passed every check. */
export function buildPlan(
  documents: ProofDocuments,
  {
    steps,
    cycle,
  }: { readonly steps: readonly PlannedStep[]; readonly cycle: readonly PatternStep[] },
  { sources, calibrated }: PlanFacts,
): Plan {
  const board = documents.board.value;
  const rig = documents.rig.value;
  const sequence = documents.sequence.value;
  const { warmUp } = sequence;
  const wired = plannedChannels(rig).map((channel) => withSource(channel, board));
  const applied = applyCalibration({ channels: wired, rig }, calibrated);
  const { channels, planned } = applied;
  const accuracy = plannedAccuracy(rig);
  const rule = decideRule({ board, rig }, channels, steps, applied.remarks);
  return {
    board: { name: board.board, revision: board.revision, title: board.title },
    rig: { name: rig.rig },
    sequence: { name: sequence.sequence },
    sources,
    contract: board.contract,
    rule,
    ...(accuracy === null ? {} : { accuracy }),
    ...(planned === null ? {} : { calibration: planned }),
    rails: plannedRails(documents),
    ceilings: { ...board.ceilings, contactDcV: rig.contactDcV },
    lines: rig.outputs.flatMap((output) => plannedLine(output)),
    ...plannedTrigger(rig),
    channels,
    ...plannedLoopback(rig),
    stages: Object.entries(board.stages).map(([stage, facts]) => ({
      stage,
      type: facts.type,
      ...(facts.position === undefined ? {} : { position: facts.position }),
      ...(facts.section === undefined ? {} : { section: facts.section }),
      inputs: facts.inputs,
      output: facts.output,
    })),
    samples: rig.samples,
    ...plannedMains(rig),
    slowestTimeConstantMs: board.slowestTimeConstantMs,
    warmUp: {
      heaterBeforePlateMs: board.heaterBeforePlateMs,
      exercise: warmUp.exercise,
      timeoutMs: warmUp.timeoutMs,
      steadyBandV: warmUp.steady.bandV,
      steadyForMs: warmUp.steady.forMs,
    },
    steps,
    ...plannedSoak(sequence, cycle),
    claims: claimsOf(documents, { steps, cycle }, rule),
    cautions: cautionsOf(documents),
    estimatedPassMs: estimatePassMs(steps, readingMs(rig)),
  };
}

/** The current of a rail that has a shunt; the checks have seen to its limits. */
function plannedCurrent(
  rail: RailName,
  limits: BoardRail,
  { shunts = [] }: Rig,
): Pick<PlannedRail, "current"> {
  const shunt = shunts.find((one) => one.rail === rail);
  if (shunt === undefined || limits.currentMa === undefined) return {};
  const [lowMa, highMa] = limits.currentMa;
  const channel = currentChannel(rail);
  return { current: { channel, ohm: shunt.ohm, lowA: lowMa / 1000, highA: highMa / 1000 } };
}

function currentChannel(rail: RailName): string {
  return `${rail}.current`;
}

function plannedRails({ board, rig }: ProofDocuments): PlannedRail[] {
  return boardRails(board.value).map(({ rail, limits }) => ({
    rail,
    output: FIXED_RAIL_WIRING[rail].output,
    nominalV: limits.nominalV,
    window: { lowV: limits.windowV[0], highV: limits.windowV[1] },
    ceilingV: limits.ceilingV,
    safeV: limits.safeV,
    sourceChannel: `${rail}.source`,
    boardChannel: `${rail}.board`,
    riseMsMax: limits.riseMs,
    fallMsMax: limits.fallMs,
    ...plannedCurrent(rail, limits, rig.value),
  }));
}

/** Of a small relay with its bounce, common practice: 5 to 10 ms. */
const RELAY_MS = 10;

function driverMsOf({ driverMs = RELAY_MS }: { readonly driverMs?: number | undefined }): number {
  return driverMs;
}

type Changeover = Extract<RigOutput, { drive: "changeover" }>;

function plannedLine(output: RigOutput): PlannedLine[] {
  if (output.drive === "relay" || output.drive === "trigger") return [];
  const { line } = output;
  if (output.drive === "load") {
    const { net, loadOhm: ohm, to } = output;
    return [
      {
        line,
        output: output.output,
        drive: "load",
        driverMs: driverMsOf(output),
        load: { net, ohm, to },
        releasedLevel: null,
        channel: null,
        source: null,
      },
    ];
  }
  const { released, operated } = output;
  const low = released.level === "low" ? released : operated;
  const high = released.level === "low" ? operated : released;
  return [
    {
      line,
      output: output.output,
      drive: "changeover",
      releasedLevel: released.level,
      driverMs: driverMsOf(output),
      channel: line,
      source: {
        low: plannedSource(low),
        high: plannedSource(high),
      },
    },
  ];
}

function plannedSource({ from, sourceV: volts, sourceOhm: ohm }: Changeover["released"]) {
  return { volts, ohm, ...(from === undefined ? {} : { from }) };
}

function plannedLoopback({ loopback }: Rig): Pick<Plan, "loopback"> {
  if (loopback === undefined) return {};
  return { loopback: loopback.map(({ line, net, ohm = 0 }) => ({ line, net, ohm })) };
}

function plannedTrigger({ outputs }: Rig): Pick<Plan, "trigger"> {
  const trigger = outputs.find((output) => output.drive === "trigger");
  return trigger === undefined ? {} : { trigger: { line: trigger.line, output: trigger.output } };
}

/** What the board file says of the net's own resistance. */
function withSource(channel: PlannedChannel, { sources = {} }: Board): PlannedChannel {
  const known = channel.reads.kind === "net" ? sources[channel.reads.net] : undefined;
  if (known === undefined) return channel;
  const { lowOhm, highOhm, percent } = known;
  return { ...channel, source: { lowOhm, highOhm, part: percent / 100 } };
}

/** Nothing to common: a channel without a divider, as one. Ohms. */
const NO_BOTTOM_OHM = 1e9;

/** Channels that read the rig itself. */
function rigChannels({ reference, ground, temperature, referenceV }: Rig): PlannedChannel[] {
  const straight = (name: string, wired: StraightWiring, reads: PlannedChannel["reads"]) => {
    const divider = { topOhm: wired.sourceOhm, bottomOhm: NO_BOTTOM_OHM, pullUpOhm: null };
    const us = filterUs(divider, wired.capacitorNf);
    return [{ name, number: wired.channel, reads, divider, referenceV, filterUs: us }];
  };
  const channels: PlannedChannel[] = [];
  if (reference !== undefined) {
    const { volts, percent, driftPercent } = reference;
    const drift = driftPercent === undefined ? {} : { driftPart: driftPercent / 100 };
    const reads = { kind: "reference", volts, part: percent / 100, ...drift } as const;
    channels.push(...straight("reference", reference, reads));
  }
  if (temperature !== undefined) {
    const { zeroMv, mvPerK } = temperature;
    const reads = {
      kind: "temperature",
      zeroV: zeroMv / 1000,
      voltsPerK: mvPerK / 1000,
    } as const;
    channels.push(...straight("temperature", temperature, reads));
  }
  if (ground !== undefined) {
    const { topOhm, bottomOhm, pullUpOhm } = ground;
    const divider = { topOhm, bottomOhm, pullUpOhm };
    const us = filterUs(divider, ground.capacitorNf);
    const reads = { kind: "ground" } as const;
    const number = ground.channel;
    channels.push({ name: "ground", number, reads, divider, referenceV, filterUs: us });
  }
  return channels;
}

interface StraightWiring {
  readonly channel: number;
  readonly sourceOhm: number;
  readonly capacitorNf: number;
}

function plannedChannels(rig: Rig): PlannedChannel[] {
  const shunts = (rig.shunts ?? []).map((shunt): PlannedChannel => {
    const { rail, ohm, topOhm, bottomOhm, pullUpOhm } = shunt;
    return {
      name: currentChannel(rail),
      number: shunt.channel,
      reads: { kind: "shunt", rail, ohm },
      divider: { topOhm, bottomOhm, pullUpOhm },
      referenceV: rig.referenceV,
      filterUs: filterUs({ topOhm, bottomOhm, pullUpOhm }, shunt.capacitorNf),
    };
  });
  return rig.channels
    .map((channel): PlannedChannel => {
      const { channel: number, topOhm, bottomOhm, pullUpOhm = null } = channel;
      return {
        name: channelName(channel),
        number,
        reads:
          "rail" in channel
            ? { kind: "rail", rail: channel.rail, at: channel.at }
            : "net" in channel
              ? { kind: "net", net: channel.net }
              : { kind: "line", line: channel.line },
        divider: { topOhm, bottomOhm, pullUpOhm },
        referenceV: rig.referenceV,
        filterUs: filterUs({ topOhm, bottomOhm, pullUpOhm }, channel.capacitorNf),
      };
    })
    .concat(shunts, rigChannels(rig))
    .sort((a, b) => a.number - b.number);
}
