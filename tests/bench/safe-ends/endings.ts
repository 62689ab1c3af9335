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
  readonly phase: "heating" | "raising plate" | "warming up" | "holding";
  readonly afterMs: number;
}

const spans: readonly (readonly [Moment["phase"], number])[] = [
  ["warming up", 4000],
  ["holding", 1500],
  ["raising plate", 150],
  ["heating", 2500],
];

/** Seeded moments: each seed takes one phase in turn and a place inside it by a small generator. */
export function momentOf(seed: number): Moment {
  const [phase, spanMs] = spans[seed % spans.length] ?? ["warming up", 4000];
  const scattered = (Math.imul(seed + 1, 0x9e3779b1) >>> 0) / 2 ** 32;
  return { phase, afterMs: Math.round(scattered * spanMs) };
}
