/** IEEE 488.2 common commands and SYSTem of a modelled controller. */
import { bare, type CommandTable } from "./command.ts";

const FIRMWARE = "1.2.0";
const ABILITIES = "TRAIL,ONCE,SPREAD,STEP,BLOCK,PULSE,STAGGER,TRAIN,BURST,STORE,COUNT,STACK";

/** What `SYST:STAC?` says where there is no stack to speak of. */
const STACK_FREE = "1000";

export const STATUS_COMMANDS: CommandTable = [
  ["*IDN?", bare(() => `HOLDFAST,CONTROLLER,0,${FIRMWARE}`)],
  [
    "*RST",
    bare(({ power }) => {
      power.reset();
      return "";
    }),
  ],
  [
    "*CLS",
    bare(({ status }) => {
      status.clear();
      return "";
    }),
  ],
  ["*ESR?", bare(({ status }) => String(status.takeEvents()))],
  [
    "*ESE",
    ({ status }, take) => {
      const mask = take.integer(0, 255);
      take.end();
      status.eventMask = mask;
      return "";
    },
  ],
  ["*ESE?", bare(({ status }) => String(status.eventMask))],
  ["*STB?", bare(({ status, messageAvailable }) => String(status.byte(messageAvailable)))],
  [
    "*SRE",
    ({ status }, take) => {
      const mask = take.integer(0, 255);
      take.end();
      status.requestMask = mask;
      return "";
    },
  ],
  ["*SRE?", bare(({ status }) => String(status.requestMask))],
  [
    "*OPC",
    ({ status, power }, take) => {
      take.end();
      status.wantComplete();
      status.look(power.orderRuns);
      return "";
    },
  ],
  [
    "*OPC?",
    bare(
      ({ power }) =>
        () =>
          power.orderRuns ? null : "1",
    ),
  ],
  [
    "*WAI",
    bare(
      ({ power }) =>
        () =>
          power.orderRuns ? null : "",
    ),
  ],
  ["*TST?", bare(() => "0")],
  ["SYSTem:ERRor[:NEXT]?", bare(({ status }) => status.next())],
  ["SYSTem:ERRor:COUNt?", bare(({ status }) => String(status.waiting))],
  ["SYSTem:VERSion?", bare(() => "1999.0")],
  [
    "SYSTem:BOOT?",
    ({ cause, memory, agenda, bootedUs }, take) => {
      take.end();
      return `${cause},${memory.boots},${Math.floor((agenda.nowUs - bootedUs) / 1000)}`;
    },
  ],
  ["SYSTem:CAPability?", bare(() => "1,8,22,64,5")],
  ["SYSTem:CAPability:LIST?", bare(() => ABILITIES)],
  ["SYSTem:WIRing?", bare(() => "HEATer,1,1,2;BIAS,2,3,4;PLATe,3,5,6;HIGH")],
  ["SYSTem:LINK?", bare(({ linkCounts }) => linkCounts.join(","))],
  ["SYSTem:COUNt?", bare(({ power }) => power.counts.counts.join(","))],
  ["SYSTem:STACk?", bare(() => STACK_FREE)],
  [
    "SYSTem:DEADman",
    ({ power }, take) => {
      const ms = take.integer(100, 600);
      take.end();
      power.deadmanMs = ms;
      return "";
    },
  ],
  ["SYSTem:DEADman?", bare(({ power }) => String(power.deadmanMs))],
  [
    "SYSTem:DEADman:FALL",
    ({ power }, take) => {
      const code = take.integer(0, 1023);
      take.end();
      power.fallCode = code;
      return "";
    },
  ],
  ["SYSTem:DEADman:FALL?", bare(({ power }) => String(power.fallCode))],
  [
    "SYSTem:FEED",
    ({ power }, take) => {
      const scan = take.integer(0, 65_535);
      take.end();
      power.feed(scan);
      return "";
    },
  ],
  ["SYSTem:OFF?", bare(({ power }) => power.stage)],
];
