/**
 * Every reading of a run as CSV, one row each, in the order in which they were sealed.
 *
 * @source RFC 4180, section 2: CRLF after each record, a header line, quotes where a field has a comma,
 * a quote or a line break, quotes inside doubled. A text from a file that a spreadsheet would take for a
 * formula is given an apostrophe before it (common practice); figures stay figures.
 */
import type { ChannelReading, JournalEntry, JudgedReading } from "../../events/events.ts";
import type { Plan } from "../../events/plan.ts";

const CSV_COLUMNS = [
  "n",
  "ms",
  "kind",
  "step",
  "step_name",
  "part",
  "cycle",
  "channel",
  "volts",
  "expanded_u_volts",
  "ripple_volts",
  "no_reading",
  "expected",
  "class",
  "result",
  "reason",
  "limit_volts",
  "margin_volts",
  "code_sum",
  "code_count",
  "code_min",
  "code_max",
] as const;

type Column = (typeof CSV_COLUMNS)[number];
type Cells = Partial<Readonly<Record<Column, string | number | null | undefined>>>;

const CRLF = "\r\n";

/** What a spreadsheet would compute. */
const FORMULA = /^[=+\-@\t\r]/;

export class ReadingsCsv {
  #plan: Plan | null = null;
  #cycleNames: readonly string[] = [];

  header(): string {
    return CSV_COLUMNS.join(",") + CRLF;
  }

  /** Rows of one entry, each with its line end; empty for an entry without readings. */
  take({ n, ms, event }: JournalEntry): string {
    const { kind } = event;
    const at = { n, ms, kind };
    switch (event.kind) {
      case "run-opened":
        this.#plan = event.plan;
        this.#cycleNames = (event.soak?.cycle ?? []).map(({ name }) => name);
        return "";
      case "watch":
      case "hand-reading":
        return rows(at, event.readings);
      case "gate":
        return rows({ ...at, part: event.gate }, [event.reading]);
      case "warm-up-ended":
        return rows(
          { ...at, part: "cold" },
          event.cold.flatMap((one) => one.reading ?? []),
        );
      case "reading":
        return rows({ ...at, ...this.#step(event.step), part: event.part }, event.readings);
      case "freeze-turn":
        return rows({ ...at, ...this.#step(event.step), part: "repeated" }, event.readings);
      case "soak-readings": {
        const whole = { ...at, cycle: event.cycle, part: event.moment };
        const judged = event.steps.map(({ step, readings }) =>
          rows({ ...whole, ...this.#cycleStep(step) }, readings),
        );
        return judged.join("") + rows(whole, event.rails);
      }
      case "cycle-error": {
        const whole = { ...at, cycle: event.cycle, ...this.#cycleStep(event.step) };
        return rows(whole, event.readings) + rows(whole, event.rails);
      }
      default:
        return "";
    }
  }

  #step(step: number): Cells {
    return { step: step + 1, step_name: this.#plan?.steps[step]?.name };
  }

  #cycleStep(step: number): Cells {
    return { step: step + 1, step_name: this.#cycleNames[step] };
  }
}

function rows(shared: Cells, readings: readonly (ChannelReading | JudgedReading)[]): string {
  return readings.map((one) => row({ ...shared, ...cellsOf(one) })).join("");
}

function cellsOf(reading: ChannelReading | JudgedReading): Cells {
  const { channel, volts, expandedV, rippleV, noReading, sum, count, min, max } = reading;
  const codes = { code_sum: sum, code_count: count, code_min: min, code_max: max };
  const read = { channel, volts, expanded_u_volts: expandedV, ripple_volts: rippleV };
  const seen = { ...read, no_reading: noReading, ...codes };
  if (!("result" in reading)) return seen;
  const { expected, result, reason, limitV, marginV } = reading;
  const limits = { limit_volts: limitV, margin_volts: marginV };
  return { ...seen, expected, class: reading.class, result, reason, ...limits };
}

function row(cells: Cells): string {
  return CSV_COLUMNS.map((column) => cell(cells[column])).join(",") + CRLF;
}

function cell(value: string | number | null | undefined): string {
  if (value === null || value === undefined) return "";
  if (typeof value === "number") return String(value);
  const text = FORMULA.test(value) ? `'${value}` : value;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
