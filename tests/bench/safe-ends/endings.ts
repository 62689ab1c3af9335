/** The ways a run can end, and the moments at which each is made to happen. */

/** What is done to bring the end about, and to whom. */
type Act =
  | { readonly to: "nobody" }
  | { readonly to: "host"; readonly signal: NodeJS.Signals }
  | { readonly to: "keyboard"; readonly key: string }
  | { readonly to: "bench"; readonly control: Readonly<Record<string, unknown>> }
  | { readonly to: "disk" }
  | { readonly to: "lead"; readonly channel: string };

export interface Ending {
  readonly name: string;
  readonly act: Act;
  /** What the preload in inject.ts does on SIGUSR2. */
  readonly inject?: "throw" | "hang";
  /** Only this ending may end in a pass. */
  readonly mayPass?: true | undefined;
}

export const endings: readonly Ending[] = [
  { name: "end", act: { to: "nobody" }, mayPass: true },
  { name: "stop key", act: { to: "keyboard", key: "s" } },
  { name: "SIGINT", act: { to: "host", signal: "SIGINT" } },
  { name: "SIGTERM", act: { to: "host", signal: "SIGTERM" } },
  { name: "SIGHUP", act: { to: "host", signal: "SIGHUP" } },
  { name: "SIGKILL", act: { to: "host", signal: "SIGKILL" } },
  { name: "SIGSTOP", act: { to: "host", signal: "SIGSTOP" } },
  { name: "hung machine", act: { to: "host", signal: "SIGUSR2" }, inject: "hang" },
  { name: "uncaught exception", act: { to: "host", signal: "SIGUSR2" }, inject: "throw" },
  { name: "disk full", act: { to: "disk" } },
  { name: "data lost", act: { to: "bench", control: { do: "lose-data" } } },
  { name: "5 V lost", act: { to: "bench", control: { do: "cut-5v" } } },
  { name: "cable pulled", act: { to: "bench", control: { do: "unplug" } } },
  { name: "controller reset", act: { to: "bench", control: { do: "reset" } } },
  {
    name: "trip",
    act: {
      to: "bench",
      control: { do: "change", part: "supply.plate", parameter: "volts", value: 62 },
    },
  },
  { name: "lead lost", act: { to: "lead", channel: "plate.board" } },
];

/** The phase in which the end comes, and how long after its start, ms of the bench's time. */
export interface Moment {
  readonly phase:
    | "heating"
    | "raising plate"
    | "warming up"
    | "holding"
    | "by hand"
    | "frozen"
    | "standby";
  readonly afterMs: number;
}

const spans: readonly (readonly [Moment["phase"], number])[] = [
  ["warming up", 4000],
  ["holding", 1500],
  ["raising plate", 150],
  ["heating", 2500],
  ["standby", 4000],
  ["frozen", 4000],
  ["by hand", 4000],
];

/** What brings a run into a phase: the command, its options, a fault of the board, lines typed. */
export interface Conduct {
  readonly command: "prove" | "hand";
  readonly options: readonly string[];
  readonly faults: readonly string[];
  readonly typed: string;
}

const plain: Conduct = { command: "prove", options: [], faults: [], typed: "" };
const conducts: Readonly<Partial<Record<Moment["phase"], Conduct>>> = {
  "by hand": {
    ...plain,
    command: "hand",
    options: ["--minutes", "1"],
    typed: "SET high\npulse RESET\nwait 500\n".repeat(20),
  },
  frozen: {
    ...plain,
    options: ["--freeze", "20"],
    faults: ["V1a.emission=0.55"],
    typed: "loop 1\n",
  },
  standby: { ...plain, options: ["--standby", "1"] },
};

export function conductAt({ phase }: Moment): Conduct {
  return conducts[phase] ?? plain;
}

/**
 * What an ending is in that phase. In standby only the heaters are left to go wrong, and a stop finds
 * nothing more to break: the pass stands. A run by hand ends well when it ends as wished, and one that
 * froze has failed.
 */
export function endingAt(ending: Ending, { phase }: Moment): Ending {
  if (phase === "frozen") return { ...ending, mayPass: undefined };
  if (phase !== "standby") return ending;
  if (ending.name === "trip") {
    const control = { do: "change", part: "supply.heater", parameter: "volts", value: 18 };
    return { ...ending, act: { to: "bench", control } };
  }
  if (ending.act.to === "lead") return { ...ending, act: { to: "lead", channel: "heater.board" } };
  return STOPS.has(ending.name) ? { ...ending, mayPass: true } : ending;
}

const STOPS: ReadonlySet<string> = new Set(["stop key", "SIGINT", "SIGTERM", "SIGHUP"]);

/** Seeded moments: each seed takes one phase in turn and a place inside it by a small generator. */
export function momentOf(seed: number): Moment {
  const [phase, spanMs] = spans[seed % spans.length] ?? ["warming up", 4000];
  const scattered = (Math.imul(seed + 1, 0x9e3779b1) >>> 0) / 2 ** 32;
  return { phase, afterMs: Math.round(scattered * spanMs) };
}
